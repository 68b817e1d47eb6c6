#!/bin/sh
# Instructions that a reading takes in the analyser, every detector on (needs valgrind): counted, so that the figure does
# not depend on what else the computer does. Writes the profile to callgrind.out in the current folder.
set -eu
bench=$(cargo bench --no-run --bench analysis --message-format=json |
    sed -n 's/.*"name":"analysis".*"executable":"\([^"]*\)".*/\1/p' | tail -n 1)
readings=$(valgrind --tool=callgrind --callgrind-out-file=callgrind.out \
    --toggle-collect='loopmargin::analysis::analyser::Analyser::reading' "$bench" --bench --once 2>/dev/null |
    sed 's/.*"readings":\([0-9]*\).*/\1/')
total=$(sed -n 's/^\(totals\|summary\): \([0-9]*\).*/\2/p' callgrind.out | tail -n 1)
echo "{\"instructions_per_reading\":$((total / readings)),\"readings\":$readings}"

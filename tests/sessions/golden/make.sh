#!/bin/sh
# Records the golden sessions that are not there and writes the expectations of all. Run at the top of the project, with
# the program's path as argument.
set -eu
program=${1:-target/release/loopmargin}
folder=tests/sessions/golden
while read -r site length; do
    file="$folder/$site.jsonl.zst"
    [ -e "$file" ] || "$program" simulate --scenario "$site" --for "$length" --record "$file"
done <<'SITES'
weavers-yard 90s
bell-tower 60s
brass-foundry 60s
canal-lock 120s
gate-nine 60s
market-cross 120s
mill-race 120s
narrow-stair 30s
orchard-wall 60s
paper-store 60s
plain-cottage 60s
tannery-lane 60s
two-mills 60s
wind-pump 120s
SITES
cut="$folder/cut-off.jsonl.zst"
if ! [ -e "$cut" ]; then
    size=$(wc -c <"$folder/weavers-yard.jsonl.zst")
    head -c $((size / 2)) "$folder/weavers-yard.jsonl.zst" >"$cut"
fi
"$program" replay "$folder" --write-expect

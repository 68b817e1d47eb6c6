#!/bin/sh
# Every check against an independent implementation.
set -eu
cd "$(dirname "$0")"
failed=0
for check in ./profile.sh ./radio.sh ./archive.sh ./report.sh; do
    "$check" || failed=1
done
exit $failed

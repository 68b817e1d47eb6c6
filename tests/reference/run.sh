#!/bin/sh
# Compares this project's radio arithmetic with general reference libraries and with NEC-2.
#
#   tests/reference/run.sh [WORKDIR]
#
# Needs python3 with venv, cargo, and Debian's nec2c (installed with apt-get when missing and run as root).
# WORKDIR keeps the Python packages between runs (default: target/reference).
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
work=${1:-$root/target/reference}
cargo=${CARGO:-cargo}
mkdir -p "$work"

if [ ! -x "$work/venv/bin/python" ]; then
    python3 -m venv "$work/venv"
fi
"$work/venv/bin/pip" install --quiet --disable-pip-version-check -r "$root/tests/reference/requirements.txt"
if ! command -v nec2c >/dev/null; then
    apt-get update -qq && apt-get install -y -qq nec2c >/dev/null
fi

cd "$root"
$cargo build --quiet --bin loopmargin
$cargo build --quiet -p radio --example antenna
target=${CARGO_TARGET_DIR:-$root/target}
export LOOPMARGIN="$target/debug/loopmargin" ANTENNA="$target/debug/examples/antenna" WORK="$work"
failed=0
for script in propagation patterns channels nec; do
    "$work/venv/bin/python" -W ignore "tests/reference/$script.py" || failed=1
done
exit $failed

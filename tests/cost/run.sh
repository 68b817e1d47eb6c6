#!/bin/bash
# run.sh [SECONDS]: what the console costs at 6 bands x 10 Hz and 10 frames a second, beside `--json` and a minimal Python client
# (measure.py). Default 60 s each. Needs python3-venv; fetches `rich` from PyPI. LOOPMARGIN_BIN: the program (default: builds it).
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
top=$(cd "$here/../.." && pwd)
seconds=${1:-60}
work=$top/target/cost
mkdir -p "$work"
program=${LOOPMARGIN_BIN:-}
if [ -z "$program" ]; then
  cargo build --release --locked --manifest-path "$top/Cargo.toml"
  program=${CARGO_TARGET_DIR:-$top/target}/release/loopmargin
fi
[ -x "$work/venv/bin/python" ] || python3 -m venv "$work/venv"
"$work/venv/bin/python" -c 'import rich' 2> /dev/null || "$work/venv/bin/pip" install --quiet rich==14.1.0
rm -f "$work/session.jsonl"
"$program" simulate --scenario long-exchange --for "$((seconds + 1))s" --record "$work/session.jsonl"
exec "$work/venv/bin/python" -B "$here/measure.py" "$program" "$work/session.jsonl" "$seconds"

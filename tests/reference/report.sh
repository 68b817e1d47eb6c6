#!/bin/sh
# The hand-over document against html5lib and the contrast formula of WCAG. Needs python3 with venv, cargo and, the first
# time, a package index. The environment stays under target/.
set -eu
cd "$(dirname "$0")/../.."
venv=target/reference/report
if ! "$venv/bin/python" -c 'import html5lib' 2>/dev/null; then
    python3 -m venv "$venv"
    "$venv/bin/pip" install --quiet --disable-pip-version-check -r tests/reference/report-requirements.txt
fi
cargo=${CARGO:-cargo}
$cargo build --quiet --bin loopmargin
export LOOPMARGIN="${CARGO_TARGET_DIR:-target}/debug/loopmargin" WORK="$venv"
exec timeout 300 "$venv/bin/python" -B tests/reference/report.py

#!/bin/sh
# Radio arithmetic against general reference libraries (pycraf, scikit-rf, nrarfcn) and against NEC-2.
# Needs python3 with venv, cargo and, the first time, a package index and apt. The environment stays under target/.
set -eu
cd "$(dirname "$0")/../.."
venv=target/reference/radio
if ! "$venv/bin/python" -c 'import nrarfcn, pycraf, skrf' 2>/dev/null; then
    python3 -m venv "$venv"
    "$venv/bin/pip" install --quiet --disable-pip-version-check -r tests/reference/radio-requirements.txt
fi
if ! command -v nec2c >/dev/null; then
    apt-get update -qq
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends nec2c >/dev/null
fi
cargo=${CARGO:-cargo}
$cargo build --quiet --bin loopmargin
$cargo build --quiet -p radio --example antenna
built=${CARGO_TARGET_DIR:-target}/debug
export LOOPMARGIN="$built/loopmargin" ANTENNA="$built/examples/antenna" WORK="$venv"
AIMING=$($cargo bench --quiet --no-run --profile dev --bench aiming --message-format json | sed -n 's/.*"executable":"\([^"]*aiming[^"]*\)".*/\1/p')
export AIMING
failed=0
for script in propagation patterns channels nec aiming; do
    timeout 300 "$venv/bin/python" -B -W ignore "tests/reference/$script.py" || failed=1
done
exit $failed

#!/bin/bash
# test.sh [SCENARIO...]: the program over a real Bluetooth stack, in a virtual machine with two virtual controllers (README.md).
# Scenarios: boot scan stream drop restart service pairing (default: all). Results and logs stay in target/virtual-radio/out/SCENARIO.
# LOOPMARGIN_BIN: the program to test (default: builds the release binary). VIRTUAL_RADIO_CACHE: default target/virtual-radio.
set -uo pipefail
here=$(cd "$(dirname "$0")" && pwd)
top=$(cd "$here/../.." && pwd)
cache=${VIRTUAL_RADIO_CACHE:-$top/target/virtual-radio}
[ $# -gt 0 ] || set -- boot scan stream drop restart service pairing

fail() { echo "virtual radio: $1" >&2; echo "  next: $2" >&2; exit 1; }
command -v python3 > /dev/null || fail "python3 is missing; it checks the results" "as root: apt-get install python3"
python3 -B -m unittest discover -q -s "$here" || fail "the checker's own tests fail" "mend check.py"
"$here/fetch.sh" "$cache" || exit 1
"$here/mkinitrd.sh" "$cache" || exit 1

program=${LOOPMARGIN_BIN:-}
if [ -z "$program" ]; then
  cargo build --release --locked --manifest-path "$top/Cargo.toml" || fail "the program does not build" "mend the build"
  program=${CARGO_TARGET_DIR:-$top/target}/release/loopmargin
fi
[ -f "$program" ] && [ -x "$program" ] || fail "no program at $program" "set LOOPMARGIN_BIN to a loopmargin binary, or leave it unset"

payload=$(mktemp -d)
trap 'rm -rf "$payload"' EXIT
# Without its debugging information: everything is copied into the guest's memory.
strip -o "$payload/loopmargin" "$program" 2> /dev/null || cp "$program" "$payload/loopmargin"
# The default site with a third band: 30 readings a second, so that 30 s give 500 also where connecting takes long.
{ cat "$top/simulator/scenarios/weavers-yard.toml"
  printf '\n[[band]]\nname = "B5"\ndl_mhz = 881.5\nul_mhz = 836.5\nwidth_mhz = 25.0\nmax_gain_db = 60\nisolation_dl_db = 84\nisolation_ul_db = 85\n'
} > "$payload/three-bands.toml"
# The default site with a supply that dips and recovers in turn: an event every two seconds, so that an absence misses some.
{ cat "$top/simulator/scenarios/weavers-yard.toml"
  for s in $(seq 3 4 119); do
    printf '\n[[at]]\ns = %d\nsupply_v = 9.8\n\n[[at]]\ns = %d\nsupply_v = 12.1\n' "$s" $((s + 2))
  done
} > "$payload/eventful.toml"
failed=()
begin=$SECONDS
for scenario in "$@"; do
  [ -f "$here/scenarios/$scenario.sh" ] || fail "no scenario $scenario" "one of: $(cd "$here/scenarios" && echo *.sh | sed 's/\.sh//g')"
  out=$cache/out/$scenario
  rm -rf "$out"
  mkdir -p "$out"
  cp "$here/scenarios/$scenario.sh" "$payload/run.sh"
  echo "=== $scenario"
  "$here/run.sh" "$cache" "$payload" "$out" 150
  status=$?
  # The recording is replayed and everything compared out here, by programs that know nothing of the guest.
  if [ $status -eq 0 ] && [ -f "$out/f.jsonl" ]; then
    timeout 60 "$program" replay "$out/f.jsonl" --json > "$out/replay.jsonl" 2> "$out/replay.err" ||
      { echo "replay failed: $(tail -3 "$out/replay.err")"; status=1; }
  fi
  if [ $status -eq 0 ] && [ -f "$out/aim.jsonl" ]; then
    timeout 60 "$program" replay "$out/aim.jsonl" --json > "$out/aim-replay.jsonl" 2>> "$out/replay.err" ||
      { echo "replay failed: $(tail -3 "$out/replay.err")"; status=1; }
  fi
  if [ $status -eq 0 ] && [ "$scenario" != boot ]; then
    timeout 60 python3 -B "$here/check.py" "$scenario" "$out"
    status=$?
  fi
  [ $status -eq 0 ] || failed+=("$scenario")
done
[ ${#failed[@]} -eq 0 ] || fail "failed: ${failed[*]} (after $((SECONDS - begin)) s)" "see console.log, watch.err and simulate.err in $cache/out/${failed[0]}"
echo "virtual radio: all passed: $* ($((SECONDS - begin)) s)"

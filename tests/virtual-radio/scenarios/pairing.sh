# pairing: what changes the unit needs pairing. An aim with control allowed asks for aim-safe: the stack pairs by itself, the unit
# switches its uplink off and says so; before that the console was live unpaired.
. /etc/lib.sh
start_stack
start_unit sent.jsonl --scenario /payload/three-bands.toml
paired() { bus /org/bluez/hci1/dev_00_AA_01_00_00_00 org.freedesktop.DBus.Properties.Get string:org.bluez.Device1 string:Paired | grep -q 'boolean true'; }
start_console 6
wait_live 1 20 "without pairing"
paired && die "paired although nothing asked for control"
end_console 0

mkfifo /run/keys
LOOPMARGIN_ADAPTER=hci1 timeout -k 5 40 /payload/loopmargin aim --from ble --stops 4 --plain --allow-control --record aim.jsonl \
  < /run/keys > aim.out 2> aim.err &
aim=$!
exec 3> /run/keys
wait_until 25 paired || die "not paired: $(tail -3 aim.err)"
say "paired"
wait_until 10 grep -q '"char":"unit-control"' sent.jsonl || die "the unit never answered a control request: $(tail -3 aim.err)"
say "the unit answered"
echo >&3 # the antenna rests at the first stop
sleep 8
echo q >&3
wait_for aim.err "To end aim-safe now" 10 || die "the aim did not end: $(tail -3 aim.err)"
echo >&3 # leave aim-safe to run out
wait $aim
_status=$?
say "aim ended with status $_status"
[ $_status -eq 0 ] || die "aim: $(tail -3 aim.err)"
end_unit

# drop: the link drops twice while the unit runs on: a disconnect, then some seconds out of range.
. /etc/lib.sh
start_stack
start_unit sent.jsonl --scenario /payload/eventful.toml
start_console 40
wait_live 1 20 "for the first time"
sleep 4

say "the unit's side disconnects"
bus /org/bluez/hci0/dev_00_AA_01_01_00_01 org.bluez.Device1.Disconnect > /dev/null || die "could not disconnect"
wait_live 2 15 "after the disconnect"
sleep 3

say "the unit's controller goes off the air"
switch hci0 false
sleep 4
switch hci0 true
wait_until 10 advertising hci0 || die "the unit does not advertise again"
say "the unit's controller is back"
wait_live 3 15 "after the unit came back in range"
end_console
end_unit

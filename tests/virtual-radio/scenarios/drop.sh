# drop: the link drops twice while the unit runs on: the unit's side disconnects, then the console's adapter is off for some seconds.
# (Not the unit's adapter: btvirt lets a central connect to a controller that was switched off while advertising, and the
# connection to nobody can't be ended.)
. /etc/lib.sh
start_stack
start_unit sent.jsonl --scenario /payload/eventful.toml
start_console 70
wait_live 1 20 "for the first time"
sleep 4

say "the unit's side disconnects"
bus /org/bluez/hci0/dev_00_AA_01_01_00_01 org.bluez.Device1.Disconnect > /dev/null || die "could not disconnect"
wait_live 2 15 "after the disconnect"
sleep 3

say "the console's adapter is off"
switch hci1 false
sleep 4
switch hci1 true
say "the console's adapter is on"
wait_live 3 20 "after its adapter came back"
sleep 4
stop_console
end_unit

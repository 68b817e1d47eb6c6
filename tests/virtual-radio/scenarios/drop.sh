# drop: the link drops twice while the unit runs on, once by a disconnect, once because the unit is out of range for some seconds.
. /etc/lib.sh
start_stack
start_unit sent.jsonl
start_console 45
wait_live 1 20 "for the first time"
sleep 5

say "the unit's side disconnects"
bus /org/bluez/hci0/dev_00_AA_01_01_00_01 org.bluez.Device1.Disconnect > /dev/null || die "could not disconnect"
wait_live 2 15 "after the disconnect"
sleep 3

say "the unit's controller goes off the air"
bus /org/bluez/hci0 org.freedesktop.DBus.Properties.Set string:org.bluez.Adapter1 string:Powered variant:boolean:false > /dev/null || die "could not switch off"
sleep 3
bus /org/bluez/hci0 org.freedesktop.DBus.Properties.Set string:org.bluez.Adapter1 string:Powered variant:boolean:true > /dev/null || die "could not switch on"
wait_until 10 advertising hci0 || die "the unit does not advertise again"
say "the unit's controller is back"
wait_live 3 15 "after the unit came back in range"
end_console
end_unit

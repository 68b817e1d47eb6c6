# service: bluetoothd first hangs for some seconds, then is killed while values stream. The unit's registration dies with it, so the
# unit is started again too, with its state file.
. /etc/lib.sh
start_stack
start_unit sent-1.jsonl --scenario /payload/eventful.toml
start_console 90
wait_live 1 20 "for the first time"
sleep 3

say "bluetoothd hangs"
kill -STOP $bluetoothd
wait_state stalled 15 "while bluetoothd hangs"
kill -CONT $bluetoothd
say "bluetoothd goes on"
wait_live 2 30 "after the hang"
sleep 2

say "bluetoothd is killed"
kill -KILL $bluetoothd
wait $bluetoothd
wait_state no-bluetooth-service 20 "without bluetoothd"
kill -KILL $unit 2> /dev/null
wait $unit
start_bluetoothd
start_unit sent-2.jsonl --scenario /payload/eventful.toml
wait_live 3 40 "after bluetoothd's return"
sleep 4
stop_console
end_unit

# restart: out of range, the unit has events that nobody hears; then it is killed and started again with its state file.
. /etc/lib.sh
start_stack
start_unit sent-1.jsonl --scenario /payload/eventful.toml
start_console 40
wait_live 1 20 "for the first time"
sleep 4

say "the unit goes off the air, and is killed"
switch hci0 false
sleep 4
kill -KILL $unit
wait $unit
switch hci0 true
sleep 1
start_unit sent-2.jsonl --scenario /payload/eventful.toml
wait_live 2 25 "after the restart"
end_console
end_unit

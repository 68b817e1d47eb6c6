# restart: the unit is killed twice and started again with its state file: while connected, so that the link stays up with nobody
# behind it, and while the console is away, after events that nobody has heard of.
. /etc/lib.sh
start_stack
start_unit sent-1.jsonl --scenario /payload/eventful.toml
start_console 80
wait_live 1 20 "for the first time"
sleep 4

say "the unit is killed while connected"
kill -KILL $unit
wait $unit
sleep 1
start_unit sent-2.jsonl --scenario /payload/eventful.toml
wait_live 2 25 "after the restart"
sleep 3

say "the console is away, and the unit is killed"
switch hci1 false
sleep 5
kill -KILL $unit
wait $unit
start_unit sent-3.jsonl --scenario /payload/eventful.toml
switch hci1 true
say "the console's adapter is on"
wait_live 3 20 "after coming back"
sleep 4
stop_console
end_unit

# restart: the unit's process is killed and started again with the same state file.
. /etc/lib.sh
start_stack
start_unit sent-1.jsonl
start_console 45
wait_live 1 20 "for the first time"
sleep 6

say "the unit is killed"
kill -KILL $unit
wait $unit
sleep 2
start_unit sent-2.jsonl
wait_live 2 25 "after the restart"
end_console
end_unit

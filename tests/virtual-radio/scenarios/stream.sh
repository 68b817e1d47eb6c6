# stream: thirty undisturbed seconds.
. /etc/lib.sh
start_stack
start_unit sent.jsonl --scenario /payload/three-bands.toml
start_console 30
wait_live 1 20 "for the first time"
end_console 0
end_unit

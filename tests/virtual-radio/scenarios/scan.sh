# scan: what a person sees before connecting: the units in range with the health they advertise, and what doctor says of this stack.
. /etc/lib.sh
start_stack
start_unit sent.jsonl
export LOOPMARGIN_ADAPTER=hci1
timeout -k 5 30 /payload/loopmargin scan --for 6s --json > scan.json 2> scan.err || die "scan: $(cat scan.err)"
timeout -k 5 30 /payload/loopmargin doctor --json > doctor.json 2> doctor.err || die "doctor: $(cat doctor.err)"
say "scanned"
end_unit

# boot: the machine, two controllers and bluetoothd, nothing of the project: tells a broken machine from a broken program.
. /etc/lib.sh
start_stack

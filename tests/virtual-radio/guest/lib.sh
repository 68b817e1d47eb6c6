# Helpers for guest scripts (busybox sh). Working directory is /work; what is written there reaches the host.
say() { read -r up _ < /proc/uptime; echo "[$up] $*"; }
die() { say "FAILED: $*"; exit 1; }

wait_until() { # wait_until SECONDS COMMAND...: 0 as soon as the command succeeds, 1 when time is up
  read -r _up _ < /proc/uptime
  _end=$((${_up%.*} + $1 + 1))
  shift
  until "$@" > /dev/null 2>&1; do
    read -r _up _ < /proc/uptime
    [ "${_up%.*}" -lt $_end ] || return 1
    sleep 0.1
  done
}
wait_for() { wait_until "$3" grep -q -e "$2" "$1"; } # wait_for FILE PATTERN SECONDS

bus() { # bus OBJECT INTERFACE.METHOD ARG...: a method call to bluetoothd
  dbus-send --system --print-reply --reply-timeout=10000 --dest=org.bluez "$@"
}
has_bluez() {
  dbus-send --system --print-reply --dest=org.freedesktop.DBus / org.freedesktop.DBus.NameHasOwner string:org.bluez | grep -q true
}
powered() { # powered hci0
  bus "/org/bluez/$1" org.freedesktop.DBus.Properties.Get string:org.bluez.Adapter1 string:Powered | grep -q 'boolean true'
}

start_stack() { # two virtual LE controllers that hear each other, the monitor, bluetoothd
  btvirt -L -l2 > btvirt.log 2>&1 &
  wait_until 10 test -e /sys/class/bluetooth/hci1 || die "btvirt made no two controllers: $(cat btvirt.log)"
  btmon -w btsnoop.log > /dev/null 2>&1 &
  start_bluetoothd
}
start_bluetoothd() { # its process id in $bluetoothd; returns when both adapters are on
  bluetoothd -n >> bluetoothd.log 2>&1 &
  bluetoothd=$!
  wait_until 15 has_bluez || die "bluetoothd did not come up: $(tail -3 bluetoothd.log)"
  wait_until 10 powered hci0 && wait_until 10 powered hci1 || die "an adapter did not power on"
  say "bluetoothd up, both adapters on"
}

# The project's program: the unit on hci0, the console on hci1.
start_unit() { # start_unit LOG [OPTION...]: its process id in $unit; returns when the controller advertises
  _log=$1
  shift
  /payload/loopmargin simulate --air hci0 --log "$_log" --state unit.state "$@" >> simulate.out 2>> simulate.err &
  unit=$!
  wait_until 15 advertises_or_ended && ! unit_gone || die "the unit does not advertise: $(tail -3 simulate.err)"
  say "unit advertising (log $_log)"
}
advertises_or_ended() { advertising hci0 || unit_gone; }
advertising() { # advertising hci0
  bus "/org/bluez/$1" org.freedesktop.DBus.Properties.Get string:org.bluez.LEAdvertisingManager1 string:ActiveInstances |
    grep -q 'byte [1-9]'
}
start_console() { # start_console SECONDS: its process id in $console; an own limit, so that a hanging console fails here by name
  LOOPMARGIN_ADAPTER=hci1 timeout -k 5 $(($1 + 15)) /payload/loopmargin watch --from ble --json --for "$1s" --record f.jsonl \
    > live.jsonl 2> watch.err &
  console=$!
}
switch() { # switch hci0 true|false: the adapter's power; off, it is off the air
  bus "/org/bluez/$1" org.freedesktop.DBus.Properties.Set string:org.bluez.Adapter1 string:Powered "variant:boolean:$2" > /dev/null ||
    die "could not switch $1's power to $2"
}
is_live() { # is_live N: the console has gone live N times, and is
  [ "$(grep -c '"state":"live"' live.jsonl)" -ge "$1" ] && grep '"type":"link"' live.jsonl | tail -1 | grep -q '"state":"live"'
}
shows() { # shows STATE: the console's last link state
  grep '"type":"link"' live.jsonl | tail -1 | grep -q "\"state\":\"$1\""
}
wait_state() { # wait_state STATE SECONDS WHAT
  wait_until "$2" shows "$1" || die "not $1 $3 within $2 s; last link states: $(grep '"type":"link"' live.jsonl | tail -4 | tr '\n' ' ') $(tail -3 watch.err)"
  say "$1 $3"
}
wait_live() { # wait_live N SECONDS WHAT
  wait_until "$2" is_live "$1" || die "not live $3 within $2 s; last link states: $(grep '"type":"link"' live.jsonl | tail -4 | tr '\n' ' ') $(tail -3 watch.err)"
  say "live $3"
}
readings() { grep -c '"type":"reading"' live.jsonl; }
end_console() { # end_console STATUS: waits for the console's end, and for that status
  wait $console
  _status=$?
  say "console ended with status $_status after $(readings) readings"
  [ $_status -eq "$1" ] || die "the console's exit status is $_status, not $1: $(tail -3 watch.err)"
}
stop_console() { # Ctrl-C: it closes the recording and prints its summary all the same
  kill -INT $console
  end_console 130
}
end_unit() { # Ctrl-C, so that its log and state are complete; its status must be 130
  kill -INT $unit
  wait_until 10 unit_gone || die "the unit does not end on SIGINT"
  wait $unit
  _status=$?
  [ $_status -eq 130 ] || die "the unit's exit status after SIGINT is $_status: $(tail -3 simulate.err)"
}
unit_gone() { ! kill -0 $unit 2> /dev/null; }

# Helpers for guest scripts (busybox sh). Working directory is /work; what is written there reaches the host.
say() { read -r up _ < /proc/uptime; echo "[$up] $*"; }
die() { say "FAILED: $*"; exit 1; }

wait_until() { # wait_until SECONDS COMMAND...: 0 as soon as the command succeeds, 1 when time is up
  _tries=$(($1 * 20))
  shift
  while ! "$@" >/dev/null 2>&1; do
    [ $_tries -gt 0 ] || return 1
    _tries=$((_tries - 1))
    sleep 0.05
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
  bluetoothd -n -d > bluetoothd.log 2>&1 &
  wait_until 15 has_bluez || die "bluetoothd did not come up: $(tail -3 bluetoothd.log)"
  wait_until 10 powered hci0 && wait_until 10 powered hci1 || die "an adapter did not power on"
  say "bluetoothd up, both adapters on"
}

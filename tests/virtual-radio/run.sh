#!/bin/bash
# run.sh CACHE PAYLOAD OUT [SECONDS]: boot the virtual machine, run PAYLOAD/run.sh in it, results in OUT.
# Exit status: that of PAYLOAD/run.sh; 125 when the machine itself failed or outlived SECONDS (default 90) + 30.
# VIRTUAL_RADIO_ACCEL=kvm|tcg|auto; auto: KVM when this very machine boots under it, software emulation otherwise.
set -uo pipefail
here=$(cd "$(dirname "$0")" && pwd)
cache=$(cd "$1" && pwd) || exit 125
payload=$(cd "$2" && pwd) || exit 125
out=$(mkdir -p "$3" && cd "$3" && pwd) || exit 125
limit=${4:-90}
sys=$cache/sysroot
vmlinuz=$(ls "$cache"/linux/boot/vmlinuz-* | head -1)
[ -s "$cache/base.cpio" ] && [ -s "$vmlinuz" ] || { echo "run.sh: no machine in $cache; next: fetch.sh, then mkinitrd.sh" >&2; exit 125; }

machine() { # machine ACCEL PAYLOAD OUT LIMIT: replaces this (sub)shell by QEMU, so that $! is QEMU's own process id
  local cpu=(-accel tcg,thread=multi -cpu max) libs=$sys/usr/lib/x86_64-linux-gnu
  [ "$1" = kvm ] && cpu=(-accel kvm -cpu host)
  # One processor: btvirt sends a single advertising report as a scan starts; with two, the kernel often is not yet listening.
  QEMU_MODULE_DIR=$libs/qemu exec "$libs/ld-linux-x86-64.so.2" --library-path "$libs" "$sys/usr/bin/qemu-system-x86_64" \
    -L "$sys/usr/share/qemu" -L "$sys/usr/share/seabios" -nodefaults -no-user-config -display none -no-reboot \
    "${cpu[@]}" -smp 1 -m 768 -device isa-debug-exit,iobase=0xf4,iosize=4 -serial stdio \
    -kernel "$vmlinuz" -initrd "$cache/base.cpio" \
    -append "console=ttyS0 quiet panic=-1 mitigations=off random.trust_cpu=1 cryptomgr.notests=1 guest_limit=$4" \
    -fsdev "local,id=host,path=$3,security_model=none" -device virtio-9p-pci,fsdev=host,mount_tag=host \
    -fsdev "local,id=payload,path=$2,security_model=none,readonly=on" -device virtio-9p-pci,fsdev=payload,mount_tag=payload < /dev/null
}
wait_for_exit() { # wait_for_exit PID SECONDS: QEMU's exit status; 137 when it had to be killed, here or because this script was ended
  local pid=$1 end=$((SECONDS + $2))
  trap "kill -9 $pid 2>/dev/null; exit 125" INT TERM HUP
  while kill -0 "$pid" 2>/dev/null && [ $SECONDS -lt $end ]; do sleep 0.1; done
  kill -9 "$pid" 2>/dev/null
  wait "$pid" 2>/dev/null
}

choose() { # a writable /dev/kvm proves nothing (nested virtualisation may hang or abort): boot once, remember until this computer reboots
  local verdict=$cache/accelerator now trial
  now=$(cat /proc/sys/kernel/random/boot_id "$cache/made" | tr '\n' ' ')
  if [ "$(sed -n 2p "$verdict" 2>/dev/null)" != "$now" ]; then
    trial=$(mktemp -d)
    mkdir "$trial/payload" "$trial/out"
    echo 'exit 0' > "$trial/payload/run.sh"
    echo tcg > "$verdict"
    if [ -w /dev/kvm ]; then
      machine kvm "$trial/payload" "$trial/out" 5 > "$cache/kvm-trial.log" 2>&1 &
      wait_for_exit $! 20
      [ $? -eq 33 ] && echo kvm > "$verdict"
    fi
    echo "$now" >> "$verdict"
    rm -rf "$trial"
  fi
  head -1 "$verdict"
}

accel=${VIRTUAL_RADIO_ACCEL:-auto}
[ "$accel" = auto ] && accel=$(choose)
begin=$(date +%s.%N)
machine "$accel" "$payload" "$out" "$limit" > >(tee "$out/console.log") 2>&1 &
wait_for_exit $! $((limit + 30))
status=$?
echo "run.sh: $accel, $(awk "BEGIN { printf \"%.1f\", $(date +%s.%N) - $begin }") s, QEMU's status $status"
[ $status -eq 137 ] && { echo "run.sh: the machine did not end within $((limit + 30)) s and was stopped; see $out/console.log" >&2; exit 125; }
if [ $status -ge 33 ] && [ $status -le 233 ] && [ $((status % 2)) -eq 1 ]; then exit $(((status - 33) / 2)); fi
echo "run.sh: the machine failed before its test ended; see $out/console.log" >&2
exit 125

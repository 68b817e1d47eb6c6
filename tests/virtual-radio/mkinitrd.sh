#!/bin/bash
# mkinitrd.sh CACHE: make CACHE/base.cpio from what fetch.sh unpacked: busybox, kernel modules, D-Bus, BlueZ, guest/.
# Uncompressed: unpacking is a visible part of a boot under software emulation. Later calls do nothing.
set -euo pipefail
trap 'echo "$(basename "$0"): failed at line $LINENO: $BASH_COMMAND" >&2' ERR
here=$(cd "$(dirname "$0")" && pwd)
cache=$(cd "$1" && pwd)
sys=$cache/sysroot
busybox=$sys/usr/bin/busybox

key=$(cat "$cache/fetched" "$here/mkinitrd.sh" "$here"/guest/* | sha256sum | cut -d' ' -f1)
[ -s "$cache/base.cpio" ] && [ "$(cat "$cache/made" 2>/dev/null)" = "$key" ] && exit 0

root=$(mktemp -d)
trap 'rm -rf "$root"' EXIT
mkdir -p "$root"/{proc,sys,dev,run,tmp,root,host,payload} "$root"/etc/bluetooth "$root"/usr/{bin,lib64} "$root"/usr/lib/{x86_64-linux-gnu,modules} "$root"/var/lib/bluetooth
for d in bin lib lib64; do ln -s "usr/$d" "$root/$d"; done
ln -s usr/bin "$root/sbin"
ln -s bin "$root/usr/sbin"
ln -s /run "$root/var/run"

cp "$busybox" "$root/usr/bin/"
for applet in $("$busybox" --list); do [ "$applet" = busybox ] || ln -s busybox "$root/usr/bin/$applet"; done
programs=(dbus-daemon dbus-send btvirt btmon)
for p in "${programs[@]}"; do cp "$sys/usr/bin/$p" "$root/usr/bin/"; done
bluetoothd=$(find "$sys/usr" -name bluetoothd -type f -path "*bluetooth/*" -print -quit)
cp "$bluetoothd" "$root/usr/bin/bluetoothd"

# Libraries of those programs, and those any Rust program built on this release may ask for.
libs=$sys/usr/lib/x86_64-linux-gnu
loader=$libs/ld-linux-x86-64.so.2
for p in "${programs[@]}" bluetoothd; do
  "$loader" --library-path "$libs" --list "$root/usr/bin/$p" | sed -n 's/^.* => \(\/[^ ]*\) .*$/\1/p'
done | sort -u | while read -r lib; do cp -L "$lib" "$root/usr/lib/x86_64-linux-gnu/"; done
for lib in libc.so.6 libm.so.6 libgcc_s.so.1 libpthread.so.0 libdl.so.2 librt.so.1; do cp -L "$libs/$lib" "$root/usr/lib/x86_64-linux-gnu/"; done
cp -L "$loader" "$root/usr/lib64/"

# Kernel modules, dependencies first. Bluetooth's security manager needs the hashes, ciphers and P-256; the kernel tests P-256 with
# its default random generator, and without one (drbg, fed by jitterentropy, which needs sha3 without saying so) that test fails.
modules=$(find "$cache"/linux -type d -path '*/lib/modules/*/kernel' -print -quit)
order=$root/usr/lib/modules/order
declare -A seen
add() {
  local file name dependency
  [ -n "${seen[$1]:-}" ] && return 0
  seen[$1]=1
  file=$(find "$modules" \( -name "$1.ko*" -o -name "${1//_/-}.ko*" \) -print -quit)
  [ -n "$file" ] || return 0 # built into this kernel, or not needed by it; the guest's boot test decides
  name=$(basename "${file%.xz}")
  case $file in *.xz) "$busybox" unxz -c "$file" ;; *) cat "$file" ;; esac > "$root/usr/lib/modules/$name"
  for dependency in $(tr '\0' '\n' < "$root/usr/lib/modules/$name" | sed -n 's/^depends=//p' | tr ',' ' '); do add "$dependency"; done
  echo "$name" >> "$order"
}
for m in sha512_generic sha3_generic jitterentropy_rng drbg ecb cmac ctr algif_hash algif_skcipher ecdh_generic uhid bluetooth hci_vhci \
  virtio_pci 9pnet_virtio 9p; do add $m; done

cp "$here/guest/init" "$root/init"
cp "$here/guest/lib.sh" "$here/guest/bus.conf" "$root/etc/"
cp "$here/guest/main.conf" "$root/etc/bluetooth/"
chmod +x "$root/init"
echo 'root:x:0:0:root:/root:/bin/sh' > "$root/etc/passwd"
echo 'root:x:0:' > "$root/etc/group"

(cd "$root" && find . | LC_ALL=C sort | "$busybox" cpio -o -H newc 2>/dev/null) > "$cache/base.cpio.new"
mv "$cache/base.cpio.new" "$cache/base.cpio"
echo "$key" > "$cache/made"
echo "mkinitrd.sh: $(stat -c %s "$cache/base.cpio") bytes, $(wc -l < "$order") kernel modules"

#!/bin/bash
# fetch.sh CACHE: fetch kernel, QEMU and the guest's programs from Debian and unpack them below CACHE.
# Installs nothing on the host. Needs Debian 12 or newer on amd64, apt, and a network the first time; later calls do nothing.
# Result: CACHE/sysroot (QEMU, BlueZ, D-Bus, busybox with every library they need), CACHE/linux (vmlinuz and the modules used).
set -euo pipefail
trap 'echo "$(basename "$0"): failed at line $LINENO: $BASH_COMMAND" >&2' ERR
here=$(cd "$(dirname "$0")" && pwd)
cache=$1

# Resolved as if nothing were installed, so the tree is complete whatever the host has (its QEMU may be a
# backport that conflicts, its libraries newer) and QEMU runs on its own C library.
packages=(qemu-system-x86 bluez bluez-test-tools busybox-static dbus-daemon dbus-bin)

fail() { echo "fetch.sh: $1" >&2; echo "  next: $2" >&2; exit 1; }

[ "$(dpkg --print-architecture 2>/dev/null)" = amd64 ] ||
  fail "the virtual machine is made from Debian amd64 packages; this computer is not Debian amd64" "run the test on one"

mkdir -p "$cache"
cache=$(cd "$cache" && pwd)
key=$(cat "$here/fetch.sh" /etc/debian_version | sha256sum | cut -d' ' -f1)
[ "$(cat "$cache/fetched" 2>/dev/null)" = "$key" ] && exit 0

log=$cache/apt.log
download=$cache/download
rm -rf "$cache"/{sysroot,linux,fetched,download}
mkdir -p "$download/partial"
: > "$download/nothing-installed"
: > "$log"

# Private archive directory and status file: apt's own caches, locks and records on the host stay untouched.
apt_options=(-q -y -o APT::Sandbox::User=root -o Acquire::Retries=3 -o Acquire::http::Timeout=30 -o Acquire::https::Timeout=30)
private=(-o "Dir::State::status=$download/nothing-installed" -o "Dir::Cache::archives=$download" -o Debug::NoLocking=1
  -o APT::Install-Recommends=false -o APT::Get::AllowUnauthenticated=false)

kernel_package() { # the versioned package behind linux-image-amd64
  apt-cache depends linux-image-amd64 2>>"$log" | sed -n 's/^ *Depends: \(linux-image-[0-9][^ ]*\)$/\1/p' | head -1
}
download_all() {
  local kernel; kernel=$(kernel_package)
  [ -n "$kernel" ] || { echo "linux-image-amd64 is not known to apt" >>"$log"; return 1; }
  timeout 600 apt-get "${apt_options[@]}" "${private[@]}" --download-only install "${packages[@]}" >>"$log" 2>&1 || return 1
  mkdir -p "$download/kernel"
  (cd "$download/kernel" && timeout 600 apt-get "${apt_options[@]}" download "$kernel" >>"$log" 2>&1)
}

# Package lists may be missing (fresh container) or old (files gone from the mirror): refresh once, then try again.
# One unreachable third-party source makes `apt-get update` complain; what counts is whether the packages arrive.
if ! download_all; then
  echo "fetch.sh: refreshing the package lists (apt-get update)"
  timeout 300 apt-get "${apt_options[@]}" update >>"$log" 2>&1 || true
  download_all || { tail -5 "$log" >&2
    fail "could not download the machine's packages (see $log)" "as root, with the network up: apt-get update; then run this again"; }
fi

# --keep-directory-symlink: one merged tree, whether a package ships /lib or /usr/lib.
mkdir -p "$cache/sysroot"/usr/{bin,sbin,lib,lib64} "$cache/linux"
for d in bin sbin lib lib64; do ln -s "usr/$d" "$cache/sysroot/$d"; done
for deb in "$download"/*.deb; do
  dpkg-deb --fsys-tarfile "$deb" | tar -x -C "$cache/sysroot" --keep-directory-symlink --no-same-owner \
    --exclude='./usr/share/doc*' --exclude='./usr/share/man*' --exclude='./usr/share/locale*' --exclude='./usr/share/i18n*' \
    --exclude='./usr/share/iso-codes*' --exclude='./usr/share/perl*' --exclude='./usr/lib/x86_64-linux-gnu/perl*' --exclude='./usr/lib/udev/hwdb.d*' \
    --exclude='./dev/*' --exclude='./var/*'
done
# Of the kernel package's 400 MB only the image and the subsystems that mkinitrd.sh takes modules from.
subsystems=(net/bluetooth net/rfkill net/9p fs/9p fs/netfs fs/fscache drivers/bluetooth drivers/hid drivers/virtio drivers/char
  crypto arch/x86/crypto lib)
dpkg-deb --fsys-tarfile "$download"/kernel/*.deb | tar -x -C "$cache/linux" --no-same-owner --wildcards './boot/vmlinuz*' \
  "${subsystems[@]/#/./*lib/modules/*/kernel/}" 2>>"$log" || true # not every pattern exists in every kernel
[ -n "$(ls "$cache"/linux/boot/vmlinuz-* 2>/dev/null)" ] || fail "the kernel package did not unpack (see $log)" "rm -r $cache; then run this again"

rm -rf "$download"
echo "$key" > "$cache/fetched"
echo "fetch.sh: $(du -sm "$cache/sysroot" | cut -f1) MB of programs, $(du -sm "$cache/linux" | cut -f1) MB of kernel in $cache"

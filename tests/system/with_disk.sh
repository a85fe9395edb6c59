#!/bin/sh
# with_disk.sh TEST.guest SHARE [NAME=VALUE ...]: run_guest.sh with a small ext4 disk in the guest, /dev/vda.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
PATH="$PATH:/usr/sbin:/sbin"
command -v mkfs.ext4 >/dev/null || { echo "mkfs.ext4 is missing (install e2fsprogs)" >&2; exit 77; }
mkdir -p "$2"
GUEST_DISK=$2/disk.img
export GUEST_DISK
rm -f "$GUEST_DISK"
truncate -s 64M "$GUEST_DISK"
mkfs.ext4 -q -F "$GUEST_DISK"
status=0
"$here/run_guest.sh" "$@" || status=$?
rm -f "$GUEST_DISK"
exit $status

#!/bin/sh
# make_initramfs.sh KERNEL_FOLDER OUT.cpio: busybox, the modules a CAN guest needs, and guest/init.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
PATH="$PATH:/usr/sbin:/sbin"
kernel=$1
version=$(cat "$kernel/complete")
image=$(mktemp -d)
trap 'rm -rf "$image"' EXIT INT TERM
mkdir -p "$image/bin" "$image/proc" "$image/sys" "$image/dev" "$image/tmp" "$image/host" "$image/lib/modules/$version"

busybox=/bin/busybox
[ -x $busybox ] || busybox=/usr/bin/busybox
cp $busybox "$image/bin/busybox"
ln -s bin "$image/sbin"
for applet in $($busybox --list); do
  [ "$applet" = busybox ] || ln -sf busybox "$image/bin/$applet"
done

# crc32c_generic is not a dependency by name, yet ext4 does not mount without it.
for module in can can-raw can-dev vcan vxcan slcan kvaser_pci virtio_pci virtio_blk 9p 9pnet_virtio ext4 \
  crc32c_generic crc32c-intel; do
  modprobe -S "$version" -d "$kernel/tree" --show-depends "$module" 2>/dev/null | sed -n 's/^insmod \([^ ]*\).*/\1/p'
done | sort -u | while read -r file; do
  to="$image/lib/modules/$version/${file#*/lib/modules/"$version"/}"
  mkdir -p "$(dirname "$to")"
  cp "$file" "$to"
done
cp "$kernel/tree/lib/modules/$version"/modules.order "$kernel/tree/lib/modules/$version"/modules.builtin* \
  "$image/lib/modules/$version/"
depmod -b "$image" "$version"
cp "$here/guest/init" "$image/init"
chmod +x "$image/init"
(cd "$image" && find . -print0 | cpio --null -o -H newc -R 0:0 --quiet) >"$2"

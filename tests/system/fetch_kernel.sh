#!/bin/sh
# Fetches Debian's own kernel for the guest tests, without installing it: downloads the package with apt,
# unpacks the modules that a CAN guest needs, and takes vmlinux out of the compressed image (it boots in a
# third of the time). Everything lands in a cache folder, so only the first run needs the network.
# Prints the folder. Exit 77: it cannot be done here, and stderr says why (ctest reports "skipped").
# --refresh fetches again, for the newest kernel.
set -eu

cache="${XDG_CACHE_HOME:-$HOME/.cache}/foundling/guest-kernel"

cannot() {
  echo "guest kernel: cannot run here: $*" >&2
  exit 77
}

need() { # PROGRAM PACKAGE
  PATH="$PATH:/usr/sbin:/sbin" command -v "$1" >/dev/null 2>&1 ||
    cannot "$1 is missing (install the Debian package $2)"
}

# The kernel image is a boot sector, a loader and a compressed vmlinux; its header says where the payload is
# (Linux documentation, x86/boot.rst: setup_sects 0x1f1, payload_offset 0x248, payload_length 0x24c).
number_at() { od -An -v -t "u$3" -j "$2" -N "$3" "$1" | tr -d ' '; }

unpack_vmlinux() { # BZIMAGE OUT
  sectors=$(number_at "$1" 497 1)
  [ "$sectors" -ne 0 ] || sectors=4
  start=$(((sectors + 1) * 512 + $(number_at "$1" 584 4)))
  length=$(number_at "$1" 588 4)
  dd if="$1" bs=1M iflag=skip_bytes,count_bytes skip="$start" count="$length" status=none |
    xz -dc --single-stream >"$2" 2>/dev/null ||
    cp "$1" "$2" # another compression: the image itself boots too, only slower
}

unpack_package() { # PACKAGE_FILE VERSION ROOT
  kernel="./lib/modules/$2/kernel"
  dpkg --fsys-tarfile "$1" | tar -x -C "$3" --wildcards \
    "./boot/vmlinuz-$2" "./lib/modules/$2/modules.*" "$kernel/net/can/*" "$kernel/drivers/net/can/*" \
    "$kernel/drivers/virtio/*" "$kernel/drivers/block/virtio_blk.ko" "$kernel/net/9p/*" "$kernel/fs/9p/*" \
    "$kernel/fs/netfs/*" "$kernel/fs/fscache/*" "$kernel/fs/ext4/*" "$kernel/fs/jbd2/*" \
    "$kernel/fs/mbcache.ko" "$kernel/lib/*" "$kernel/crypto/crc32c_generic.ko" \
    "$kernel/arch/x86/crypto/crc32c-intel.ko"
}

[ "$(uname -m)" = x86_64 ] || cannot "the guest kernel is for x86-64 and this machine is $(uname -m)"
need qemu-system-x86_64 qemu-system-x86
need cpio cpio
need depmod kmod
need xz xz-utils
[ -x /bin/busybox ] || [ -x /usr/bin/busybox ] || cannot "busybox is missing (install busybox-static)"

if [ "${1:-}" != --refresh ] && [ -s "$cache/complete" ]; then
  echo "$cache"
  exit 0
fi

need apt-get apt
# Lists that are missing or older than the mirror's pool are brought up to date, where we may.
update_lists() {
  if [ "$(id -u)" -eq 0 ]; then
    apt-get -qq -o Acquire::Retries=3 update >/dev/null 2>&1 || true
  else
    sudo -n apt-get -qq -o Acquire::Retries=3 update >/dev/null 2>&1 || true
  fi
}
newest_kernel() {
  apt-cache depends linux-image-amd64 2>/dev/null |
    sed -n 's/.*Depends: \(linux-image-[0-9].*-amd64\)$/\1/p' | head -n 1
}
package=$(newest_kernel)
[ -n "$package" ] || {
  update_lists
  package=$(newest_kernel)
}
[ -n "$package" ] || cannot "apt knows no linux-image-amd64 (run apt-get update first)"
version=${package#linux-image-}

mkdir -p "$cache"
scratch=$(mktemp -d "$cache/fetch.XXXXXX")
trap 'rm -rf "$scratch"' EXIT INT TERM
echo "guest kernel: downloading $package (about 70 MB, once)" >&2
download() {
  (cd "$scratch" && apt-get -q -o APT::Sandbox::User=root -o Acquire::Retries=3 download "$package" >apt.log 2>&1)
}
download || {
  update_lists
  package=$(newest_kernel)
  version=${package#linux-image-}
  download
} ||
  cannot "the download of $package failed: $(tail -n 1 "$scratch/apt.log")"
mkdir "$scratch/tree"
unpack_package "$scratch"/"$package"_*.deb "$version" "$scratch/tree"
PATH="$PATH:/usr/sbin:/sbin" depmod -b "$scratch/tree" "$version"
unpack_vmlinux "$scratch/tree/boot/vmlinuz-$version" "$scratch/vmlinux"
rm -rf "$cache/tree" "$cache/vmlinux" "$cache/complete"
mv "$scratch/tree" "$scratch/vmlinux" "$cache/"
echo "$version" >"$cache/complete"
echo "$cache"

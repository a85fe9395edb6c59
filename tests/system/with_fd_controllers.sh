#!/bin/sh
# with_fd_controllers.sh TEST.guest SHARE [NAME=VALUE ...]: run_guest.sh with a pair of emulated CTU CAN FD controllers on
# one bus instead of the SJA1000 type. Debian does not build their driver, so it is built here, from Debian's source of the same
# kernel (155 MB, fetched once; needs make and gcc-12), and kept beside the guest's kernel.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
kernel=$("$here/fetch_kernel.sh") || exit $?
version=$(cat "$kernel/complete")
modules=$kernel/modules-$version
if [ ! -e "$modules/ctucanfd_pci.ko" ]; then
  scratch=$(mktemp -d "$kernel/build.XXXXXX")
  trap 'rm -rf "$scratch"' EXIT INT TERM
  came_from=$PWD
  cd "$scratch"
  apt-get -q -o APT::Sandbox::User=root download "linux-headers-$version" "linux-headers-${version%-amd64}-common" \
    linux-kbuild-6.1 linux-compiler-gcc-12-x86 linux-source-6.1 >apt.log 2>&1 ||
    { echo "guest: cannot fetch the kernel's source: $(tail -n 1 apt.log)" >&2; exit 77; }
  for package in linux-headers* linux-kbuild* linux-compiler*; do dpkg -x "$package" .; done
  headers=$scratch/usr/src/linux-headers-$version
  sed -i "s#^include /usr/src/#include $scratch/usr/src/#" "$headers/Makefile"
  driver=linux-source-6.1/drivers/net/can/ctucanfd
  dpkg --fsys-tarfile linux-source*.deb | tar -xO ./usr/src/linux-source-6.1.tar.xz | xz -dc |
    tar -x --wildcards "$driver/*"
  printf 'obj-m := ctucanfd.o ctucanfd_pci.o\nctucanfd-y := ctucanfd_base.o\n' >"$driver/Kbuild"
  make -s -C "$headers" "M=$scratch/$driver" modules >make.log 2>&1 || { cat make.log >&2; exit 1; }
  mkdir -p "$modules"
  cp "$driver"/*.ko "$modules/"
  cd "$came_from"
fi
test_script=$1 share=$2
shift 2
GUEST_CONTROLLERS="-device ctucan_pci,canbus0=wire,canbus1=wire" "$here/run_guest.sh" "$test_script" "$share" \
  "MODULES=$modules" "$@"

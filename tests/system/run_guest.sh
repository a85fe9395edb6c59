#!/bin/sh
# run_guest.sh TEST.guest SHARE [NAME=VALUE ...]
# Boots Debian's kernel in qemu (software emulation, so it needs no rights and no virtualisation) and runs
# TEST.guest as its only work. The script sees the host's files read-only under /host, writes results to the
# folder SHARE (/host/run/share inside), and has the given NAME=VALUE pairs as variables.
# Exit status: the test's own (0..126); 77 cannot run here; 124 took longer than GUEST_SECONDS (default 300);
# 125 the emulator or the guest failed before giving a verdict. The console's text is SHARE/console.log.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
test_script=$(realpath "$1")
mkdir -p "$2"
share=$(realpath "$2")
shift 2

kernel=$("$here/fetch_kernel.sh") || exit $?
{
  echo "GUEST_FOLDER='$here/guest'"
  echo "GUEST_TEST='$test_script'"
  for pair in "$@"; do
    echo "${pair%%=*}='${pair#*=}'"
  done
} >"$share/environment"
"$here/make_initramfs.sh" "$kernel" "$share/initramfs.cpio"

status=0
timeout -k 5 "${GUEST_SECONDS:-300}" qemu-system-x86_64 -accel tcg,thread=multi -machine q35 \
  -cpu "${GUEST_CPU:-max}" -smp 2 -m "${GUEST_MEGABYTES:-768}" -nodefaults -no-user-config -display none -no-reboot \
  -serial "file:$share/console.log" -device isa-debug-exit,iobase=0xf4,iosize=0x04 \
  -virtfs local,path=/,mount_tag=root,security_model=none,readonly=on,multidevs=remap \
  -virtfs "local,path=$share,mount_tag=share,security_model=none" \
  ${GUEST_DISK:+-drive "file=$GUEST_DISK,format=raw,if=none,id=disk,cache=writeback" -device virtio-blk-pci,drive=disk} \
  -pidfile "$share/emulator.pid" \
  -object can-bus,id=wire ${GUEST_CONTROLLERS:--device kvaser_pci,canbus=wire -device kvaser_pci,canbus=wire} \
  -kernel "$kernel/vmlinux" -initrd "$share/initramfs.cpio" \
  -append "console=ttyS0 panic=-1 quiet loglevel=4 mitigations=off nokaslr no_timer_check tsc=reliable random.trust_cpu=on" ||
  status=$?
rm -f "$share/initramfs.cpio"
tr -d '\r' <"$share/console.log" >&2 || true
[ "$status" -ne 124 ] || { echo "guest: no verdict in ${GUEST_SECONDS:-300} s" >&2; exit 124; }
if [ $((status & 1)) -eq 1 ] && [ "$status" -ge 3 ]; then
  exit $(((status >> 1) - 1))
fi
echo "guest: no verdict (emulator's status $status)" >&2
exit 125

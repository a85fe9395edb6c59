#!/bin/sh
# power_cut.sh SHARE BUILD ROUNDS SEED: cuts the power of a guest that records onto ext4, at random moments: the
# emulator is killed. The next boot looks at what is there: whole, nothing missing before the last frame, and at most
# a second of frames lost. The host's page cache survives, as a disk's own cache with a battery would.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
share=$1 build=$2 rounds=$3 seed=$4
PATH="$PATH:/usr/sbin:/sbin"
command -v mkfs.ext4 >/dev/null || { echo "power cut: mkfs.ext4 is missing (install e2fsprogs)" >&2; exit 77; }
mkdir -p "$share"
disk=$share/disk.img
rm -f "$disk"
truncate -s 64M "$disk"
mkfs.ext4 -q -F "$disk"

boot() { # LAST
  GUEST_DISK=$disk "$here/run_guest.sh" "$here/guest/survives_a_power_cut.guest" "$share" "BUILD=$build" "SEED=$seed" \
    RATE=2000 "SENT=$sent" "LAST=$1" 2>"$share/boot.log"
}
sent_so_far() { tr -d '\r' <"$share/console.log" 2>/dev/null | sed -n 's/^guest: sent \([0-9][0-9]*\)$/\1/p' | tail -n 1; }

round=0 sent=0
while [ "$round" -lt "$rounds" ]; do
  rm -f "$share/console.log" "$share/emulator.pid"
  boot no &
  guest=$!
  tries=0
  until [ "$(sent_so_far)" ] && [ "$(sent_so_far)" -gt 1000 ]; do
    tries=$((tries + 1))
    if [ $tries -gt 600 ] || ! kill -0 $guest 2>/dev/null; then
      cat "$share/boot.log" "$share/console.log" >&2
      exit 1
    fi
    sleep 0.1
  done
  # awk's own generator, so that a run can be done again.
  sleep "$(awk -v seed="$seed" -v round="$round" 'BEGIN { srand(seed * 1000 + round); print 2.5 * rand() }')"
  kill -9 "$(cat "$share/emulator.pid")"
  wait $guest || true
  sent=$(sent_so_far)
  grep -a "guest: cut after" "$share/boot.log" "$share/console.log" | tail -n 1 | tr -d '\r' || true
  round=$((round + 1))
done
boot yes || { cat "$share/boot.log" >&2; exit 1; }
grep "guest: cut after" "$share/boot.log"
echo "$rounds power cuts, every capture whole"
rm -f "$disk"

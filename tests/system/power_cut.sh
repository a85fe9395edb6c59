#!/bin/sh
# power_cut.sh SHARE BUILD CUTS SEED: cuts the power of a guest that records onto ext4, at random moments. A cut is a
# copy of the disk while the emulator stands still: what is on it then is what a killed emulator would leave, and the
# recording goes on to the next cut, with a larger file; at the last one the emulator is killed. Each copy must be
# whole, with nothing missing before its last frame, and at most a second of frames lost. What the guest gave to its
# disk counts as kept, as with a disk whose cache has a battery.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
share=$1 build=$(realpath "$2") cuts=$3 seed=$4
PATH="$PATH:/usr/sbin:/sbin"
command -v debugfs >/dev/null || { echo "power cut: debugfs is missing (install e2fsprogs)" >&2; exit 77; }
mkdir -p "$share"
rm -f "$share"/*
disk=$share/disk.img
truncate -s 64M "$disk"
mkfs.ext4 -q -F "$disk"
: >"$share/console.log"

guest=
emulator() { cat "$share/emulator.pid" 2>/dev/null; }
give_up() {
  echo "power cut: $*" >&2
  cat "$share/boot.log" "$share/console.log" >&2
  [ ! "$guest" ] || kill -9 "$(emulator)" 2>/dev/null || true
  exit 1
}
# "SENT TIME" of each time that the guest said so.
sent() { tr -d '\r' <"$share/console.log" | sed -n 's/^guest: sent \([0-9]*\) at \([0-9.]*\)$/\1 \2/p'; }

record() {
  GUEST_DISK=$disk "$here/run_guest.sh" "$here/guest/records_until_the_cut.guest" "$share" "BUILD=$build" \
    "SEED=$seed" RATE=2000 2>"$share/boot.log" &
  guest=$!
  tries=0
  until [ "$(sent | awk 'END { print ($1 > 1000) }')" = 1 ]; do
    tries=$((tries + 1))
    { [ $tries -le 3000 ] && kill -0 $guest 2>/dev/null; } || give_up "the guest does not record"
    sleep 0.1
  done
  cut=0
  while [ "$cut" -lt "$cuts" ]; do
    cut=$((cut + 1))
    # awk's own generator, so that the moments can be had again.
    sleep "$(awk -v seed="$seed" -v cut="$cut" 'BEGIN { srand(seed * 1000 + cut); print 0.5 + 2.5 * rand() }')"
    kill -STOP "$(emulator)"
    cp --sparse=always "$disk" "$share/cut-$cut.img"
    sent >"$share/cut-$cut.sent"
    [ "$cut" -eq "$cuts" ] || kill -CONT "$(emulator)"
  done
  kill -9 "$(emulator)"
  wait $guest || true
  guest=
}

# Lost is all that was sent after the last look that saw no more than what is stored.
judge() { # CUT
  image=$share/cut-$1.img
  # The journal is worked off as the kernel does it at the next mount.
  e2fsck -p "$image" >"$share/e2fsck.log" 2>&1 || [ $? -le 1 ] || give_up "cut $1: $(cat "$share/e2fsck.log")"
  rm -f "$share"/cut.capture*
  for end in "" -wal; do
    debugfs -R "dump /cut.capture$end $share/cut.capture$end" "$image" 2>/dev/null
  done
  "$build/tests/system/ledger_check" "$share/cut.capture" "$seed" 100000000 prefix >"$share/account" ||
    give_up "cut $1: $(cat "$share/account")"
  stored=$(sed -n 's/.*, stored \([0-9]*\),.*/\1/p' "$share/account")
  commit=$(sqlite3 "$share/cut.capture" "SELECT coalesce(max(commit_ns), 0) / 1000000 FROM
    (SELECT commit_ns FROM health ORDER BY t_ns DESC LIMIT 3)")
  awk -v stored="$stored" -v commit="$commit" -v cut="$1" '
    $1 <= stored { since = $2 }
    { sent = $1; end = $2 }
    END {
      lost = sent > stored ? sent - stored : 0
      seconds = (lost > 0) * (end - since)
      printf "power cut %d: %d sent, %d stored, the last %d lost, %.2f s; slowest commit before %d ms\n",
        cut, sent, stored, lost, seconds, commit
      exit (seconds > 1)
    }' "$share/cut-$1.sent" || late=$((late + 1))
  rm -f "$image"
}

record
late=0 cut=0
while [ "$cut" -lt "$cuts" ]; do
  cut=$((cut + 1))
  judge "$cut"
done
rm -f "$disk"
echo "$cuts power cuts, every capture whole; more than a second of frames missing: $late times"
[ "$late" -eq 0 ]

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
    RATE=2000 "LAST=$1" 2>"$share/boot.log"
}
said() { tr -d '\r' <"$share/console.log" | sed -n "s/^guest: $1/\1/p"; }
give_up() {
  echo "power cut: $*" >&2
  cat "$share/boot.log" "$share/console.log" >&2
  exit 1
}

# What the guest found of the cut before; sent.log has what that one had sent, and when. Lost is all that was sent
# after the last look that saw no more than what is stored.
judge() {
  stored=$(said '\([0-9]*\) frames stored before the cut.*')
  [ "$stored" ] || give_up "nothing was said of the cut before"
  awk -v stored="$stored" -v commit="$(said '.*slowest commit .* took \([0-9]*\) ms')" '
    $1 <= stored { since = $2 }
    { sent = $1; cut = $2 }
    END {
      lost = sent > stored ? sent - stored : 0
      printf "power cut after %d sent: %d stored, the last %d lost, %.2f s; slowest commit %d ms\n",
        sent, stored, lost, (lost > 0) * (cut - since), commit
      exit (lost > 0 && cut - since > 1)
    }' "$share/sent.log" || give_up "more than a second of frames is missing"
}

round=0
while [ "$round" -lt "$rounds" ]; do
  : >"$share/console.log"
  boot no &
  guest=$!
  tries=0
  until [ "$(said 'sent \([0-9]*\) at.*' | tail -n 1)" ] && [ "$(said 'sent \([0-9]*\) at.*' | tail -n 1)" -gt 1000 ]; do
    tries=$((tries + 1))
    { [ $tries -le 3000 ] && kill -0 $guest 2>/dev/null; } || give_up "the guest does not record"
    sleep 0.1
  done
  # awk's own generator, so that a run can be done again.
  sleep "$(awk -v seed="$seed" -v round="$round" 'BEGIN { srand(seed * 1000 + round); print 2.5 * rand() }')"
  kill -9 "$(cat "$share/emulator.pid")"
  wait $guest || true
  [ "$round" -eq 0 ] || judge
  said 'sent \([0-9]* at .*\)' | awk '{ print $1, $3 }' >"$share/sent.log"
  round=$((round + 1))
done
boot yes || give_up "the last boot failed"
judge
echo "$rounds power cuts, every capture whole"
rm -f "$disk"

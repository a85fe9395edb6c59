#!/bin/sh
# instrument_chain.sh SHARE BUILD: foundlingd asks simulated instruments (ours) over TCP and a pseudo-terminal in a guest
# kernel while it records; then, here: what it stored, its uncertainty, what it left out, and correlate on it.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
share=$1
build=$2
"$here/run_guest.sh" "$here/guest/asks_instruments.guest" "$share" "BUILD=$build" "SEED=${SEED:-21}" || exit $?

capture=$share/meters.capture
faults=0
fault() {
  echo "FAILED: $*" >&2
  faults=$((faults + 1))
}
query() { sqlite3 -separator ' ' "$capture" "$1"; }
readings="SELECT r.t_ns / 1e9 AS t, r.value AS value, r.uncertainty AS u, c.name AS name FROM reading r JOIN channel c ON c.id = r.channel"

for channel in pack_voltage pack_current; do
  count=$(query "SELECT count(*) FROM ($readings) WHERE name = '$channel'")
  echo "$channel: $count readings"
  [ "$count" -ge 200 ] || fault "only $count readings of $channel"
done
# A limit of 0.05 % and 10 mV, rectangular: over the square root of 3 (GUM 4.3.7).
odd=$(query "SELECT count(*) FROM ($readings) WHERE name = 'pack_voltage' AND abs(u - (0.0005 * value + 0.01) / sqrt(3)) > 1e-9")
[ "$odd" = 0 ] || fault "$odd readings of pack_voltage with another uncertainty"
# The shunt's 0.5 % of the current, and the meter's 0.05 % and 10 uV as amperes, each over the square root of 3.
odd=$(query "SELECT count(*) FROM ($readings) WHERE name = 'pack_current'
  AND abs(u - sqrt((pow(0.005 * value, 2) + pow(0.0005 * abs(value) + 0.01 / 0.75, 2)) / 3)) > 1e-6 * (1 + abs(value))")
[ "$odd" = 0 ] || fault "$odd readings of pack_current with another uncertainty"

# While an instrument had nothing to say it has no reading: a second is left for what was under way. Afterwards it has.
started=$(query "SELECT started_boot_ns / 1e9 FROM session")
grep -E "^(tcp|serial) " "$share/befell" >"$share/faults" || true
happened=0
while read -r line what from to; do
  happened=$((happened + 1))
  channel=pack_voltage
  [ "$line" = tcp ] || channel=pack_current
  during=$(query "SELECT count(*) FROM ($readings) WHERE name = '$channel' AND t BETWEEN $from - $started + 0.5 AND $to - $started")
  after=$(query "SELECT count(*) FROM ($readings) WHERE name = '$channel' AND t BETWEEN $to - $started AND $to - $started + 7.9")
  echo "$line $what: $during readings meanwhile, $after in the 8 s after it"
  [ "$during" = 0 ] && [ "$after" -ge 5 ] || fault "$line $what: readings where none can be, or none afterwards"
done <"$share/faults"
[ $happened -ge 8 ] || fault "only $happened of the instruments' faults happened"

# The board sends 0.1 A and 0.1 V a bit, as metered_board.cpp has it.
"$build/tools/foundling" correlate "$capture" >"$share/proposals.txt" || true
tr -s ' ' <"$share/proposals.txt" >"$share/proposals-plain.txt"
grep -q "^pack_current strong 1A4 0.7..1.0 100 mA ± " "$share/proposals-plain.txt" || fault "pack_current is not found"
grep -q "^pack_voltage strong 1A4 2.7..3.0 100 mV ± " "$share/proposals-plain.txt" || fault "pack_voltage is not found"
cat "$share/proposals.txt"
[ $faults -eq 0 ]

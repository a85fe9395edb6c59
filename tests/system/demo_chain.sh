#!/bin/sh
# demo_chain.sh SHARE BUILD: the whole job on frames that came through the real SocketCAN stack. The demo's board
# sends in the guest and is recorded there; then, here: survey, correlate, decode, and a check of the true map.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
share=$1
build=$2
foundling="$build/tools/foundling"
for command in survey correlate decode check; do
  "$foundling" --help | grep -q "^  $command " || { echo "foundling $command is not built yet" >&2; exit 77; }
done
"$here/run_guest.sh" "$here/guest/records_the_demo.guest" "$share" "BUILD=$build" "DEMO=${DEMO:---small}" || exit $?

capture="$share/demo.capture"
truth="$here/../../captures_demo/tractor.signals"
"$foundling" survey "$capture" >"$share/survey.txt"
"$foundling" correlate "$capture" >"$share/proposals.txt"
"$foundling" decode "$truth" "$capture" >"$share/decoded.csv"
"$foundling" check "$truth" "$capture" >"$share/check.txt" || { cat "$share/check.txt"; exit 1; }
[ "$(wc -l <"$share/decoded.csv")" -gt 1000 ] || { echo "hardly anything was decoded" >&2; exit 1; }

# What the board says, as captures_demo/tractor.signals has it: message, bits, sign and scale.
missed=0
expect() { # CHANNEL PATTERN
  grep "^$1 .* strong" "$share/proposals.txt" | tr -s ' ' | grep -q "^$1 $2 " && return
  echo "correlate did not find $1 at: $2" >&2
  missed=$((missed + 1))
}
expect pack_current "1A4 0.7..1.0 signed 0.1 A"
expect pack_voltage "1A4 2.7..3.0 0.1 V"
expect supply_voltage "2D0 4.3..3.0 0.005 V"
expect coolant_pressure "2D0 5.7..4.4 0.1 kPa"
expect coolant_temp "2C1 5.7..5.0 0.5 °C"
for n in 1 2 3 4; do expect temp_$n "2C1 $((n - 1)).7..$((n - 1)).0 1 °C"; done
expect interlock "2D0 0.0 0 = open, 1 = closed"
expect contactor_positive "2D0 0.1 0 = open, 1 = closed"
expect contactor_negative "2D0 0.2 0 = open, 1 = closed"
cell=0
while [ $cell -lt 28 ]; do # three cells a page, two bytes each, low byte first
  low=$((1 + cell % 3 * 2))
  expect "cell_$(printf %02d $((cell + 1)))" "1B0 $((low + 1)).7..$low.0 on page 0.7..0.0 = $((cell / 3)) 0.001 V"
  cell=$((cell + 1))
done
[ $missed -eq 0 ] || exit 1
cat "$share/check.txt"

#!/bin/sh
# demo_chain.sh SHARE BUILD: the whole job on frames that came through the real SocketCAN stack. The demo's board
# sends in the guest and is recorded there, every frame. Then, here: survey, correlate, decode, and checks: of the
# true map, and of the map that was found, against a second session.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
share=$1
build=$2
foundling="$build/tools/foundling"
demo=$here/../../captures_demo
"$here/run_guest.sh" "$here/guest/records_the_demo.guest" "$share" "BUILD=$build" "DEMO=--small" || exit $?

faults=0
fault() {
  echo "FAILED: $*" >&2
  faults=$((faults + 1))
}

# The small demo of session 1 is what the board played: the same frames must have been recorded.
capture="$share/demo.capture"
"$build/tests/system/same_frames" "$demo/tractor-1.capture" "$capture" || fault "not every frame was recorded as sent"
"$foundling" stimulus "$capture" list | grep -q bench_light || fault "the stimulus of the bench light is missing"

# Values and places below are those of captures_demo/tractor.signals, written from the simulation's source.
"$foundling" survey "$capture" >"$share/survey.txt"
survey() { # MESSAGE LINE: the survey has the line under the message
  sed -n "/^ *0  $1 /,/^ *0  /p" "$share/survey.txt" | grep -q "^ *$2" || fault "survey, $1: no \"$2\""
}
survey 1A4 "counter 6.3..6.0 modulo 16"
survey 1A4 "checksum 7.7..7.0 crc8 polynomial 1D over bytes 0..6, start FF, final FF"
survey 1B0 "selector 0.7..0.0, 10 pages: 0..9"
survey 1B0 "checksum 7.7..7.0 xor8 over bytes 0..6"
survey 2D0 "counter 6.3..6.0 modulo 15"
survey 2D0 "checksum 7.7..7.0 sum8 over bytes 0..6"

rm -f "$share/found.signals"
"$foundling" correlate "$capture" --into "$share/found.signals" >"$share/proposals.txt"
"$foundling" correlate "$capture" --json >"$share/proposals.json"
awk '$2 == "strong" { $2 = ""; print $0 " " }' "$share/proposals.txt" | tr -s ' ' >"$share/strong.txt"
expect() { # CHANNEL PLACE; what the scales are worth, the check against the true session says
  grep -qF "$1 $2 " "$share/strong.txt" || fault "correlate did not find $1 at $2"
}
expect pack_current "1A4 0.7..1.0"
expect pack_voltage "1A4 2.7..3.0"
expect supply_voltage "2D0 4.3..3.0"
expect coolant_pressure "2D0 5.7..4.4"
expect coolant_temp "2C1 5.7..5.0"
for n in 1 2 3 4; do expect temp_$n "2C1 $((n - 1)).7..$((n - 1)).0"; done
expect interlock "2D0 0.0"
expect contactor_positive "2D0 0.1"
expect contactor_negative "2D0 0.2"
expect key_switch "2D0 0.5..0.4"
cell=0
while [ $cell -lt 28 ]; do # three cells a page, two bytes each, low byte first
  low=$((1 + cell % 3 * 2))
  expect "cell_$(printf %02d $((cell + 1)))" "1B0 $((low + 1)).7..$low.0 page $((cell / 3))"
  cell=$((cell + 1))
done
# Nothing false is called strong: besides what was fed there is only what the board computes from it, where it says
# so. The upper end of those fields is not held: the session does not move their top bits.
computed='^cell_min 18FF51E5 1\.[0-7]\.\.0\.0 |^cell_max 18FF51E5 3\.[0-7]\.\.2\.0 |^cell_(sum|mean) 18FF51E5 5\.[0-7]\.\.4\.0 '
computed="$computed|^cell_(sum|mean) 18FF52E5 1\.[0-7]\.\.0\.0 |^pack_voltage_times_pack_current 1A4 4\.[0-7]\.\.5\.0 "
strong=$(grep -vcE "$computed" "$share/strong.txt")
[ "$strong" -eq 41 ] || fault "41 channels were fed, besides what the board computes $strong are called strong"

"$foundling" decode "$share/found.signals" "$capture" --signal pack_current >"$share/decoded.csv"
rows=$(($(wc -l <"$share/decoded.csv") - 1))
sent=$(sed -n 's/^ *0  1A4 *\([0-9]*\) .*/\1/p' "$share/survey.txt")
[ "$rows" -eq "$sent" ] || fault "1A4 was sent $sent times, pack_current decoded $rows times"

check() { # MAP CAPTURE NAME
  "$foundling" check "$1" "$2" >"$share/$3" || fault "check of $1 against $2"
  grep "checked signals pass" "$share/$3" || fault "$3 has no verdict"
}
check "$demo/tractor.signals" "$capture" check-true-map.txt
check "$share/found.signals" "$demo/tractor-2.capture" check-found-map.txt

# What the board sent, found again, for whoever reads the log.
cat "$share/check-found-map.txt"
[ $faults -eq 0 ]

#!/bin/sh
# demo_chain.sh SHARE BUILD: the whole job on frames that came through the real SocketCAN stack. The demo's board
# sends in the guest and is recorded there; then, here: survey, correlate, decode, and a check of the true map.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
share=$1
build=$2
foundling="$build/tools/foundling"
for command in survey correlate decode check; do
  "$foundling" $command --help >/dev/null 2>&1 || { echo "foundling $command is not built yet" >&2; exit 77; }
done
"$here/run_guest.sh" "$here/guest/records_the_demo.guest" "$share" "BUILD=$build" "DEMO=${DEMO:---small --speed 2}" || exit $?

capture="$share/demo.capture"
"$foundling" survey "$capture" >"$share/survey.txt"
"$foundling" correlate --json "$capture" >"$share/proposals.json"
"$foundling" decode "$here/../../captures_demo/tractor.signals" "$capture" >"$share/decoded.csv"
"$foundling" check "$here/../../captures_demo/tractor.signals" "$capture" >"$share/check.txt"
[ "$(wc -l <"$share/decoded.csv")" -gt 1000 ] || { echo "hardly anything was decoded" >&2; exit 1; }
grep -q '"verdict": *"strong"' "$share/proposals.json" || { echo "nothing was found" >&2; exit 1; }
cat "$share/check.txt"

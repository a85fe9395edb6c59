#!/usr/bin/env bash
# The demonstration in full length, as tools/demo.sh runs it: two sessions of the simulated board,
# the first one's signals held against the second. All that is checked must pass, none accused.
# Usage: whole_demo.sh DIR BUILD
set -euo pipefail
foundling=$2/tools/foundling
rm -rf "$1"
mkdir -p "$1"
cd "$1"
for session in 1 2; do "$foundling" demo "tractor-$session.capture" --session "$session"; done
"$foundling" correlate tractor-1.capture --into tractor.signals >/dev/null
"$foundling" check tractor.signals tractor-2.capture | tee check.txt
if grep -E 'FAIL|do not fit|without reading' check.txt; then exit 1; fi
grep -qE '^([0-9]+) of \1 checked signals pass' check.txt

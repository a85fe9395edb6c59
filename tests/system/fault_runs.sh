#!/bin/sh
# fault_runs.sh BUILD [TIMES] [README]: every fault in its full number, and a table of faults, runs and results on
# stdout; with README the table is also put between the marks there. TIMES is how often each fault is run (default 20).
# The programs must be built: cmake --build BUILD --target guest_programs. Takes about an hour on two cores; what each
# run said is kept in BUILD/fault-runs.
set -u
here=$(cd "$(dirname "$0")" && pwd)
build=$(realpath "$1")
times=${2:-20}
readme=${3:-}
logs=$build/fault-runs
mkdir -p "$logs"
rows=$logs/table.md
: >"$rows"

# run FAULT SCRIPT RUNS_A_BOOT BOOTS [NAME=VALUE ...]: boots with different seeds; adds a row.
run() {
  fault=$1 script=$2 per_boot=$3 boots=$4
  shift 4
  good=0 boot=0 stored=0 lost=0
  while [ $boot -lt "$boots" ]; do
    boot=$((boot + 1))
    log=$logs/$script-$boot.log
    if GUEST_SECONDS=${GUEST_SECONDS:-900} "$here/${runner:-run_guest.sh}" "$here/guest/$script.guest" "$logs/$script" \
      "BUILD=$build" "SEED=$((100 + boot))" "$@" >"$log" 2>&1; then
      good=$((good + 1))
    fi
    stored=$((stored + $(sed -n 's/.* stored \([0-9]*\), lost by.*/\1/p' "$log" | awk '{ sum += $1 } END { print sum + 0 }')))
    lost=$((lost + $(sed -n 's/.* lost by [0-9]* gaps \([0-9]*\),.*/\1/p' "$log" | awk '{ sum += $1 } END { print sum + 0 }')))
  done
  row "$fault" $((per_boot * boots)) "$good of $boots boots good" "$stored stored, $lost accounted as lost"
}
row() { echo "| $1 | $2 | $3 | $4 |" | tee -a "$rows"; }

run "SIGKILL at a random moment, 2,000 frames/s" survives_a_kill "$times" 1 "ROUNDS=$times"
log=$logs/power.log
if "$here/power_cut.sh" "$logs/power" "$build" "$times" 1 >"$log" 2>&1; then result="all whole"; else result="FAILED"; fi
row "power cut at a random moment, 2,000 frames/s, ext4" "$times" "$result" \
  "most missing of what was sent: $(sed -n 's/.*cut after \([0-9]*\) sent, \([0-9]*\) are there.*/\1 \2/p' "$log" |
    awk '{ m = $1 - $2; if (m > most) most = m } END { print most + 0 }') frames"
run "socket buffer overrun" counts_what_the_kernel_drops 1 "$times" COUNT=60000
run "controller overrun (nobody counts its losses)" counts_controller_overruns 1 "$times" COUNT=5000
run "disk full: 8 MiB reserve, and to the last byte" stands_a_full_disk $((2 * 2)) $((times / 4 + 1)) ROUNDS=2 COUNT=350000 'RESERVES=8 0'
runner=with_disk.sh
run "disk read-only, then gone and back" stands_disk_faults 2 $((times / 4 + 1))
runner=run_guest.sh
run "interface down, removed, made again" survives_a_removed_interface 2 "$times"
run "controller's device unplugged and back" sets_up_the_bus 1 $((times / 4 + 1))
run "one of two interfaces down" records_two_buses 1 $((times / 4 + 1))
run "bus-off, restarted" restarts_a_controller 1 $((times / 4 + 1))
run "wall clock forward and back by an hour" keeps_time_through_clock_steps 2 $((times / 4 + 1))
run "CAN FD frames" keeps_fd_frames 1 1
run "rolling over" rolls_over 1 $((times / 4 + 1))
GUEST_SECONDS=3000 run "2,880,000 frames at once (8 h of 100 frames/s), memory within 5 %" stays_the_same_size 1 1 \
  COUNT=2880000 RATE=20000

[ -n "$readme" ] || exit 0
awk -v rows="$rows" '
  /<!-- fault runs: end -->/ { skip = 0 }
  !skip { print }
  /<!-- fault runs: begin -->/ {
    skip = 1
    print "\n| fault | runs | result | frames |\n|---|---|---|---|"
    while ((getline line < rows) > 0) print line
    print ""
  }' "$readme" >"$readme.new" && mv "$readme.new" "$readme"

#!/bin/sh
# fault_runs.sh BUILD [TIMES] [README] [SCRIPT ...]: every fault in its full number, and a table of faults, runs and
# results on stdout; with README ("" for none) the table is also put between the marks there. TIMES is how often each
# fault is run (default 20). The programs must be built: cmake --build BUILD --target guest_programs. Takes about half
# an hour on two idle cores. What each run said, and each fault's row, are kept in BUILD/fault-runs: a fault that was run
# since the recorder was built is not run again, so that a run that was broken off goes on where it was. With SCRIPTs
# (survives_a_kill, power_cut ...) only those are run. A row that says FAILED is run again. Frames are those of all runs that were good to the end.
set -u
here=$(cd "$(dirname "$0")" && pwd)
build=$(realpath "$1")
times=${2:-20}
readme=${3:-}
[ $# -le 3 ] || { shift 3; only=" $* "; }
logs=$build/fault-runs
mkdir -p "$logs"
rows=$logs/table.md
GUEST_SECONDS=${GUEST_SECONDS:-3600}
export GUEST_SECONDS
few=$(((times + 3) / 4))

scripts=
# due SCRIPT: whether it is to be run now. Notes it for the table.
due() {
  scripts="$scripts $1"
  case "${only- $1 }" in *" $1 "*) ;; *) return 1 ;; esac
  [ ! "$logs/$1.row" -nt "$build/daemon/foundlingd" ] || grep -q FAILED "$logs/$1.row"
}
row() { echo "| $2 | $3 | $4 | $5 |" | tee "$logs/$1.row"; } # SCRIPT and the four columns
# sum EXPRESSION LOG: of all numbers that the expression's group finds
sum() { sed -n "$1" "$2" | awk '{ sum += $1 } END { printf "%d", sum }'; }

# run FAULT SCRIPT FAULTS_A_RUN RUNS [NAME=VALUE ...]: that many runs in one boot, each with another seed; adds a row.
run() {
  fault=$1 script=$2 per_run=$3 runs=$4
  shift 4
  due "$script" || return 0
  log=$logs/$script.log
  "$here/${runner:-run_guest.sh}" "$here/guest/$script.guest" "$logs/$script" "BUILD=$build" SEED=100 "REPEAT=$runs" \
    "$@" >"$log" 2>&1
  status=$?
  good=$(grep -c '^guest: run [0-9]* good' "$log")
  stored=$(sum 's/.* stored \([0-9]*\), lost .*/\1/p' "$log")
  lost=$(sum 's/.* stored [0-9]*, lost \(by [0-9]* gaps \)*\([0-9]*\).*/\2/p' "$log")
  row "$script" "$fault" $((per_run * runs)) "$good of $runs good$([ $status -eq 0 ] || echo ", FAILED")" \
    "${frames:-$stored stored, $lost counted as lost}"
}

frames="at most 250 ms missing before each kill, nothing else"
run "SIGKILL at a random moment, 2,000 frames/s" survives_a_kill 1 "$times"
frames=
if due power_cut; then
  log=$logs/power_cut.log
  "$here/power_cut.sh" "$logs/power_cut" "$build" "$times" 1 >"$log" 2>&1
  failed=$([ $? -eq 0 ] || echo ", FAILED")
  lost=$(sed -n 's/.*lost, \([0-9.]*\) s; slowest.*/\1/p' "$log" | sort -n)
  row power_cut "power cut at a random moment, 2,000 frames/s, ext4" "$times" \
    "$(echo "$lost" | wc -w) of $times whole, $(echo "$lost" | awk '$1 <= 1' | wc -l) within a second$failed" \
    "$(echo "$lost" | tail -n 1) s missing at most, nothing else"
fi
run "socket buffer overrun" counts_what_the_kernel_drops 1 "$times" COUNT=60000
frames="each loss under a gap (nobody counts what a controller loses)"
run "controller overrun" counts_controller_overruns 1 "$times" COUNT=5000
frames=
run "disk full: 8 MiB reserve, and to the last byte" stands_a_full_disk 2 $(((times + 1) / 2)) COUNT=350000 'RESERVES=8 0'
runner=with_disk.sh
run "disk read-only, broken, unplugged and back" stands_disk_faults 3 "$times"
runner=run_guest.sh
run "capture moved, replaced, removed; -wal, -shm removed; a FIFO in its place; killed" stands_moved_files 10 "$few"
run "interface down, removed, made again" survives_a_removed_interface 2 "$times"
run "controller's device unplugged and back" sets_up_the_bus 1 "$few"
run "one of two interfaces down" records_two_buses 1 "$few"
frames="as said by the adapter, all stored"
run "bus-off and restart, serial adapter unplugged and back" restarts_a_controller 2 "$times"
frames=
run "wall clock forward and back by an hour" keeps_time_through_clock_steps 2 "$times"
run "CAN FD frames, virtual interface" keeps_fd_frames 1 "$few"
runner=with_fd_controllers.sh
run "CAN FD frames, emulated controllers, down and up again" keeps_fd_frames_of_controllers 1 "$few"
runner=run_guest.sh
run "rolling over" rolls_over 1 "$few"
run "2,880,000 frames (eight hours of 100 a second), memory flat within 5 %" stays_the_same_size 1 1 \
  COUNT=2880000 RATE=20000

for script in $scripts; do cat "$logs/$script.row" 2>/dev/null; done >"$rows"
if [ -n "$readme" ]; then
  awk -v rows="$rows" '
    /<!-- fault runs: end -->/ { skip = 0 }
    !skip { print }
    /<!-- fault runs: begin -->/ {
      skip = 1
      print "\n| fault | times | result | frames |\n|---|---|---|---|"
      while ((getline line < rows) > 0) print line
      print ""
    }' "$readme" >"$readme.new" && mv "$readme.new" "$readme"
fi
! grep FAILED "$rows" >&2

#!/usr/bin/env bash
# Everything that must hold before a change goes in, from a bare Debian 12 on: installs the packages,
# checks the form of the code, builds it with both compilers, runs all tests, and closes with one
# line "N passed, N failed". A doctest case, a ctest entry without cases and a stage without tests
# count one each. Logs are kept in build/test-logs.
set -uo pipefail
cd "$(dirname "$0")/.."

usage() {
  cat <<'TEXT'
Usage: tools/test.sh [STAGE ...]

Without a word: installs the packages, then runs every stage but tidy.

  format    clang-format leaves every source as it is
  dev       g++ with address and undefined-behaviour sanitizers: unit, property and golden tests
  release   g++ optimised: the system test in a guest kernel, the house rules, whole searches
  tsan      g++ with the thread sanitizer: the tests of what runs in several threads
  tidy      clang++ builds everything, and clang-tidy finds nothing

Example: after a change to the map's parser
  tools/test.sh format dev
TEXT
}

all_stages=(format dev release tsan)  # tidy takes a quarter of an hour: by name
stages=()
for word in "$@"; do
  case "$word" in
    --help | -h) usage; exit 0 ;;
    format | dev | release | tsan | tidy) stages+=("$word") ;;
    *) usage >&2; echo "test.sh: error: unknown stage '$word'" >&2; exit 2 ;;
  esac
done
[ "${#stages[@]}" -gt 0 ] || stages=("${all_stages[@]}")

# Two clones of one commit share what the compiler cache holds.
export CCACHE_BASEDIR="$PWD" CCACHE_NOHASHDIR=1
jobs=$(nproc)
logs=build/test-logs
mkdir -p "$logs"
passed=0 failed=0 skipped=0

heading() { printf '\n== %s\n' "$*"; }

# A stage that is one check: its output is shown only where it fails.
single_check() {
  local log=$1
  shift
  if "$@" >"$log" 2>&1; then
    passed=$((passed + 1))
  else
    failed=$((failed + 1))
    tail -n 60 "$log"
    echo "FAILED: $1 (whole log: $log)"
    return 1
  fi
}

# Configures and builds a preset; counted only where it fails.
build() {
  local preset=$1 log=$logs/build-$1.log
  shift
  if { cmake --preset "$preset" && cmake --build "build/$preset" -j "$jobs" -- "$@"; } >"$log" 2>&1; then
    return 0
  fi
  grep -nE -A12 'error|FAILED|undefined reference' "$log" | head -n 80
  echo "FAILED: build of preset $preset (whole log: $log)"
  failed=$((failed + 1))
  return 1
}

# Runs ctest in a preset's build and adds up its cases.
run_tests() {
  local preset=$1 log=$logs/ctest-$1.log counts
  shift
  ctest --test-dir "build/$preset" --verbose -j "$jobs" --timeout 900 "$@" >"$log" 2>&1
  counts=$(awk -f tools/ctest-count.awk "$log")
  sed '$d' <<<"$counts"
  read -r p f s <<<"$(tail -n 1 <<<"$counts")"
  passed=$((passed + p)) failed=$((failed + f)) skipped=$((skipped + s))
  if [ $((p + f + s)) -eq 0 ]; then
    echo "FAILED: no test ran in preset $preset (whole log: $log)"
    failed=$((failed + 1))
  fi
}

sources() { find daemon decoder schemas tests tools -name '*.cpp' -o -name '*.h' | sort; }

stage_format() {
  heading "Form: clang-format"
  sources >"$logs/sources.txt"
  # shellcheck disable=SC2046  # our file names have no blanks
  single_check "$logs/format.log" clang-format --dry-run --Werror $(cat "$logs/sources.txt")
}

stage_dev() {
  heading "Unit, property and golden tests, with address and undefined-behaviour sanitizers"
  # Those that wait for a clock, a terminal or a broker leave the processor to one more.
  build dev && run_tests dev -LE 'guest|optimised' -j $((jobs + 1))
}

stage_release() {
  heading "System test in a guest kernel, and what computes too long for the sanitizers"
  # Two of these only wait most of the time: the others, which are one at a time, go on beside them.
  build release guest_programs optimised_tests &&
    run_tests release -L 'guest|optimised' -j $((jobs + 1))
}

stage_tsan() {
  heading "Recorder, instruments and live values, with the thread sanitizer"
  build tsan daemon_test instrument_test live_test mqtt_client_test &&
    run_tests tsan -R '^(daemon|instrument_test|live_test|mqtt_client_test)'
}

stage_tidy() {
  heading "Second compiler: clang++ builds everything, clang-tidy finds nothing"
  build tidy && passed=$((passed + 1))
}

if [ $# -eq 0 ]; then
  heading "Packages"
  tools/install-packages.sh || exit 2
fi
for stage in "${stages[@]}"; do
  started=$SECONDS
  "stage_$stage"
  echo "   ($((SECONDS - started)) s)"
done

echo
line="$passed passed, $failed failed"
[ "$skipped" -eq 0 ] || line="$line, $skipped skipped"
echo "$line"
[ "$failed" -eq 0 ]

#!/usr/bin/env bash
# The whole job on an invented board, from a bare Debian 12: installs the packages, builds the two
# programs, makes two bench sessions of the simulated board, finds its signals in the first, holds
# the map against the second, and decodes. Nothing here touches a CAN interface.
set -euo pipefail
cd "$(dirname "$0")/.."

case "${1:-}" in
  "") ;;
  *)
    echo "Usage: tools/demo.sh"
    echo
    echo "Installs, builds, and runs the whole job on the simulated board. Results: build/demo/"
    [ "$1" = --help ] || [ "$1" = -h ] && exit 0
    exit 2
    ;;
esac

say() { printf '\n== %s\n' "$*"; }
# Shows the command as a person would type it, then runs it.
run() {
  printf '$ foundling %s\n' "$*" >&2  # what the command prints may go into a file
  "$foundling" "$@"
}

say "Packages"
tools/install-packages.sh --build

say "Building foundling and foundlingd"
build=build/demo-release
mkdir -p build
if ! { cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release &&
  cmake --build "$build" -j "$(nproc)" --target foundling foundlingd foundling_pages; } >build/demo-build.log 2>&1; then
  tail -n 40 build/demo-build.log >&2
  echo "demo.sh: error: the build failed; the whole log is build/demo-build.log" >&2
  exit 2
fi
foundling=$PWD/$build/tools/foundling
echo "Built: $build/tools/foundling, $build/daemon/foundlingd"

rm -rf build/demo
mkdir -p build/demo
cd build/demo

say "Two bench sessions of an invented board: an electric orchard tractor, 28 cells in series"
run demo tractor-1.capture --session 1
run demo tractor-2.capture --session 2

say "What is on the bus, without any stimulus"
run survey tractor-1.capture

say "Which bits respond to which stimulus: written down as a signal map"
run correlate tractor-1.capture --into tractor.signals

say "The map against the second session, which it was not made from"
run check tractor.signals tractor-2.capture

say "The recorded bus as numbers: the first lines"
run decode tractor-2.capture tractor.signals >decoded.csv
head -n 6 decoded.csv
echo "... $(wc -l <decoded.csv) lines in build/demo/decoded.csv"

say "And all of it on one page, to look at in a browser"
run report tractor-1.capture report.html --search --map tractor.signals --check tractor-2.capture

say "All of it is in build/demo/: the captures, tractor.signals to read and edit, decoded.csv, report.html"

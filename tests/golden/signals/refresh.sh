#!/bin/sh
# Writes the expected messages of the named maps anew: refresh.sh tests/golden/signals/NAME.signals ...
# Only named files are touched. Read the difference before committing it.
set -eu
if [ $# -eq 0 ]; then
  echo "usage: $0 MAP.signals ...  (FOUNDLING=path of the program, default build/release/tools/foundling)" >&2
  exit 2
fi
program=$(realpath "${FOUNDLING:-build/release/tools/foundling}")
for map in "$@"; do
  cd "$(dirname "$(realpath "$map")")"
  name=$(basename "$map")
  "$program" signals check "$name" 2> "${name%.signals}.expected" > /dev/null || true
  cd - > /dev/null
done

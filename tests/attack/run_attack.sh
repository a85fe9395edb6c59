#!/bin/sh
# run_attack.sh SCRIPT PROGRAMS SOURCES [MEGABYTES]: runs one attack in a new folder. PROGRAMS is the build's folder, SOURCES
# that of the sources. MEGABYTES: how much address space a command may take (none under sanitizers, which take terabytes).
# Exit status: 0 all promises held; 1 not; 77 something is missing to try it.
set -u
here=$(cd "$(dirname "$0")" && pwd)
script=$(realpath "$1")
programs=$(realpath "$2")
sources=$(realpath "$3")
[ -z "${4:-}" ] || limit_kib=$(($4 * 1024))
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$folder" || exit 1
foundling=$programs/tools/foundling
foundlingd=$programs/daemon/foundlingd
failures=0
. "$here/steps.attack"
. "$script"
[ "$failures" -eq 0 ] || { echo "$failures promises broken"; exit 1; }
echo "all promises held"

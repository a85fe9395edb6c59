#!/usr/bin/env bash
# What the packages must hold, tried once from end to end: the same bytes from two builds in
# different folders; and in a fresh Debian 12 root installed, run, upgraded while a recording's data
# is there, removed, purged, with nothing left behind but what was recorded. Takes ten minutes of
# building; as root, with debootstrap.
set -euo pipefail
cd "$(dirname "$0")/../.."

usage() {
  cat <<'TEXT'
Usage: tools/package/test.sh [same-bytes | root] [FOLDER]

Tests the Debian packages of the last commit.

  same-bytes  two builds in different folders give the same bytes
  root        installed, run, upgraded, removed and purged in a fresh Debian 12 root
  FOLDER      where it works; build/package-test by default

Example: only the comparison
  tools/package/test.sh same-bytes
TEXT
}

parts=(same-bytes root)
case "${1:-}" in
  --help | -h) usage; exit 0 ;;
  same-bytes | root) parts=("$1"); shift ;;
esac
work=$(realpath -m "${1:-build/package-test}")
mkdir -p "$work"
commit=$(git rev-parse HEAD)  # the same for every build, whatever is committed meanwhile
failed=0
good() { echo "ok: $*"; }
bad() { echo "FAILED: $*"; failed=1; }
check() { local what=$1; shift; if "$@" >>"$work/log" 2>&1; then good "$what"; else bad "$what"; fi; }

# The commit's source in a folder of its own, built there: build_in FOLDER [VERSION]
build_in() {
  local folder=$1 version=${2:-} epoch
  epoch=$(git log -1 --format=%ct "$commit")
  rm -rf "$folder"
  mkdir -p "$folder"
  git archive "$commit" | tar -x -C "$folder"
  [ -z "$version" ] || sed -i "s/^project(foundling VERSION [0-9.]*/project(foundling VERSION $version/" "$folder/CMakeLists.txt"
  CCACHE_BASEDIR=$folder CCACHE_NOHASHDIR=1 SOURCE_DATE_EPOCH=$epoch BUILD_FOLDER=build/package PACKAGE_FOLDER="$folder/out" \
    "$folder/tools/package/build.sh" >>"$work/log" 2>&1
}

same_bytes() {
  local one=$work/one two=$work/another-folder/two file
  build_in "$one"
  # Without the compiler cache, or it would be the first one's objects.
  CCACHE_DISABLE=1 build_in "$two"
  for file in "$one"/out/*.deb; do
    check "same bytes: ${file##*/}" cmp "$file" "$two/out/${file##*/}"
  done
}

in_root() { chroot "$work/debian" env DEBIAN_FRONTEND=noninteractive PATH=/usr/sbin:/usr/bin:/sbin:/bin "$@"; }
installed() { in_root dpkg-query -W -f '${db:Status-Status} ${Version}\n' "$1" 2>/dev/null; }

# Files of a root, but for what apt, dpkg and the like keep of their own.
files_of_root() {
  find "$work/debian" -xdev \( -path "$work/debian/var/lib/dpkg" -o -path "$work/debian/var/lib/apt" \
    -o -path "$work/debian/var/cache" -o -path "$work/debian/var/log" -o -path "$work/debian/tmp" \
    -o -path "$work/debian/packages" -o -path "$work/debian/proc" -o -path "$work/debian/etc/ld.so.cache" \) \
    -prune -o -print | sort
}

root() {
  [ "$(id -u)" -eq 0 ] || { bad "a root is made by root"; return; }
  [ -d "$work/one/out" ] || build_in "$work/one"
  [ -d "$work/newer/out" ] || build_in "$work/newer" 99.0.0
  if [ ! -e "$work/debian/etc/debian_version" ]; then
    debootstrap --variant=minbase bookworm "$work/debian" >>"$work/log" 2>&1
  fi
  mkdir -p "$work/debian/packages"
  cp "$work"/one/out/*.deb "$work"/newer/out/*.deb "$work/debian/packages"
  in_root apt-get -qq update >>"$work/log" 2>&1
  local old new
  old=$(cd "$work/one/out" && ls | sed 's|^|/packages/|')
  new=$(cd "$work/newer/out" && ls | sed 's|^|/packages/|')
  # shellcheck disable=SC2086  # several words
  check "installs" in_root apt-get -qq -y --no-install-recommends install $old
  files_of_root | grep -v '/var/lib/foundling' >"$work/files-installed"
  check "the recorder's user is there, without a shell" in_root sh -c 'getent passwd foundling | grep -q nologin'
  rm -f "$work/debian/tmp/try.capture"  # of a run before
  check "the tool runs" in_root foundling demo /tmp/try.capture
  check "and finds something" in_root sh -c 'foundling survey /tmp/try.capture | grep -q "11 messages"'
  check "the recorder runs" in_root foundlingd --version
  check "the manual pages are there" in_root sh -c 'ls /usr/share/man/man1/foundling.1 /usr/share/man/man8/foundlingd.8 /usr/share/man/man5/foundling-map.5'
  in_root sh -c 'mkdir -p /var/lib/foundling && cp /tmp/try.capture /var/lib/foundling/ && chown -R foundling /var/lib/foundling'
  local before
  before=$(sha256sum <"$work/debian/var/lib/foundling/try.capture")
  # shellcheck disable=SC2086
  check "is upgraded" in_root apt-get -qq -y --no-install-recommends install $new
  check "to the newer version" test "$(installed foundlingd)" = "installed 99.0.0"
  check "the recording is what it was" test "$(sha256sum <"$work/debian/var/lib/foundling/try.capture")" = "$before"
  check "the newer one reads it" in_root foundling survey /var/lib/foundling/try.capture
  files_of_root | grep -v '/var/lib/foundling' | diff "$work/files-installed" - >"$work/upgrade-files" || true
  check "an upgrade leaves no file behind" test ! -s "$work/upgrade-files"
  check "is removed" in_root apt-get -qq -y remove foundling foundlingd
  check "no program is left" sh -c "! ls '$work/debian/usr/bin/foundling' '$work/debian/usr/bin/foundlingd'"
  check "is purged" in_root dpkg --purge foundling foundlingd
  check "the recording is still there" test "$(sha256sum <"$work/debian/var/lib/foundling/try.capture")" = "$before"
  files_of_root | grep -i foundling | grep -v '/var/lib/foundling' >"$work/left" || true
  check "nothing else is left" test ! -s "$work/left"
}

: >"$work/log"
for part in "${parts[@]}"; do "${part//-/_}"; done
[ "$failed" -eq 0 ] || { echo "Log: $work/log"; exit 1; }

#!/usr/bin/env bash
# Installs what Foundling needs from Debian 12's own packages, and nothing else.
# Quick when all of it is there already. Uses sudo where it is not run as root.
set -euo pipefail

# What builds and runs the two programs.
build_packages=(
  build-essential cmake ninja-build pkg-config
  libboost-dev libspdlog-dev libsqlite3-dev
  libcli11-dev nlohmann-json3-dev libtomlplusplus-dev libeigen3-dev libpcap-dev libmosquitto-dev
  libsocketcan-dev libmnl-dev libsystemd-dev
)
# The report page's plot library and its test come from npm. Where there is one already, from wherever,
# Debian's would only get into its way.
if ! command -v npm >/dev/null; then
  build_packages+=(npm nodejs)
fi
# What the tests and the work on the code need on top.
test_packages=(
  ccache clang libclang-rt-dev clang-format clang-tidy doctest-dev libbenchmark-dev
  sqlite3 xz-utils chromium mosquitto mosquitto-clients openssl python3-prometheus-client
  python3-jsonschema
  man-db mandoc zsh fish tmux
  qemu-system-x86 busybox-static cpio kmod
)

usage() {
  cat <<'TEXT'
Usage: tools/install-packages.sh [--build | --list]

Installs the Debian packages that Foundling needs.

  --build   only what building and running the two programs needs
  --list    print the names of the packages instead of installing them
  --help    this page

Example: install only what a recorder on a small computer needs to be built
  tools/install-packages.sh --build
TEXT
}

refuse() {
  echo "install-packages.sh: error: $*" >&2
  exit 2
}

list_only=no
packages=("${build_packages[@]}" "${test_packages[@]}")
for word in "$@"; do
  case "$word" in
    --build) packages=("${build_packages[@]}") ;;
    --list) list_only=yes ;;
    --help | -h) usage; exit 0 ;;
    *) usage >&2; refuse "unknown word '$word'" ;;
  esac
done

if [ "$list_only" = yes ]; then
  printf '%s\n' "${packages[@]}"
  exit 0
fi

if ! command -v apt-get >/dev/null || ! command -v dpkg-query >/dev/null; then
  refuse "this system has no apt-get and dpkg. Foundling is built with Debian 12's packages;" \
    "elsewhere, install the like of these by hand: ${packages[*]}"
fi

installed=$(dpkg-query -W -f '${Package} ${db:Status-Status}\n' "${packages[@]}" 2>/dev/null || true)
missing=()
for package in "${packages[@]}"; do
  grep -qx "$package installed" <<<"$installed" || missing+=("$package")
done
if [ "${#missing[@]}" -eq 0 ]; then
  echo "All ${#packages[@]} packages are there."
  exit 0
fi

as_root=()
if [ "$(id -u)" -ne 0 ]; then
  command -v sudo >/dev/null ||
    refuse "not run as root and there is no sudo. As root: apt-get install ${missing[*]}"
  as_root=(sudo)
fi

# Another installation may hold the lock for a while; a mirror may hiccup.
apt() {
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -qq -y \
    -o DPkg::Lock::Timeout=600 -o Acquire::Retries=3 "$@"
}

echo "Installing ${#missing[@]} packages: ${missing[*]}"
log=$(mktemp)
trap 'rm -f "$log"' EXIT
if ! { apt update && apt install --no-install-recommends "${missing[@]}"; } >"$log" 2>&1; then
  cat "$log" >&2
  refuse "apt-get could not install: ${missing[*]}"
fi
echo "Done."

#!/usr/bin/env bash
# Builds the Debian packages foundling and foundlingd into build/packages/. The same source gives
# the same bytes: the time in them is SOURCE_DATE_EPOCH, by default that of the last commit.
set -euo pipefail
cd "$(dirname "$0")/../.."

case "${1:-}" in
  "") ;;
  *)
    echo "Usage: tools/package/build.sh"
    echo
    echo "Builds the Debian packages into build/packages/. Needs tools/install-packages.sh --build and dpkg-dev."
    [ "$1" = --help ] || [ "$1" = -h ] && exit 0
    exit 2
    ;;
esac

SOURCE_DATE_EPOCH=${SOURCE_DATE_EPOCH:-$(git log -1 --format=%ct 2>/dev/null || echo 0)}
export SOURCE_DATE_EPOCH
build=${BUILD_FOLDER:-build/package}
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release -DCMAKE_INSTALL_PREFIX=/usr
cmake --build "$build" -j "$(nproc)"
packages=${PACKAGE_FOLDER:-$PWD/build/packages}
mkdir -p "$packages"
cpack --config "$build/CPackConfig.cmake" -G DEB -B "$packages"
rm -rf "$packages/_CPack_Packages"
ls -l "$packages"/*.deb

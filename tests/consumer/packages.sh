#!/bin/sh
# SPDX-License-Identifier: MIT
# Debian packages, as lintian sees them and as they run: sh tests/consumer/packages.sh BUILD_FOLDER
set -eu
cd "$(dirname "$0")/../.."
mkdir -p "$1"
build=$(CDPATH='' cd -- "$1" && pwd)
cmake -S . -B "$build" -DCMAKE_INSTALL_PREFIX=/usr -DCM_ZSH_DIR=share/zsh/vendor-completions >"$build/log"
cmake --build "$build" -j"$(nproc)" >"$build/log"
rm -rf "$build"/*.deb "$build/root"
(cd "$build" && cpack -G DEB >log)
[ "$(find "$build" -maxdepth 1 -name '*.deb' | wc -l)" -eq 3 ]
lintian --fail-on error "$build"/*.deb
for package in "$build"/*.deb; do dpkg -x "$package" "$build/root"; done
"$build/root/usr/bin/countermass" solve "$build/root/usr/share/doc/countermass/examples/turbine-generator.yaml" |
    grep -q 'WHAT TO MOUNT'
test -f "$build/root/usr/share/man/man1/countermass.1.gz"
find "$build/root/usr/lib" -name 'libcountermass.so.*' | grep -q .
echo "Debian packages: lintian finds no error"

#!/bin/sh
# SPDX-License-Identifier: MIT
# Debian packages, built as README.md says, as lintian sees them and as they run: sh tests/consumer/packages.sh BUILD_FOLDER
set -eu
cd "$(dirname "$0")/../.."
mkdir -p "$1"
build=$(CDPATH='' cd -- "$1" && pwd)
cmake -S . -B "$build" >"$build/log"
cmake --build "$build" -j"$(nproc)" >"$build/log"
rm -rf "${build:?}"/*.deb "$build/root"

# Without one of the tools cpack says which package is missing. It looks beyond PATH, so its script is asked by itself.
mkdir -p "$build/few"
cmake=$(command -v cmake)
for tool in file dpkg-shlibdeps; do
    rm -f "$build/few"/*
    for other in file dpkg-shlibdeps; do
        [ "$other" = "$tool" ] || ln -s "$(command -v "$other")" "$build/few"
    done
    if PATH=$build/few "$cmake" -DCPACK_GENERATOR=DEB -P cmake/package_tools.cmake 2>"$build/log"; then exit 1; fi
    tr -s '[:space:]' ' ' <"$build/log" | grep -q "need $tool, which is not installed: apt-get install file dpkg-dev"
done
grep -q 'PROJECT_CONFIG_FILE.*package_tools.cmake' "$build/CPackConfig.cmake"

(cd "$build" && cpack -G DEB >log)
[ "$(find "$build" -maxdepth 1 -name '*.deb' | wc -l)" -eq 3 ]
# cpack calls ldconfig in postinst and postrm, beside the trigger that policy asks for: once too often, harmless.
lintian --fail-on warning --suppress-tags maintscript-calls-ldconfig "$build"/*.deb
for package in "$build"/*.deb; do dpkg -x "$package" "$build/root"; done
dpkg -I "$build"/countermass_*.deb | grep -q '^ Depends: .*libc6'
"$build/root/usr/bin/countermass" solve "$build/root/usr/share/doc/countermass/examples/turbine-generator.yaml" |
    grep -q 'WHAT TO MOUNT'
test -f "$build/root/usr/share/man/man1/countermass.1.gz"
test -f "$build/root/usr/share/zsh/vendor-completions/_countermass"
test ! -e "$build/root/usr/share/zsh/site-functions"
for package in countermass libcountermass0.1 libcountermass-dev; do
    test -f "$build/root/usr/share/doc/$package/copyright"
done
libdir=$build/root/usr/lib/$(dpkg-architecture -qDEB_HOST_MULTIARCH)
test -f "$libdir/libcountermass.a"
PKG_CONFIG_PATH=$libdir/pkgconfig pkg-config --exists countermass
find "$libdir" -name 'libcountermass.so.*' | grep -q .
echo "Debian packages: lintian finds no error and no warning"

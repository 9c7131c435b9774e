#!/bin/sh
# SPDX-License-Identifier: MIT
# The installed library as an outsider meets it: sh tests/consumer/installed.sh BUILD_FOLDER
# Installs into a prefix that is removed again; builds the programs beside this script with pkg-config and with
# find_package; a version that is too new must be refused; Python calls the library through ctypes.
set -eu
build=$(CDPATH='' cd -- "$1" && pwd)
cd "$(dirname "$0")"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
prefix=$work/prefix
export CFLAGS='-std=c17 -Wall -Wextra -Wpedantic -Werror' CXXFLAGS='-std=c++17 -Wall -Wextra -Wpedantic -Werror'

refused() {
    if "$@" >"$work/refused" 2>&1; then
        echo "not refused: $*" >&2
        exit 1
    fi
}

cmake --install "$build" --prefix "$prefix" >"$work/log" || { cat "$work/log"; exit 1; }
library=$(find "$prefix/lib" -name libcountermass.so)
libdir=$(dirname "$library")
version=$("$prefix/bin/countermass" --version | sed 's/.* //')

# Only public functions are visible, in both libraries nothing without the prefix.
nm -D --defined-only "$library" | awk '{print $3}' | sort >"$work/visible"
cat "$prefix"/include/countermass/*.h | tr '\n' ' ' | grep -o 'CM_API [^(;]*(' | grep -o 'cm_[a-z_]*(' | tr -d '(' | sort >"$work/public"
diff "$work/public" "$work/visible"
if nm -g --defined-only "$libdir/libcountermass.a" | awk 'NF == 3 {print $3}' | grep -iv '^cm_'; then exit 1; fi
readelf -d "$library" | grep -q "SONAME.*libcountermass.so.${version%.*}"
if readelf -d "$library" | grep -E 'RPATH|RUNPATH'; then exit 1; fi

# pkg-config
PKG_CONFIG_PATH=$libdir/pkgconfig
export PKG_CONFIG_PATH
[ "$(pkg-config --modversion countermass)" = "$version" ]
refused pkg-config --exists "countermass > $version"
# shellcheck disable=SC2046,SC2086 # the flags are words
{
    gcc $CFLAGS embed.c -o "$work/embed_c" $(pkg-config --cflags --libs countermass) -lm
    g++ $CXXFLAGS embed.cpp -o "$work/embed_cpp" $(pkg-config --cflags --libs countermass) -pthread
}
LD_LIBRARY_PATH=$libdir "$work/embed_c" >"$work/c.out"

# find_package, shared and static
cmake -S . -B "$work/found" -DCMAKE_PREFIX_PATH="$prefix" >"$work/log" 2>&1 || { cat "$work/log"; exit 1; }
cmake --build "$work/found" >"$work/log" 2>&1 || { cat "$work/log"; exit 1; }
"$work/found/embed_c" | diff "$work/c.out" -
"$work/found/embed_static" | diff "$work/c.out" -
refused cmake -S . -B "$work/newer" -DCMAKE_PREFIX_PATH="$prefix" -DWANTED=999.0
grep -q 'compatible with requested version "999.0"' "$work/refused"

# C++ gives what the program gives, on as many threads as there are cases.
set -- "$prefix"/share/doc/countermass/examples/*.yaml
for case in "$@"; do
    "$prefix/bin/countermass" solve --format json "$case" || [ $? -eq 1 ]
done >"$work/program.json" 2>"$work/messages"
for run in "$work/found/embed_cpp" "$work/embed_cpp"; do
    LD_LIBRARY_PATH=$libdir OPENBLAS_NUM_THREADS=1 "$run" "$@" >"$work/cpp.json"
    /usr/bin/python3 same_numbers.py "$work/program.json" "$work/cpp.json"
done

/usr/bin/python3 embed.py "$library" >"$work/python.out"
[ -s "$work/c.out" ] && [ -s "$work/python.out" ]

# Manual and completions are there and say nothing wrong.
gzip -dc "$prefix/share/man/man1/countermass.1.gz" | groff -man -ww -Tutf8 -P-cbou >"$work/manual" 2>"$work/warnings"
[ ! -s "$work/warnings" ] || { cat "$work/warnings"; exit 1; }
grep -q 'countermass solve \[option ...\] case ...' "$work/manual"
bash -n "$prefix/share/bash-completion/completions/countermass"
echo "installed library: C, C++, Python; pkg-config and find_package; version $version"

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
# shellcheck disable=SC2046,SC2086
gcc -static $CFLAGS embed.c -o "$work/embed_alone" $(pkg-config --static --cflags --libs countermass)
"$work/embed_alone" | diff "$work/c.out" -
if readelf -d "$work/embed_alone" | grep NEEDED; then exit 1; fi

# find_package, shared and static
cmake -S . -B "$work/found" -DCMAKE_PREFIX_PATH="$prefix" >"$work/log" 2>&1 || { cat "$work/log"; exit 1; }
cmake --build "$work/found" >"$work/log" 2>&1 || { cat "$work/log"; exit 1; }
"$work/found/embed_c" | diff "$work/c.out" -
"$work/found/embed_static" | diff "$work/c.out" -
refused cmake -S . -B "$work/newer" -DCMAKE_PREFIX_PATH="$prefix" -DWANTED=999.0
grep -q 'compatible with requested version "999.0"' "$work/refused"
grep -q 'version: .* (older than wanted)' "$work/refused"

# find_package, what else may be asked: ask WORDS OF FIND_PACKAGE [OPTION ...]
mkdir "$work/asking"
ask() {
    # shellcheck disable=SC2016 # the dollars are text
    printf 'cmake_minimum_required(VERSION 3.25)\nproject(asking LANGUAGES C)\nfind_package(countermass %s)\n%s\n' \
        "$1" 'message("shared ${countermass_shared_FOUND} static ${countermass_static_FOUND}")' >"$work/asking/CMakeLists.txt"
    shift
    rm -rf "$work/asking/build"
    cmake -S "$work/asking" -B "$work/asking/build" -DCMAKE_PREFIX_PATH="$prefix" "$@"
}
next=$(echo "$version" | awk -F. '{print $1 "." $2 + 1}')
says() {
    tr -s '[:space:]' ' ' <"$work/refused" | grep -qF "$1" || { echo "not said: $1" >&2; cat "$work/refused" >&2; exit 1; }
}
ask "${version%.*}...$next REQUIRED COMPONENTS shared static" >"$work/log" 2>&1 || { cat "$work/log"; exit 1; }
grep -q 'shared TRUE static TRUE' "$work/log"
refused ask "$next...9 REQUIRED"
says '(outside the wanted range)'
refused ask "REQUIRED COMPONENTS statics"
says 'no component statics, only shared and static'
# Without pkg-config or without a library: the shared one is there all the same.
ask REQUIRED -DPKG_CONFIG_EXECUTABLE=/none >"$work/log" 2>&1 || { cat "$work/log"; exit 1; }
grep -q 'no countermass::static, which needs these to be installed: pkg-config' "$work/log"
grep -q 'shared TRUE static $' "$work/log"
refused ask "REQUIRED COMPONENTS static" -DPKG_CONFIG_EXECUTABLE=/none
says 'no countermass::static, which needs these to be installed: pkg-config'
(
    export PKG_CONFIG_LIBDIR="$work/none"
    refused ask "REQUIRED COMPONENTS static"
)
says 'openblas.pc, lapacke.pc, yaml-0.1.pc'

# A library folder that is an absolute path stays one.
cmake -S ../.. -B "$work/absolute" -DCMAKE_INSTALL_PREFIX=/opt/abs -DCMAKE_INSTALL_LIBDIR=/opt/lib >"$work/log"
[ "$(PKG_CONFIG_PATH=$work/absolute pkg-config --variable=libdir countermass)" = /opt/lib ]
[ "$(PKG_CONFIG_PATH=$work/absolute pkg-config --variable=includedir countermass)" = /opt/abs/include ]

# Documents and examples: links lead somewhere, the schema is where the cases say; the notices of what is linked in.
(
    cd "$prefix/share/doc/countermass"
    grep -oHE '\]\([^)# ]+' -r --include='*.md' . | grep -v '://' | sed 's/:](/ /' | while read -r page link; do
        [ -e "$(dirname "$page")/$link" ] || { echo "$page: $link is not installed" >&2; exit 1; }
    done
    grep -oH 'schema=.*' -r examples | sed 's/:schema=/ /' | while read -r example link; do
        cmp "$(dirname "$example")/$link" "$prefix/share/countermass/case-schema.json"
    done
    [ "$(grep -l 'schema=' examples/*.yaml | wc -l)" -gt 5 ]
    for holder in 'OpenBLAS Project' 'University of Texas' 'University of Tennessee' 'Intel Corp'; do
        grep -q "^ *\(Copyright:\)\? *[0-9, -]*The $holder\|^Copyright: [0-9-]* $holder" copyright
    done
)
[ "$(cd "$prefix" && find . -name copyright -o -name 'changelog*')" = ./share/doc/countermass/copyright ]

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

# Manual and completions are there and say nothing wrong; the files that the manual names are there.
gzip -dc "$prefix/share/man/man1/countermass.1.gz" | groff -man -ww -Tutf8 -P-cbou >"$work/manual" 2>"$work/warnings"
[ ! -s "$work/warnings" ] || { cat "$work/warnings"; exit 1; }
gzip -dc "$prefix/share/man/man1/countermass.1.gz" | sed -n 's,\\-,-,g; s,^\.I PREFIX/,,p' | while read -r file; do
    [ -e "$prefix/$file" ] || { echo "the manual names $file" >&2; exit 1; }
done
grep -q 'countermass solve \[option ...\] case ...' "$work/manual"
bash -n "$prefix/share/bash-completion/completions/countermass"
echo "installed library: C, C++, Python; pkg-config and find_package; version $version"

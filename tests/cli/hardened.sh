#!/bin/sh
# SPDX-License-Identifier: MIT
# usage: hardened.sh PROGRAM
# What the linker made of the hardened flags, of the program and of the library beside it; and that neither the program
# nor the library can start another program or a shell.
set -eu
program=$1
library=$(dirname "$program")/libcountermass.so
failed=0

expect() {
    if ! printf '%s\n' "$3" | grep -Eq "$2"; then
        echo "$1: nothing like $2"
        failed=1
    fi
}

refuse() {
    if printf '%s\n' "$3" | grep -Ew "$2"; then
        echo "$1: this should not be there"
        failed=1
    fi
}

for file in "$program" "$library"; do
    facts=$(readelf -lWd "$file")
    symbols=$(readelf -Ws --dyn-syms "$file")
    expect "$file" 'GNU_RELRO' "$facts"
    expect "$file" 'BIND_NOW|Flags:.*NOW' "$facts"
    expect "$file" 'GNU_STACK .* RW ' "$facts"
    expect "$file" '__stack_chk_fail' "$symbols"
    expect "$file" '__[a-z]*_chk' "$(printf '%s\n' "$symbols" | grep -v __stack_chk_fail)"
    refuse "$file" 'RWE' "$facts"
    refuse "$file" 'TEXTREL' "$facts"
    # What the program itself would need to start another one; OpenBLAS and the C library may have it inside.
    refuse "$file" '(system|popen|exec[lv]p?e?|execveat|posix_spawnp?|wordexp)(@.*)?' \
        "$(printf '%s\n' "$symbols" | grep ' UND ')"
done
expect "$program" 'DYN .*(Position|Shared)|Type:.*DYN' "$(readelf -h "$program")"
expect "$program" 'Flags:.*PIE' "$(readelf -dW "$program")"

if grep -nE '\b(system|popen|exec[lv]p?e?|posix_spawnp?|wordexp|fork|dlopen)[[:space:]]*\(' engine/*/*.c cli/*.c; then
    echo "the sources start other programs"
    failed=1
fi
exit $failed

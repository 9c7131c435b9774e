#!/bin/sh
# SPDX-License-Identifier: MIT
# Static checks: sh tests/static.sh [BUILD_FOLDER]
# Format, headers by themselves, shell scripts, cases; with a build folder (compile_commands.json) also cppcheck and
# clang-tidy, which take minutes.
set -eu
cd "$(dirname "$0")/.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# In a clone the files of the repository, in an unpacked archive all there are.
files() {
    git ls-files -- "$@" 2>/dev/null || find . -name "${1##*/}" -not -path './build*'
}

files '*.c' '*.h' '*.cpp' >"$work/sources"
xargs clang-format --dry-run -Werror <"$work/sources"
echo "format: $(wc -l <"$work/sources") files"

# Every header compiles alone: the public ones as C and C++, the others as C.
count=0
for header in include/*.h include/countermass/*.h; do
    gcc -std=c17 -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Werror -Iinclude -fsyntax-only -x c "$header"
    g++ -std=c++17 -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Werror -Iinclude -fsyntax-only -x c++ "$header"
    count=$((count + 1))
done
for header in engine/*/*.h cli/*.h; do
    gcc -std=c17 -Wall -Wextra -Werror -D_POSIX_C_SOURCE=200809L -Iengine -Iinclude -fsyntax-only -x c "$header"
    count=$((count + 1))
done
echo "headers: $count stand alone"

# Messages go through cli_say(), which makes them harmless; progress begins with a carriage return.
if grep -nE 'f(printf|puts)\((stderr|messages),|fputs\(.*stderr\)' cli/*.c | grep -vE '"\\r|fputs\(o->messages, stderr\)'; then
    echo "the lines above write to standard error past cli_say()"
    exit 1
fi

files '*.sh' >"$work/scripts"
xargs shellcheck -x .ci/run <"$work/scripts"
echo "shellcheck: $(wc -l <"$work/scripts") scripts"
yamllint -s cases
echo "yamllint: cases"

[ $# -gt 0 ] || exit 0
# C fixes the layout of a complex number; cppcheck does not know that (objectIndex).
cppcheck --quiet --std=c11 --enable=warning,performance,portability --inline-suppr --suppress=objectIndex \
    --suppress=missingIncludeSystem -D__GNUC__=12 -j"$(nproc)" -Iengine -Iinclude --error-exitcode=1 engine cli
echo "cppcheck: nothing"
find engine cli -name '*.c' -print0 | xargs -0 -P "$(nproc)" -n 4 clang-tidy -p "$1" --quiet >"$work/tidy" 2>&1 ||
    { cat "$work/tidy"; exit 1; }
echo "clang-tidy: nothing"

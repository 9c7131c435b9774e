#!/bin/sh
# The fast tests: installs what is missing (as root), builds with gcc and with
# the sanitizers, runs everything. Under ten minutes on a bare machine.
# Longer work (clang, valgrind, coverage, studies) is in tests/long.sh.
set -eu
cd "$(dirname "$0")/.."
. tests/packages.sh
need_build
need_tests
need clang libclang-rt-14-dev binutils strace locales
PYTHON=/usr/bin/python3
jobs=$(nproc)
build=${BUILD_DIR:-build}
passed=0
: >"$build.outputs"

# Shows what a step prints and keeps it for the table of checks against the outside.
step() {
    echo "== $1"
    shift
    rm -f "$build.held"
    { "$@" && : >"$build.held"; } 2>&1 | tee -a "$build.outputs"
    [ -f "$build.held" ] || exit 1
    passed=$((passed + 1))
}

build_with() {
    folder=$1
    shift
    cmake -S . -B "$folder" -DCM_TESTS=ON -DCM_WERROR=ON "$@" >"$folder.log" 2>&1 ||
        { cat "$folder.log"; return 1; }
    cmake --build "$folder" -j"$jobs" >"$folder.log" 2>&1 || { cat "$folder.log"; return 1; }
}

unit_tests() {
    (cd "$1" && ctest --no-tests=error --output-on-failure -j"$jobs")
}

step "which room includes which" "$PYTHON" tests/includes.py
step "format, headers, shell scripts, cases" sh tests/static.sh
step "build (gcc, warnings are errors)" build_with "$build"
step "unit tests" unit_tests "$build"
program=$PWD/$build/countermass
for script in tests/published/*.sh tests/cli/*.sh; do
    if [ -f "$script" ]; then step "$script" sh "$script" "$program"; fi
done
for script in tests/reference/test_*.py tests/cli/test_*.py tests/property/test_*.py; do
    if [ -f "$script" ]; then step "$script" "$PYTHON" "$script" "$program"; fi
done
step "faults: every kind of call that can fail" "$PYTHON" tests/fail/test_faults.py "$build/tests/fail/faults"
step "numbers: same bits, any locale, no NaN" "$PYTHON" tests/fail/test_numbers.py "$build/tests/fail/faults" "$program"
step "nothing outside the case's folder" "$PYTHON" tests/fail/test_outside.py "$program"
step "places that refuse: full disk, closed pipe, signals" "$PYTHON" tests/fail/test_places.py "$program"
step "installed library, outside programs" sh tests/consumer/installed.sh "$build"
step "the report in a browser" sh tests/browser/run.sh "$program"
step "build (clang, address and undefined-behaviour sanitizers, fuzz targets)" build_with "$build-sanitize" \
    -DCMAKE_C_COMPILER=clang -DCM_SANITIZE=ON -DCM_FUZZ=ON -DCMAKE_BUILD_TYPE=Debug \
    "-DCMAKE_C_FLAGS_DEBUG=-O1 -gline-tables-only"
step "unit tests under the sanitizers" unit_tests "$build-sanitize"
step "faults under the sanitizers" "$PYTHON" tests/fail/test_faults.py "$build-sanitize/tests/fail/faults" sanitize
step "fuzzing, a short run that is always the same" "$PYTHON" tests/fuzz/fuzz.py "$build-sanitize/tests/fuzz" short

# Checks against the outside that told of themselves, beside the worked examples. VALIDATION=--write renews the page.
step "docs/validation.md" "$PYTHON" tests/validation.py "$program" "$build.outputs" \
    "$build/Testing/Temporary/LastTest.log" ${VALIDATION:+"$VALIDATION"}

echo "$passed passed, 0 failed"

#!/bin/sh
# SPDX-License-Identifier: MIT
# Lines of engine/ and cli/ that the fast tests run: sh tests/coverage.sh BUILD_FOLDER [--write]
# At least 95 % must. With --write the figures go to docs/reliability.md.
set -eu
cd "$(dirname "$0")/.."
mkdir -p "$1"
build=$(CDPATH='' cd -- "$1" && pwd)
cmake -S . -B "$build" -DCM_TESTS=ON -DCMAKE_BUILD_TYPE=Debug -DCMAKE_C_FLAGS=--coverage >"$build/log"
cmake --build "$build" -j"$(nproc)" >"$build/log" 2>&1 || { cat "$build/log"; exit 1; }
find "$build" -name '*.gcda' -delete

# Whether they pass is seen elsewhere: here they run. Texts that depend on how the program was built do differ.
(cd "$build" && ctest -j"$(nproc)" >"$build/log" 2>&1) || echo "some unit tests failed"
for script in tests/published/*.sh tests/cli/*.sh; do
    sh "$script" "$build/countermass" >"$build/log" 2>&1 || echo "$script: did not pass here"
done
for script in tests/reference/test_*.py tests/cli/test_*.py tests/property/test_*.py; do
    /usr/bin/python3 "$script" "$build/countermass" >"$build/log" 2>&1 || echo "$script: did not pass here"
done
if [ -x "$build/tests/fail/faults" ]; then
    /usr/bin/python3 tests/fail/test_faults.py "$build/tests/fail/faults" >"$build/log" 2>&1 ||
        echo "tests/fail/test_faults.py: did not pass here"
fi

# gcov writes counts below zero for branches that several threads took at the same time.
gcovr --root . --filter engine/ --filter cli/ --gcov-ignore-parse-errors --txt "$build/coverage.txt" \
    --print-summary "$build" 2>/dev/null | grep -E '^(lines|functions|branches)' >"$build/summary"
cat "$build/summary"
if [ "${2:-}" = --write ]; then
    {
        sed '/^<!-- coverage: /,$d' docs/reliability.md
        echo '<!-- coverage: written by tests/coverage.sh -->'
        echo '| | share |'
        echo '| --- | --- |'
        sed 's/^/| /; s/: / | /; s/$/ |/' "$build/summary"
        echo '<!-- end of coverage -->'
        sed '1,/^<!-- end of coverage -->/d' docs/reliability.md
    } >"$build/reliability.md"
    cp "$build/reliability.md" docs/reliability.md
fi
awk '/^lines/ { sub("%", "", $2); exit !($2 >= 95) }' "$build/summary" || { echo "below 95 % of lines"; exit 1; }

#!/bin/sh
# The long tests: clang, valgrind, static analysis, coverage and the studies
# whose figures stand in docs/. Not part of the fast run.
set -eu
cd "$(dirname "$0")/.."
. tests/packages.sh
need_build
need_tests
need clang clang-tidy cppcheck libclang-rt-14-dev valgrind gcovr doxygen lintian file
PYTHON=/usr/bin/python3
out=${BUILD_DIR:-build-long}
mkdir -p "$out"

build_with() {
    folder=$1
    shift
    cmake -S . -B "$folder" -DCM_TESTS=ON -DCMAKE_EXPORT_COMPILE_COMMANDS=ON "$@" >"$folder.log" 2>&1 ||
        { cat "$folder.log"; return 1; }
    cmake --build "$folder" -j"$(nproc)" >"$folder.log" 2>&1 || { cat "$folder.log"; return 1; }
}

echo "== gcc with the sanitizers"
build_with "$out/gcc-sanitize" -DCM_WERROR=ON -DCM_SANITIZE=ON -DCMAKE_BUILD_TYPE=Debug
(cd "$out/gcc-sanitize" && ctest --no-tests=error --output-on-failure)

echo "== clang, warnings are errors, with the sanitizers; long fuzzing (FUZZ_RUNS executions a target)"
build_with "$out/clang" -DCMAKE_C_COMPILER=clang -DCM_WERROR=ON -DCM_SANITIZE=ON -DCM_FUZZ=ON -DCMAKE_BUILD_TYPE=Debug \
    "-DCMAKE_C_FLAGS_DEBUG=-O2 -g"
(cd "$out/clang" && ctest --no-tests=error --output-on-failure)
for target in values csv case record command structured; do
    "$PYTHON" tests/fuzz/fuzz.py "$out/clang/tests/fuzz" long "$target" "${FUZZ_RUNS:-100000}"
done

echo "== faults: every call that can fail, on every command"
build_with "$out/plain" -DCMAKE_BUILD_TYPE=Debug
"$PYTHON" tests/fail/test_faults.py "$out/plain/tests/fail/faults" long
"$PYTHON" tests/fail/test_faults.py "$out/clang/tests/fail/faults" short

echo "== static checks"
sh tests/static.sh "$out/clang"

echo "== threads"
build_with "$out/threads" -DCMAKE_BUILD_TYPE=RelWithDebInfo -DCM_TESTS=OFF -DCMAKE_C_FLAGS=-fsanitize=thread \
    -DCMAKE_EXE_LINKER_FLAGS=-fsanitize=thread -DCMAKE_SHARED_LINKER_FLAGS=-fsanitize=thread
for command in solve check planes verify; do
    TSAN_OPTIONS=exitcode=66 "$out/threads/countermass" "$command" --jobs 4 cases/demo/*.yaml cases/published/t*.yaml \
        >/dev/null 2>"$out/threads.messages" || [ $? -le 2 ] || { cat "$out/threads.messages"; exit 1; }
done
echo "ThreadSanitizer: nothing"

echo "== Debian packages"
sh tests/consumer/packages.sh "$out/debian"

echo "== reference of the library"
doxygen docs/Doxyfile
echo "doxygen: no warnings"

echo "== valgrind"
for test in "$out"/plain/tests/test_*; do
    [ -x "$test" ] && valgrind --quiet --error-exitcode=9 --leak-check=full "$test" >/dev/null
done
for case in cases/demo/*.yaml; do
    status=0
    valgrind --quiet --error-exitcode=9 --leak-check=full "$out/plain/countermass" solve "$case" >/dev/null ||
        status=$?
    [ "$status" -ne 9 ]
done

echo "== coverage of engine/ and cli/"
sh tests/coverage.sh "$out/coverage"
program=$PWD/$out/plain/countermass

for study in tests/reference/study_*.py; do
    if [ -f "$study" ]; then
        echo "== $study"
        "$PYTHON" "$study" "$program"
    fi
done

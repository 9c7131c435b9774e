#!/bin/sh
# Installs what is missing (as root), builds, and runs the main job on the demo case.
set -eu
cd "$(dirname "$0")/.."
. tests/packages.sh
need_build
cmake -S . -B build >build.log 2>&1 || { cat build.log; exit 3; }
cmake --build build -j"$(nproc)" >build.log 2>&1 || { cat build.log; exit 3; }
rm -f build.log
case=cases/demo/turbine-generator.yaml
echo "countermass solve $case"
echo
status=0
build/countermass solve "$case" || status=$?
echo
echo "The case is $case; change it and run: build/countermass solve $case"
exit $status

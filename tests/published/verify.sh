#!/bin/sh
# SPDX-License-Identifier: MIT
# The worked examples give their published numbers, and one told a wrong number fails.
set -eu
program=$1
cases=$(dirname "$0")/../../cases/published
"$program" verify "$cases"/*.yaml

# A copy of another case would count one check twice.
twice=$(for file in "$cases"/*.yaml; do grep -v '^#' "$file" | cksum; done | sort | uniq -d)
[ -z "$twice" ] || { echo "two worked examples are the same case (cksum $twice)"; exit 1; }

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
sed 's/mass: 10\.0561/mass: 10.0661/' "$cases/turbine-two-planes.yaml" >"$work/wrong.yaml"
if cmp -s "$cases/turbine-two-planes.yaml" "$work/wrong.yaml"; then
    echo "the example no longer holds the number this test spoils"
    exit 1
fi
status=0
"$program" verify "$work/wrong.yaml" >"$work/out" || status=$?
[ "$status" -eq 1 ] || { echo "a wrong number passed (exit $status)"; cat "$work/out"; exit 1; }
echo "the worked examples hold; a wrong number is noticed"

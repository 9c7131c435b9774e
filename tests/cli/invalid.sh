#!/bin/sh
# Every case in cases/invalid/ breaks one rule and names, on its first line, the place and a part of the message
# that must come: `# expect: LINE:COLUMN: text`. `check` must exit 2, print nothing on standard output, and say it.
# usage: invalid.sh [PROGRAM]
set -eu
cd "$(dirname "$0")/../.."
program=${1:-build/countermass}
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
failed=0 ran=0

fail() {
    echo "FAILED $1: $2"
    sed 's/^/    /' "$scratch/err"
    failed=$((failed + 1))
}

for file in cases/invalid/*.yaml; do
    ran=$((ran + 1))
    expected=$(sed -n '1s/^# expect: //p' "$file")
    place=$(printf '%s\n' "$expected" | cut -d: -f1,2)
    text=$(printf '%s\n' "$expected" | cut -d: -f3- | sed 's/^ //')
    status=0
    "$program" check "$file" >"$scratch/out" 2>"$scratch/err" || status=$?
    if [ "$status" -ne 2 ]; then
        fail "$file" "exit status $status, not 2"
    elif [ -s "$scratch/out" ]; then
        fail "$file" "something on standard output"
    elif [ -z "$text" ] || ! grep -F -- "$file:$place: " "$scratch/err" | grep -qF -- "$text"; then
        fail "$file" "expected $place: $text"
    fi
done
echo "$ran wrong cases, $failed failures"
[ "$ran" -ge 60 ] && [ "$failed" -eq 0 ]

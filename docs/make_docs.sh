#!/bin/sh
# SPDX-License-Identifier: MIT
# Puts real output of the program into the documents.
#
#     sh docs/make_docs.sh PROGRAM [--check]
#
# Between the marker lines
#     <!-- output of: ARGUMENTS -->
#     <!-- end of output -->
# of README.md and docs/*.md stands what PROGRAM prints for ARGUMENTS (quoted as in
# a shell), run in the top folder; of ARGUMENTS ## HEADING ## HEADING only these
# sections. Between
#     <!-- source: FILE -->
#     <!-- end of source -->
# stands that file as it is. With --check nothing is written; the exit status is 1
# when a document is not what it should be.
set -eu
program=$(CDPATH='' cd -- "$(dirname "$1")" && pwd)/$(basename "$1")
check=${2:-}
cd "$(dirname "$0")/.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
stale=0
blocks=0

# Of standard input the sections whose headings follow " ## " in $1: after a blank line, the first word in capitals.
sections() {
    awk -v wanted="$1 ## " '
        last == "" && /^[A-Z][A-Z]+( |$)/ { inside = index(wanted, " ## " $0 " ## ") > 0; found += inside }
        { last = $0 }
        inside { if ($0 == "") blank = 1; else { if (blank && printed) print ""; print; printed = 1; blank = 0 } }
        END { if (!found) exit 1 }'
}

# Prints what belongs between the markers.
show() {
    echo '```text'
    status=0
    eval "NO_COLOR=1 \"\$program\" ${1%%' ## '*}" >"$work/page" 2>"$work/errors" || status=$?
    [ "$status" -le 1 ] || { cat "$work/errors" >&2; exit 3; }
    case $1 in
    *' ## '*) sections "$1" <"$work/page" || { echo "no such section: $1" >&2; exit 3; } ;;
    *) cat "$work/page" ;;
    esac
    echo '```'
}

# Prints a source file as a block.
quote() {
    case $1 in
    *.c) echo '```c' ;;
    *.cpp) echo '```cpp' ;;
    *.py) echo '```python' ;;
    *CMakeLists.txt) echo '```cmake' ;;
    *) echo '```text' ;;
    esac
    cat "$1"
    echo '```'
}

# Copies standard input with every block between markers made again.
renew() {
    inside=0
    while IFS= read -r line; do
        case $line in
        '<!-- output of: '*' -->')
            inside=1
            echo "$line"
            command=${line#'<!-- output of: '}
            show "${command%' -->'}"
            ;;
        '<!-- source: '*' -->')
            inside=1
            echo "$line"
            file_name=${line#'<!-- source: '}
            quote "${file_name%' -->'}"
            ;;
        '<!-- end of output -->' | '<!-- end of source -->') inside=0 && echo "$line" ;;
        *) [ "$inside" -eq 1 ] || printf '%s\n' "$line" ;;
        esac
    done
}

for file in README.md docs/*.md docs/theory/*.md; do
    if ! grep -Eqs '^<!-- (output of|source): ' "$file"; then continue; fi
    blocks=$((blocks + $(grep -Ec '^<!-- (output of|source): ' "$file")))
    renew <"$file" >"$work/new"
    cmp -s "$work/new" "$file" && continue
    stale=$((stale + 1))
    if [ -n "$check" ]; then
        echo "$file is stale; run: sh docs/make_docs.sh build/countermass" >&2
        diff "$file" "$work/new" | head -10 >&2 || true
    else
        cp "$work/new" "$file"
        echo "renewed $file"
    fi
done
"$program" schema >"$work/new"
if ! cmp -s "$work/new" cases/schema.json; then
    stale=$((stale + 1))
    if [ -n "$check" ]; then
        echo "cases/schema.json is stale; run: sh docs/make_docs.sh build/countermass" >&2
    else
        cp "$work/new" cases/schema.json
        echo "renewed cases/schema.json"
    fi
fi
# The picture of the report needs a browser; tests/browser compares it.
if [ -z "$check" ] && command -v chromium >/dev/null && command -v npm >/dev/null; then
    sh tests/browser/run.sh "$program" --picture
fi
echo "outputs in documents: $blocks blocks, $stale documents were stale"
[ -z "$check" ] || [ "$stale" -eq 0 ]

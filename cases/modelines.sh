#!/bin/sh
# SPDX-License-Identifier: MIT
# Adds the line that tells editors which schema a case keeps, where it is missing.
set -eu
cd "$(dirname "$0")"
# shellcheck disable=SC2016 # the dollar is text
line='# yaml-language-server: $schema=../schema.json'
for file in */*.yaml; do
    if grep -q '^record:' "$file" || grep -qxF "$line" "$file"; then continue; fi
    printf '%s\n' "$line" >>"$file"
    echo "$file"
done

#!/bin/sh
# SPDX-License-Identifier: MIT
# The outputs shown in the documents are what the program prints today.
set -eu
exec sh "$(dirname "$0")/../../docs/make_docs.sh" "$1" --check

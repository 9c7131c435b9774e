#!/bin/sh
# SPDX-License-Identifier: MIT
# The report in a browser: installs Chromium (Debian) and, into the build
# folder, the driver and the accessibility rules (npm), then runs the tests, or
# makes the picture of the report that README.md shows.
#
#     sh tests/browser/run.sh build/countermass [--picture]
set -eu
program=$(CDPATH='' cd -- "$(dirname "$1")" && pwd)/$(basename "$1")
cd "$(dirname "$0")/../.."
. tests/packages.sh
need chromium fonts-dejavu-core
command -v npm >/dev/null || need nodejs npm
modules=$(dirname "$program")/browser
if ! cmp -s tests/browser/package-lock.json "$modules/package-lock.json" || [ ! -f "$modules/installed" ]; then
    mkdir -p "$modules"
    cp tests/browser/package.json tests/browser/package-lock.json "$modules"
    (cd "$modules" && npm ci --no-audit --no-fund --ignore-scripts >npm.log 2>&1) ||
        { cat "$modules/npm.log" >&2; echo "npm could not fetch what tests/browser/package-lock.json names" >&2; exit 3; }
    touch "$modules/installed"
fi
export NODE_PATH="$modules/node_modules"
if [ "${2:-}" = --picture ]; then
    exec node tests/browser/picture.js "$program" docs/pictures/report.png
fi
exec node tests/browser/test_report.js "$program"

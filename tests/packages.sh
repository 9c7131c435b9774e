# shellcheck shell=sh
# Sourced by tests/run.sh and cases/demo.sh: need PACKAGE... makes sure that
# Debian packages are there. As root it installs what is missing; otherwise it
# prints the one line to run and leaves with status 3.

need() {
    missing=
    for package in "$@"; do
        dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' ||
            missing="$missing $package"
    done
    [ -z "$missing" ] && return 0
    if [ "$(id -u)" -ne 0 ]; then
        echo "Packages are missing. Run as root: apt-get install$missing" >&2
        exit 3
    fi
    echo "Installing$missing ..." >&2
    export DEBIAN_FRONTEND=noninteractive
    log=$(mktemp)
    # shellcheck disable=SC2086 # one word per package
    { apt-get update -qq && apt-get install -y -qq --no-install-recommends $missing; } >"$log" 2>&1 ||
        { cat "$log" >&2; rm -f "$log"; echo "The packages could not be installed:$missing" >&2; exit 3; }
    rm -f "$log"
}

# What it takes to build the library and the program.
need_build() {
    need gcc make cmake pkg-config libc6-dev liblapacke-dev libopenblas-pthread-dev libyaml-dev
}

# What the fast tests need beside it: unit tests, reference solvers, an independent JSON reader.
need_tests() {
    need g++ libgfortran-12-dev groff-base parallel clang-format shellcheck yamllint libcunit1-dev python3 python3-numpy python3-scipy python3-yaml python3-cvxopt python3-jsonschema glpk-utils
}

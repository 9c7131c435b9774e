#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""`place` against GLPK on the same choice as a mixed-integer linear programme (place_programme.py).

With the sizes of phasors replaced by regular polygons of n sides the programme's optimum g is a lower bound on the true
one, and the true one is at most g / cos(pi/n). The choice GLPK makes is valued here with true sizes: it cannot beat the
program's. GLPK is run with the Debian package glpk-utils.

usage: test_place_glpk.py [PROGRAM]
"""
import importlib.util
import math
import pathlib
import sys
import tempfile

import place_programme as programme
from outside import outside

SIDES = 24
ROOT = pathlib.Path(__file__).resolve().parents[2]


def bench():
    """The cases of the bench."""
    spec = importlib.util.spec_from_file_location("place_bench", ROOT / "tests/bench/place.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def true_value(case, chosen):
    total = [0j] * len(case["planes"])
    for name, j, _, _, mass in programme.variables(case):
        if name in chosen:
            total[j] += mass
    return max(w * abs(y + sum(a * x for a, x in zip(row, total))) for w, y, row in programme.rows_of(case))


def main():
    make = bench()
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(4):
            case = make.case(seed, 2, 8 + 2 * (seed % 2), 3, 1, "min-max", most=2)
            _, result = make.timed(case, folder)
            value = result["objective"]["value"]
            found = programme.solve(case, folder, "glpsol", 30, SIDES)
            reached = true_value(case, found.chosen)
            good = (found.status == "optimal" and found.value <= value * (1 + 1e-6) and
                    value <= found.value / math.cos(math.pi / SIDES) * (1 + 1e-6) and reached >= value * (1 - 1e-9))
            failed += not good
            if not good:
                print(f"FAILED seed {seed}: {found.status}, programme {found.value}, its choice {reached}, place {value}")
    if not failed:
        outside("placement for the largest reading", "GLPK, sizes replaced by polygons of 24 sides", "reference library",
                "between its optimum and that over cos(pi/24); its choice is no better")
    print(f"place against GLPK: 4 cases, {failed} failures")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())

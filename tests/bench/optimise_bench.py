#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Times the optimiser against CVXOPT in one run, one BLAS thread.

Usage: OPENBLAS_NUM_THREADS=1 optimise_bench.py DRIVER
The engine is timed from problem to rechecked answer; CVXOPT from the cone programme, set up beforehand; both
in processor time (other work on the machine must not count for us). Medians.
"""
import os
import pathlib
import statistics
import sys
import time

os.environ["OPENBLAS_NUM_THREADS"] = "1"
sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "reference"))

import numpy as np
from cvxopt import matrix, solvers

import optimise_problems as op

WANTED = {(op.LEAST_SQUARES, 16): 50, (op.LEAST_SQUARES, 48): 20, (op.LEAST_SQUARES, 200): 4,
          (op.MIN_MAX, 16): 50, (op.MIN_MAX, 48): 15, (op.MIN_MAX, 200): 3,
          (op.LEAST_MASS, 16): 15, (op.LEAST_MASS, 48): 5, (op.LEAST_MASS, 200): 2}


def phasors(rng, *shape):
    return rng.normal(size=shape) + 1j * rng.normal(size=shape)


def problem(objective, rows, planes, rng):
    p = op.Problem(objective, phasors(rng, rows), phasors(rng, rows, planes))
    plain = np.linalg.lstsq(p.a, -p.y, rcond=None)[0]
    cap = np.abs(plain).mean()
    p.discs = [(j, 0j, cap) for j in range(planes)]
    if objective == op.LEAST_MASS:
        worst = op.Problem(op.MIN_MAX, p.y, p.a)
        worst.discs = p.discs
        p.limit = np.full(rows, 1.1 * op.reference(worst)[1])
    return p


def capped_as_qp(p):
    """min |y + A x|² with discs as CVXOPT's coneqp takes it: its quickest form."""
    a = np.block([[p.a.real, -p.a.imag], [p.a.imag, p.a.real]])
    y = np.concatenate([p.y.real, p.y.imag])
    g = np.zeros((3 * p.planes, 2 * p.planes))
    h = np.zeros(3 * p.planes)
    for k, (plane, _, radius) in enumerate(p.discs):
        h[3 * k] = radius
        g[3 * k + 1, plane] = g[3 * k + 2, p.planes + plane] = -1
    return dict(P=matrix(a.T @ a), q=matrix(a.T @ y), G=matrix(g), h=matrix(h),
                dims={"l": 0, "q": [3] * p.planes, "s": []})


def time_cvxopt(p, repeats):
    options = {"show_progress": False, "abstol": 1e-8, "reltol": 1e-8, "feastol": 1e-8}
    if p.objective == op.LEAST_SQUARES:
        solve, arguments = solvers.coneqp, capped_as_qp(p)
    else:
        solve, arguments = solvers.conelp, op.as_cvxopt(p)[0]
    times = []
    for _ in range(repeats):
        start = time.process_time()
        solve(**arguments, options=options)
        times.append(time.process_time() - start)
    return statistics.median(times)


def main():
    rng = np.random.default_rng(3)
    print("objective      rows planes   CVXOPT ms   engine ms   ratio  wanted  iterations  gap")
    for objective in (op.LEAST_SQUARES, op.MIN_MAX, op.LEAST_MASS):
        for rows, planes in ((16, 4), (48, 12), (200, 40)):
            problems = [problem(objective, rows, planes, rng) for _ in range(3)]
            answers = op.solve(sys.argv[1], problems, 51 if rows < 200 else 11)
            theirs = statistics.median(time_cvxopt(p, 7) for p in problems)
            mine = statistics.median(a["seconds"] for a in answers)
            print(f"{op.NAMES[objective]:14} {rows:4} {planes:6} {1e3 * theirs:11.3f} {1e3 * mine:11.4f} "
                  f"{theirs / mine:7.1f} {WANTED[objective, rows]:7} "
                  f"{max(a['iterations'] for a in answers):11.0f}  {max(a['gap'] for a in answers):.0e}")


if __name__ == "__main__":
    main()

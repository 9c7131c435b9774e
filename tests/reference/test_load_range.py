#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What no mass can cure between operating states, against the smallest circle around the readings (constructed cases).

usage: test_load_range.py PROGRAM
"""
import itertools
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from outside import outside

PROGRAM = sys.argv[1]
CASE = Path(tempfile.mkdtemp()) / "case.yaml"
RNG = np.random.default_rng(42)
failures = []


def check(holds, what):
    if not holds:
        failures.append(what)


def phasor(value):
    return f"{float(abs(value))!r} @ {float(np.degrees(np.angle(value)))!r}"


def case(y, a, objective="{minimise: min-max}", limit=40.0, cap=1e6):
    """y: states × sensors; a: sensors × planes."""
    lines = ["case: {format: 1}", "conventions: {phase: lead, mass_angle: with-rotation}", "speeds:", "  - {id: s0, speed: 3000}"]
    lines += [f"  - {{id: s{k}, speed: 3000, coefficients_of: s0}}" for k in range(1, len(y))]
    lines += ["sensors:"] + [f"  - {{id: r{i}, limit: {limit!r}, repeatability: 1}}" for i in range(y.shape[1])]
    lines += ["planes:"] + [f"  - {{id: p{j}, cap: {cap!r}}}" for j in range(a.shape[1])]
    read = ", ".join(f"s{k}: {{" + ", ".join(f"r{i}: {phasor(v)}" for i, v in enumerate(row)) + "}" for k, row in enumerate(y))
    lines += [f"runs: [{{id: as-found, readings: {{{read}}}}}]", "influence:"]
    lines += [f"  - {{plane: p{j}, speed: s0, sensor: r{i}, value: {phasor(a[i, j])}}}"
              for i in range(a.shape[0]) for j in range(a.shape[1])]
    return "\n".join(lines + [f"objective: {objective}"]) + "\n"


def solve(text):
    CASE.write_text(text)
    done = subprocess.run([PROGRAM, "solve", "--format", "json", str(CASE)], capture_output=True, text=True, check=False)
    if not done.stdout:
        failures.append(done.stderr)
    return json.loads(done.stdout) if done.stdout else None


def smallest_circle(points):
    """Radius, and which points hold it: of all circles through two or three points the smallest that holds all."""
    best = (0.0, (0,)) if len(points) == 1 else (np.inf, ())
    for n in (2, 3):
        for some in itertools.combinations(range(len(points)), n):
            p = points[list(some)]
            if n == 2:
                centre = p.mean()
            else:
                m = np.array([[(p[k] - p[0]).real, (p[k] - p[0]).imag] for k in (1, 2)])
                if abs(np.linalg.det(m)) < 1e-9:
                    continue
                at = np.linalg.solve(2 * m, [abs(p[k] - p[0]) ** 2 for k in (1, 2)])
                centre = p[0] + complex(*at)
            radius = abs(p[0] - centre)
            if np.abs(points - centre).max() <= radius * (1 + 1e-9) and radius < best[0] * (1 - 1e-9):
                best = (radius, some)
    return best


# One plane, one reading, 60 at 0 and 60 at 90 degrees.
found = solve(case(np.array([[60], [60j]]), np.array([[1.0]])))
floor = found["load_range"]["readings"][0]
check(abs(floor["not_below"] - 60 / np.sqrt(2)) < 1e-9 and abs(floor["bound"] - 60 / np.sqrt(2)) < 1e-9, f"42.43: {floor}")
check(abs(found["objective"]["value"] * 40 - 60 / np.sqrt(2)) < 1e-9, f"min-max: {found['objective']}")
check(floor["clash"] == ["s0", "s1"], f"clash: {floor}")
page = subprocess.run([PROGRAM, "solve", str(CASE)], capture_output=True, text=True, check=False).stdout
check("42.43" in page and "Between s0 and s1" in page, "the page says nothing of 42.43")
if not failures:
    outside("what one plane leaves of a reading of 60 @ 0 in one state and 60 @ 90 in another", "half the distance of the two",
            "constructed", "42.43 to 1e-9, both states named")

for trial in range(25):
    states, sensors, planes = int(RNG.integers(2, 6)), int(RNG.integers(1, 4)), int(RNG.integers(1, 4))
    y = 50 * (RNG.normal(size=(states, sensors)) + 1j * RNG.normal(size=(states, sensors)))
    a = RNG.normal(size=(sensors, planes)) + 1j * RNG.normal(size=(sensors, planes))
    if trial % 5 == 0:
        a[0] = 0
    # Whatever the objective, caps and what the answer is: also when limits cannot be met.
    objective = ["{minimise: min-max}", "{}", "{minimise: least-mass}"][trial % 3]
    found = solve(case(y, a, objective, cap=float(RNG.choice([5, 1e6]))))
    for i, floor in enumerate(found["load_range"]["readings"]):
        radius, hold = smallest_circle(y[:, i])
        if trial % 5 == 0 and i == 0:
            check(not floor["moved_by_masses"] and abs(floor["not_below"] / np.abs(y[:, 0]).max() - 1) < 1e-9, f"no plane: {floor}")
            continue
        check(abs(floor["not_below"] / radius - 1) < 1e-7 and floor["bound"] <= floor["not_below"], f"{floor}, circle {radius}")
        check(floor["clash"] == [f"s{k}" for k in hold], f"{floor['clash']}, circle through {hold}")
    # All states together, as a case of its own; and each alone.
    together = found["load_range"]["together"]
    worst = max(floor["bound"] for floor in found["load_range"]["readings"]) / 40
    check(together["value"] >= worst * (1 - 1e-7), "all together are better than the worst reading alone")
    check(all(e["value"] <= together["value"] * (1 + 1e-7) for e in found["load_range"]["alone"]), "a state alone is worse")
    check(abs(sum(e["share"] for e in together["held_up_by"]) - 1) < 1e-5, "shares do not add up")

found = solve(case(np.array([[60]]), np.array([[1.0]])))
check("load_range" not in found, "one state has no load range")
print("\n".join(failures) if failures else "what no mass can cure agrees with the smallest circle")
sys.exit(1 if failures else 0)

#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""objective.then through the program: what is kept, what is reached, a best of zero, limits out of reach (constructed).

usage: test_then.py PROGRAM
"""
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

PROGRAM = sys.argv[1]
CASE = Path(tempfile.mkdtemp()) / "case.yaml"
RNG = np.random.default_rng(11)
failures = []


def check(holds, what):
    if not holds:
        failures.append(what)


def phasor(value):
    return f"{float(abs(value))!r} @ {float(np.degrees(np.angle(value)))!r}"


def case(y, a, objective, cap=100.0, limit=50.0):
    bound = f", limit: {limit!r}" if limit else ""
    lines = ["case: {format: 1}", "conventions: {phase: lead, mass_angle: with-rotation}",
             "speeds: [{id: s, speed: 3000}]", "sensors:"]
    lines += [f"  - {{id: r{i}, repeatability: 1{bound}}}" for i in range(len(y))]
    lines += ["planes:"] + [f"  - {{id: p{j}, cap: {cap!r}}}" for j in range(a.shape[1])]
    lines += ["runs: [{id: as-found, readings: {s: {" + ", ".join(f"r{i}: {phasor(v)}" for i, v in enumerate(y)) + "}}}]",
              "influence:"]
    lines += [f"  - {{plane: p{j}, speed: s, sensor: r{i}, value: {phasor(a[i, j])}, uncertainty: 0.05}}"
              for i in range(len(y)) for j in range(a.shape[1])]
    return "\n".join(lines + [f"objective: {objective}"]) + "\n"


def run(text, command="solve"):
    CASE.write_text(text)
    done = subprocess.run([PROGRAM, command, "--format", "json", str(CASE)], capture_output=True, text=True, check=False)
    if not done.stdout:
        failures.append(done.stderr)
    return (json.loads(done.stdout) if done.stdout else None), done.stderr


def masses(found):
    return np.array([c["mass"] * np.exp(1j * np.radians(c["angle"])) for c in found["corrections"]])


def complex_normal(*shape):
    return RNG.normal(size=shape) + 1j * RNG.normal(size=shape)


for trial in range(6):
    y, a = 40 * complex_normal(5), complex_normal(5, 3)
    alone, _ = run(case(y, a, "{minimise: min-max}"))
    found, _ = run(case(y, a, "{minimise: min-max, then: {minimise: least-mass, within: 5 %}}"))
    best, goal = alone["objective"]["value"], found["objective"]
    x = masses(found)
    value = np.abs(y + a @ x).max() / 50
    check(abs(value - goal["value"]) < 1e-9, f"value {goal['value']}, at the masses {value}")
    check(value <= best * 1.05 * (1 + 1e-8), f"{value} is not within 5 % of {best}")
    check(abs(goal["bound"] - alone["objective"]["bound"]) < 1e-9 * best, "the bound is that of the first objective")
    check(abs(goal["gap"] - max(0, value - goal["bound"]) / value) < 1e-9, "the gap is that of value and bound")
    then = goal["then"]
    check(abs(np.abs(x).sum() - then["value"]) < 1e-7 and then["gap"] <= 1e-8 and then["bound"] <= then["value"] * (1 + 1e-12),
          f"then {then}, total mass {np.abs(x).sum()}")
    check(then["value"] <= np.abs(masses(alone)).sum() * (1 + 1e-9), "no lighter than without then")
    check(not any(w["code"] == "not-proven" for w in found["warnings"]), "not-proven though both proofs are closed")
    # No lighter masses nearby keep the first objective: random directions, and lighter ones scaled from these.
    for _ in range(300):
        z = x + complex_normal(3) * 10.0 ** RNG.uniform(-3, 1)
        if np.abs(y + a @ z).max() / 50 <= best * 1.05 and np.abs(z).max() <= 100:
            check(np.abs(z).sum() >= then["value"] * (1 - 1e-8), f"lighter: {np.abs(z).sum()} under {then['value']}")

# Whatever the two are: kept, and proven.
names = ["least-squares", "min-max", "least-mass", "least-change", "worst-case", "expected", "confidence"]
y, a = 30 * complex_normal(5), complex_normal(5, 3)
for first in names:
    for second in names:
        if first == second:
            continue
        text = f"{{minimise: {first}, influence_error: 0.05, then: {{minimise: {second}, within: 10 %}}}}"
        found, _ = run(case(y, a, text, limit=80.0))
        goal = found["objective"]
        alone, _ = run(case(y, a, f"{{minimise: {first}, influence_error: 0.05}}", limit=80.0))
        best = alone["objective"]["value"]
        kept = goal["value"] >= 0.9 * best * (1 - 1e-8) if first == "confidence" else goal["value"] <= 1.1 * best * (1 + 1e-8)
        check(kept, f"{first} then {second}: {goal}, alone {best}")
        check(goal["then"]["minimise"] == second and goal["then"]["gap"] <= 1e-7, f"{first} then {second}: {goal['then']}")

# A best of zero: one reading, two planes. The lightest masses that cancel it use the plane that does more per gram.
y, a = np.array([60 + 0j]), np.array([[1.0, 2j]])
found, _ = run(case(y, a, "{minimise: min-max, then: {minimise: least-mass, within: 5 %}}"))
check(np.abs(masses(found) - [0, 30j]).max() < 1e-6 and found["objective"]["value"] < 1e-9, f"best of zero: {masses(found)}")
check(abs(found["objective"]["then"]["value"] - 30) < 1e-6 and found["objective"]["then"]["gap"] < 1e-8,
      f"best of zero: {found['objective']}")

# Limits that cannot be kept: the lightest near the best still exists, the most confident does not.
y, a = np.array([200, 200j]), np.array([[1.0], [1.0]])
found, _ = run(case(y, a, "{minimise: min-max, then: {minimise: least-mass, within: 5 %}}", cap=300.0))
check(found["status"] == "optimal" and found["objective"]["then"]["gap"] <= 1e-8, f"over the limits: {found['objective']}")
found, _ = run(case(y, a, "{minimise: min-max, then: {minimise: confidence, within: 5 %}}", cap=300.0))
check(found["objective"]["then"]["value"] is None and any(w["code"] == "not-proven" for w in found["warnings"]),
      f"confidence over the limits: {found['objective']}")

found, err = run(case(30 * complex_normal(5), complex_normal(5, 3), "{minimise: min-max, then: {minimise: least-mass, within: 5 %}}"),
                 "planes")
plain, _ = run(case(30 * complex_normal(5), complex_normal(5, 3), "{minimise: min-max}"), "planes")
check(found and "objective.then" in err, f"planes says nothing of then: {err}")

print("\n".join(failures) if failures else "second objectives keep the first and are proven")
sys.exit(1 if failures else 0)

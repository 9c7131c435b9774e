#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Worst case, confidence and what would raise it: by an explicit worst error, by simulation, by really doing it.

usage: test_confidence.py PROGRAM
"""
import json
import math
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from outside import outside

PROGRAM = sys.argv[1]
CASE = Path(tempfile.mkdtemp()) / "case.yaml"
RNG = np.random.default_rng(2024)
failures = []


def check(holds, what):
    if not holds:
        failures.append(what)


def normal(*shape):
    """Complex errors with E|e|² = 1."""
    return (RNG.normal(size=shape) + 1j * RNG.normal(size=shape)) / math.sqrt(2)


def phasor(value):
    return f"{float(abs(value))!r} @ {float(np.degrees(np.angle(value)))!r}"


def case(runs, objective, caps, limits, sigma=2.0, extra=""):
    """runs: (id, masses or None, readings); lead phases, mass angles with rotation."""
    lines = ["case: {format: 1}", "conventions: {phase: lead, mass_angle: with-rotation}",
             "speeds: [{id: s, speed: 3000}]", "sensors:"]
    lines += [f"  - {{id: r{i}, angle: {45 + 90 * i}, limit: {float(v)!r}, repeatability: {sigma!r}}}" for i, v in enumerate(limits)]
    lines += ["planes:"] + [f"  - {{id: p{j}, cap: {float(v)!r}}}" for j, v in enumerate(caps)] + ["runs:"]
    for name, masses, readings in runs:
        on = "" if masses is None else "masses: [" + ", ".join(
            f"{{plane: p{j}, mass: {float(abs(m))!r}, angle: {float(np.degrees(np.angle(m)))!r}}}" for j, m in enumerate(masses) if m) + "], "
        read = ", ".join(f"r{i}: {phasor(v)}" for i, v in enumerate(readings))
        lines.append(f"  - {{id: {name}, {on}readings: {{s: {{{read}}}}}}}")
    return "\n".join(lines + [extra, f"objective: {objective}"]) + "\n"


def solve(text):
    CASE.write_text(text)
    done = subprocess.run([PROGRAM, "solve", "--format", "json", str(CASE)], capture_output=True, text=True, check=False)
    if not done.stdout:
        failures.append(done.stderr)
    return json.loads(done.stdout) if done.stdout else None


def masses(found):
    return np.array([c["mass"] * np.exp(1j * np.radians(c["angle"])) for c in found["corrections"]])


def job(rows, planes, scale=1.0):
    a = scale * normal(rows, planes)
    y = 50 * normal(rows)
    trials = [np.eye(planes)[j] * 25.0 for j in range(planes)]
    runs = [("as-found", None, y)] + [(f"trial-{j}", t, y + a @ t) for j, t in enumerate(trials)]
    return y, a, runs


# ---- worst case: an influence error of the promised size that really makes it so bad, and none that is worse ----

worst = 0.0
for trial in range(6):
    y, a, runs = job(5, 2)
    rho = float(RNG.uniform(0.02, 0.3))
    found = solve(case(runs, f"{{minimise: worst-case, influence_error: {rho!r}}}", [60, 60], np.full(5, 40.0)))
    z = masses(found) - [0, 25.0]              # from the base state, the last run
    base = y + a @ [0, 25.0]
    weights = 1 / 40
    c = np.linalg.norm(weights * a, axis=0)
    r = weights * (base + a @ z)
    # dA = e (c z)ᴴ c / |r| |c z| in weighted columns: of Frobenius size rho relative to the columns c.
    direction = r / np.linalg.norm(r)
    scaled = c * z
    error = rho * np.outer(direction, scaled.conj()) / np.linalg.norm(scaled) * c
    check(abs(np.linalg.norm(error / c) / rho - 1) < 1e-9, "the error is not of the promised size")
    reached = np.linalg.norm(r + error @ z)
    worst = max(worst, abs(reached / found["objective"]["value"] - 1))
    for _ in range(200):
        other = normal(5, 2)
        other *= rho / np.linalg.norm(other)
        check(np.linalg.norm(r + (other * c) @ z) <= found["objective"]["value"] * (1 + 1e-9), "an error that is worse")
check(worst < 1e-9, f"worst case off by {worst}")
if worst < 1e-9:
    outside("value of worst-case", "an explicit influence error of the promised size that attains it, 200 others that do not",
            "constructed", "6 jobs to 1e-9")

# ---- confidence: the promised chance holds in simulated repetitions of the whole job ----

held, promised, jobs, repetitions = [], [], 0, 20000
while jobs < 4:
    y, a, runs = job(4, 2)
    sigma = 2.0
    found = solve(case(runs, "{minimise: confidence}", [80, 80], np.full(4, 45.0), sigma,
                       "pairs: [{id: o, sensors: [r0, r1], limit: 60}]"))
    if found["status"] != "optimal" or not 1.3 < found["objective"]["value"] < 2.6:
        continue
    jobs += 1
    kappa, x = found["objective"]["value"], masses(found)
    # Given what was read, the true readings lie around the prediction: errors of all runs, fitted as in the job.
    design = np.array([[1, *(m if m is not None else np.zeros(2))] for _, m, _ in runs], complex)
    inverse = np.linalg.inv(design)           # as many runs as unknowns
    line = np.array([1, *x]) @ inverse        # weights of the readings in the prediction
    # y is the last run's reading: the prediction is that reading plus A (x - base), the same for as many runs as unknowns.
    errors = sigma * normal(repetitions, len(runs), 4)
    true = (y + a @ x)[None, :] - np.einsum("k,nki->ni", line, errors)
    predicted = y + a @ x
    sd = sigma * np.linalg.norm(line)
    rooms = [(45 - abs(v)) / sd for v in predicted]
    a1, a2 = np.radians([45, 135])
    turn = np.linalg.inv(np.array([[np.exp(-1j * a1), np.exp(1j * a1)], [np.exp(-1j * a2), np.exp(1j * a2)]]))
    parts = turn @ predicted[:2]
    rooms.append((60 - np.abs(parts).sum()) / (sd * np.linalg.norm(turn, axis=1).sum()))
    check(abs(min(rooms) / kappa - 1) < 1e-6, f"kappa {kappa}, from the spreads {min(rooms)}")
    orbit = np.abs(true[:, :2] @ turn.T).sum(axis=1)
    share = np.mean((np.abs(true).max(axis=1) <= 45) & (orbit <= 60))
    chance = found["confidence"]["chance"]
    check(abs(chance - max(0, 1 - 6 * math.exp(-kappa ** 2))) < 1e-9, f"chance {chance}")
    check(share >= chance - 3 * math.sqrt(0.25 / repetitions), f"promised {chance}, held {share}")
    # A single reading at distance kappa: outside with a probability of at most exp(-kappa²).
    for i, room in enumerate(rooms[:4]):
        outsiders = np.mean(np.abs(true[:, i]) > 45)
        check(outsiders <= math.exp(-room ** 2) + 4 * math.sqrt(math.exp(-room ** 2) / repetitions) + 1e-4,
              f"reading {i}: {outsiders} outside, kappa {room}")
    within = found["spread"]["within_all"]
    check(abs(within - share) < 0.02, f"chance of all {within}, simulated {share}")
    held.append(share)
    promised.append(chance)
if not failures:
    outside("chance that the confidence promises", "simulated repetitions of the runs, 20000 of each of four jobs with an orbit",
            "computed", "held in all; kappa from the spreads to 1e-6; at most exp(-kappa^2) outside")

# ---- what one more run or one more gram adds: done ----

y, a, runs = job(4, 2)
limits = np.full(4, 60.0)
caps = [12.0, 200.0]
for attempt in range(200):
    found = solve(case(runs, "{minimise: confidence}", caps, limits))
    if found["status"] == "optimal" and any(c["at_cap"] for c in found["corrections"]):
        break
    y, a, runs = job(4, 2)
else:
    failures.append("no job with a plane at its cap")
gains = found["confidence"]
names = [name for name, _, _ in runs]
check([g["repeats"] for g in gains["one_more_run"]] == names[::-1], f"runs {gains['one_more_run']}")
for gain in gains["one_more_run"]:
    name, on, readings = next(r for r in runs if r[0] == gain["repeats"])
    again = runs[:names.index(name)] + [("again", on, readings)] + runs[names.index(name):]
    really = solve(case(again, "{minimise: confidence}", caps, limits))["objective"]["value"]
    check(abs(really - gain["value"]) < 1e-6 * really, f"repeating {name}: told {gain['value']}, done {really}")
    check(abs(gain["adds"] - (gain["value"] - found["objective"]["value"])) < 1e-12, "adds")
for gain in gains["one_more_mass_unit"]:
    more = [c + (gain["plane"] == f"p{j}") for j, c in enumerate(caps)]
    really = solve(case(runs, "{minimise: confidence}", more, limits))["objective"]["value"]
    check(abs(really - gain["value"]) < 1e-6 * really, f"a gram on {gain['plane']}: told {gain['value']}, done {really}")
check(max(g["adds"] for g in gains["one_more_run"]) > 1e-3 and max(g["adds"] for g in gains["one_more_mass_unit"]) > 1e-4,
      f"nothing adds anything: {gains}")
page = subprocess.run([PROGRAM, "solve", str(CASE)], capture_output=True, text=True, check=False).stdout
check("WHAT WOULD MAKE IT SURER" in page, "the page says nothing of it")
check("confidence" not in solve(case(runs, "{minimise: min-max}", caps, limits)), "min-max has no confidence")
if not failures:
    outside("what one more run or one more gram would add to the confidence", "the same case with that run or gram in it",
            "constructed", "to 1e-6")

print("\n".join(failures) if failures else "worst case, confidence and its gains hold")
sys.exit(1 if failures else 0)

#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What caps and limits are worth, against central differences of the program's own optimum (constructed cases).

usage: test_worth.py PROGRAM
"""
import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from outside import outside

PROGRAM = sys.argv[1]
CASE = Path(tempfile.mkdtemp()) / "case.yaml"
OBJECTIVES = ["least-squares", "min-max", "least-mass", "least-change", "worst-case", "expected", "confidence"]
failures = []


def random_case(rng, planes, sensors):
    def phasors(*shape):
        return rng.uniform(0.3, 1, shape), rng.uniform(0, 360, shape)
    return {"y": phasors(sensors), "a": phasors(sensors, planes), "limit": rng.uniform(25, 60, sensors),
            "cap": rng.uniform(20, 60, planes)}


def solve(case, objective, limit, cap, within):
    size, angle = case["y"]
    gain, turn = case["a"]
    extra = ", influence_error: 0.08" if objective == "worst-case" else ""
    lines = ["case: {format: 1}", "conventions: {phase: lag, mass_angle: with-rotation}",
             "units: {speed: rpm, mass: g, length: mm, vibration: um pp}", "speeds: [{id: s, speed: 3000}]", "sensors:"]
    pair = len(limit) > len(size)             # the last limit is that of the orbit of the first two sensors
    lines += [f"  - {{id: r{i}, limit: {v!r}, angle: {45 + 90 * i}, repeatability: 1.5}}"
              for i, v in enumerate(limit[:len(size)].tolist())]
    if pair:
        lines += [f"pairs: [{{id: o, sensors: [r0, r1], rows: [major-axis], limit: {float(limit[-1])!r}}}]"]
    lines += ["planes:"] + [f"  - {{id: p{j}, cap: {v!r}}}" for j, v in enumerate(cap.tolist())]
    read = ", ".join(f"r{i}: {100 * size[i]!r} @ {angle[i]!r}" for i in range(len(size)))
    lines += ["runs:", f"  - {{id: as-found, readings: {{s: {{{read}}}}}}}", "influence:"]
    lines += [f"  - {{plane: p{j}, speed: s, sensor: r{i}, value: {gain[i, j]!r} @ {turn[i, j]!r}, uncertainty: 0.1}}"
              for i in range(len(size)) for j in range(len(cap))]
    lines += [f"objective: {{minimise: {objective}, within_limits: {'true' if within else 'false'}{extra}}}"]
    CASE.write_text("\n".join(lines).replace("np.float64(", "").replace(")", "") + "\n")
    done = subprocess.run([PROGRAM, "solve", "--format", "json", str(CASE)], capture_output=True, text=True, check=False)
    if not done.stdout:
        failures.append(f"{objective}: {done.stderr}")
        return None
    return json.loads(done.stdout)


def value(*arguments):
    found = solve(*arguments)
    return found["objective"]["value"] if found and found["status"] == "optimal" else None


def compare(what, told, low, high, step, scale):
    if low is None or high is None:
        return 0
    slope = (high - low) / (2 * step)
    if abs(told - slope) > 2e-4 * abs(slope) + 1e-5 * scale:
        failures.append(f"{what}: told {told}, difference {slope}")
    return abs(slope) > 1e-4 * scale


def judge(case, objective, within):
    limit, cap = case["limit"], case["cap"]
    best = solve(case, objective, limit, cap, within)
    if not best or best["status"] != "optimal":
        return 0
    worth, v, moved = best["sensitivities"], best["objective"]["value"], 0
    if len(worth["caps"]) != len(cap) or len(worth["limits"]) != len(limit):
        failures.append(f"{objective}: {worth}")
        return 0
    if v <= 1e-12 * cap.sum():  # a total mass of zero: nothing holds it up
        told = [e["per_unit_mass"] for e in worth["caps"]] + [e["per_percent"] for e in worth["limits"]]
        if any(told):
            failures.append(f"{objective}: a zero is held up by {told}")
        return 0
    for j, entry in enumerate(worth["caps"]):
        h = 2e-4 * cap[j] * np.eye(len(cap))[j]
        ends = [value(case, objective, limit, cap + k * h, within) for k in (-1, 1)]
        moved += compare(f"{objective} cap {j}", entry["per_unit_mass"], *ends, h[j], v / cap[j])
    for i, entry in enumerate(worth["limits"]):
        h = 2e-4 * limit[i] * np.eye(len(limit))[i]
        ends = [value(case, objective, limit + k * h, cap, within) for k in (-1, 1)]
        moved += compare(f"{objective} limit {i}", entry["per_percent"], *ends, 0.02, v / 100)
    return moved


rng = np.random.default_rng(5)
moved = dict.fromkeys(OBJECTIVES, 0)
for _ in range(3):
    case = random_case(rng, 2, 3)
    for objective in OBJECTIVES:
        for within in (False, True):
            moved[objective] += judge(case, objective, within)
# Loose limits and caps, so that the objectives about masses have answers.
for _ in range(8):
    case = random_case(rng, 2, 3)
    case["limit"], case["cap"] = case["limit"] + 30, case["cap"] + 40
    for objective in ("least-mass", "least-change"):
        moved[objective] += judge(case, objective, True)
for k in range(2):
    case = random_case(rng, 2, 3)
    case["limit"], case["cap"] = case["limit"] + 40, case["cap"] + 40
    moved["confidence"] += judge(case, "confidence", False)
    # With an orbit, whose limit is the tightest or nearly so.
    case["limit"] = np.append(case["limit"] + 20, rng.uniform(60, 80))
    orbits = [objective for objective in ("min-max", "least-mass", "confidence", "expected") if k < 1 or objective not in ("expected", "confidence")]
    for objective in orbits:
        moved[objective] += judge(case, objective, objective == "expected")
# The curve of ratio against mass: falling, convex, from nothing to the min-max optimum, every point proven.
def judge_curve(case):
    best = solve(case, "min-max", case["limit"], case["cap"], False)
    done = subprocess.run([PROGRAM, "solve", "--trade-off", "--format", "json", str(CASE)], capture_output=True, text=True,
                          check=False)
    curve = json.loads(done.stdout)["trade_off"]
    ratio, mass, bound = (np.array([p[k] for p in curve]) for k in ("largest_ratio", "total_mass", "bound"))
    if len(curve) < 21 or mass[0] != 0 or np.any(mass - bound > 1e-8 * mass) or np.any(bound > mass):
        failures.append(f"curve: {curve}")
    at_nothing = max(100 * case["y"][0] / case["limit"])
    if abs(ratio[0] / at_nothing - 1) > 1e-9 or abs(ratio[-1] / best["objective"]["value"] - 1) > 1e-7:
        failures.append(f"curve: from {ratio[0]} ({at_nothing}) to {ratio[-1]} ({best['objective']['value']})")
    slope = np.diff(mass) / np.diff(ratio)
    if np.any(np.diff(mass) <= 0) or np.any(np.diff(slope) > 1e-6 * np.abs(slope).max()):
        failures.append(f"curve: not falling and convex: {slope}")
    middle = dict(case, limit=case["limit"] * ratio[12])
    again = value(middle, "least-mass", middle["limit"], middle["cap"], False)
    if again is None or abs(again / mass[12] - 1) > 1e-7:
        failures.append(f"curve: {mass[12]}, as a case of its own {again}")


for _ in range(3):
    judge_curve(random_case(rng, 2, 3))
# Limits that cannot be kept have a curve all the same; without limits, and without any masses allowed, a plain message.
case = random_case(rng, 2, 3)
case["limit"] = case["limit"] / 20
judge_curve(case)
found = solve(case, "least-mass", case["limit"], case["cap"], False)
if not found or found["status"] != "infeasible":
    failures.append("the curve of limits that cannot be kept was not tried")


def trade_off(text):
    CASE.write_text(text)
    return [subprocess.run([PROGRAM, "solve", "--trade-off", *more, str(CASE)], capture_output=True, text=True, check=False)
            for more in ((), ("--format", "json"))]


text = CASE.read_text().replace("minimise: least-mass", "minimise: min-max")
page, tree = trade_off(re.sub(r"limit: [0-9.]+, ", "", text))
if page.returncode != 2 or page.stdout or "needs limits" not in page.stderr:
    failures.append(f"curve without limits: {page.returncode} {page.stderr}")
tie = "ties: [{terms: {p0: 1 @ 0, p1: 1 @ 0}, equals: 1000 @ 0}], within_limits"
page, tree = trade_off(text.replace("within_limits", tie))
if page.returncode != 1 or "No curve" not in page.stdout or json.loads(tree.stdout)["trade_off"] != []:
    failures.append(f"curve without masses allowed: {page.returncode} {page.stdout} {page.stderr}")
# Three kinds of caps on one plane: the one that holds the answer up is named, and its own difference agrees.
KINDS = """case: {format: 1}
conventions: {phase: lag, mass_angle: with-rotation}
units: {mass: g, length: mm, vibration: um pp}
rotor: {overspeed: 3300}
speeds: [{id: s, speed: 3000}]
sensors: [{id: r, limit: 5}]
planes: [{id: p, radius: 100, cap: %r, change_cap: %r, cap_force: %r}]
now: {masses: [{plane: p, mass: 2, angle: 180}]}
runs: [{id: as-found, readings: {s: {r: 40 @ 180}}}]
influence: [{plane: p, speed: s, sensor: r, value: 1 @ 0}]
objective: {minimise: min-max}
"""


def of_kinds(caps):
    CASE.write_text(KINDS % tuple(caps))
    return json.loads(subprocess.run([PROGRAM, "solve", "--format", "json", str(CASE)], capture_output=True, text=True, check=False).stdout)


PER_NEWTON = 1e6 / (100 * (3300 * np.pi / 30) ** 2)  # grams at 100 mm and overspeed
for tight, caps in enumerate(([3.0, 90.0, 9e3], [90.0, 3.0, 9e3], [90.0, 90.0, 40.0])):
    best = of_kinds(caps)
    entry = best["sensitivities"]["caps"][0]
    other = {e["kind"]: e["per_unit_mass"] for e in entry["others"]}
    told = [entry["per_unit_mass"], other["change_cap"], other["cap_force"]]
    for k in range(3):
        step = 1e-3 * caps[k]
        ends = [of_kinds([c + s * step * (i == k) for i, c in enumerate(caps)])["objective"]["value"] for s in (-1, 1)]
        slope = (ends[1] - ends[0]) / (2 * step) / (PER_NEWTON if k == 2 else 1)
        if abs(told[k] - slope) > 1e-6 or (abs(slope) > 1e-3) != (k == tight):
            failures.append(f"kinds of caps {caps}: told {told}, difference of number {k} {slope}")
for objective, count in moved.items():
    if count < 4:
        failures.append(f"{objective}: only {count} slopes were seen")
if not failures:
    outside("what a gram on a capped plane and a percent of a limit are worth", "central differences of the optimum",
            "constructed", "seven objectives, orbits included, at least four slopes each")
    outside("trade-off of mass against largest ratio", "each end and a point in the middle solved as a case of its own",
            "constructed", "to 1e-7; the curve falls and is convex")
print(moved)
print("\n".join(failures) if failures else "what caps and limits are worth agrees with differences")
sys.exit(1 if failures else 0)

#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Answers do not depend on units, on the scaling of sensors, on conventions or on the order of planes, sensors and speeds.

usage: test_invariance.py PROGRAM [CASES [SEED]]

Random cases of every objective with caps, limits, ties and fixed masses are written again in another way; status, value,
proof, least factor, conflict and the predicted worst ratio must be the same. All cases constructed.
"""
import collections
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import yaml

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "reference"))
import optimise_cases as oc
import optimise_problems as op

GRAMS = {"g": 1.0, "kg": 1000.0, "oz": 28.349523125}
seen = collections.Counter()


def scaled(text, factor):
    """A number or phasor, its number multiplied."""
    number, *rest = str(text).split(" ", 1)
    return " ".join([repr(float(number) * factor), *rest])


def turned(text):
    """A phasor with its angle counted the other way."""
    number, degrees = text.split("@")
    return f"{number.strip()} @ {-float(degrees)!r}"


def entries_of_masses(tree):
    places = [run for run in tree["runs"]] + ([tree["now"]] if "now" in tree else [])
    return [entry for place in places for entry in place["masses"]]


def readings_of(tree):
    return [readings for run in tree["runs"] for readings in run["readings"].values()]


# ---- the same case in another way ----

def in_other_mass_unit(tree):
    """Returns what the value of a sum of masses is multiplied by."""
    units = list(GRAMS)
    other = units[(units.index(tree["units"]["mass"]) + 1) % len(units)]
    factor = GRAMS[tree["units"]["mass"]] / GRAMS[other]
    tree["units"]["mass"] = other
    for entry in entries_of_masses(tree):
        entry["mass"] = scaled(entry["mass"], factor)
    for plane in tree["planes"]:
        for key in ("cap", "change_cap"):
            if key in plane:
                plane[key] = scaled(plane[key], factor)
    goal = tree["objective"]
    for plane, value in goal.get("fixed", {}).items():
        goal["fixed"][plane] = scaled(value, factor)
    for tie in goal.get("ties", []):
        tie["equals"] = scaled(tie["equals"], factor)
    for entry in tree["influence"]:
        for key in ("value", "uncertainty"):
            if key in entry:
                entry[key] = scaled(entry[key], 1 / factor)
    return factor


def with_sensors_scaled(tree):
    """Each sensor by a factor of its own; with limits nothing may change."""
    factors = {s["id"]: 10.0 ** (k % 5 - 2) * 1.7 for k, s in enumerate(tree["sensors"])}
    for sensor in tree["sensors"]:
        factor = factors[sensor["id"]]
        sensor["repeatability"] = scaled(sensor["repeatability"], factor)
        sensor["limit"] = {v: scaled(limit, factor) for v, limit in sensor["limit"].items()}
    for readings in readings_of(tree):
        for sensor in readings:
            readings[sensor] = scaled(readings[sensor], factors[sensor])
    for entry in tree["influence"]:
        for key in ("value", "uncertainty"):
            if key in entry:
                entry[key] = scaled(entry[key], factors[entry["sensor"]])
    return 1


def in_other_order(tree):
    for part in ("planes", "sensors", "speeds", "influence"):
        tree[part].reverse()
    if "use_planes" in tree["objective"]:
        tree["objective"]["use_planes"].reverse()
    return 1


def with_other_phase(tree):
    tree["conventions"]["phase"] = "lead" if tree["conventions"]["phase"] == "lag" else "lag"
    for readings in readings_of(tree):
        for sensor in readings:
            readings[sensor] = turned(readings[sensor])
    for entry in tree["influence"]:
        entry["value"] = turned(entry["value"])
    return 1


def with_other_angles(tree):
    against = tree["conventions"]["mass_angle"] == "against-rotation"
    tree["conventions"]["mass_angle"] = "with-rotation" if against else "against-rotation"
    for plane in tree["planes"]:
        if "zero" in plane:
            plane["zero"] = scaled(plane["zero"], -1)
    for entry in entries_of_masses(tree):
        entry["angle"] = scaled(entry["angle"], -1)
    goal = tree["objective"]
    for plane, value in goal.get("fixed", {}).items():
        goal["fixed"][plane] = turned(value)
    for tie in goal.get("ties", []):
        tie["equals"] = turned(tie["equals"])
        tie["terms"] = {plane: turned(value) for plane, value in tie["terms"].items()}
    return 1


WAYS = [in_other_mass_unit, with_sensors_scaled, in_other_order, with_other_phase, with_other_angles]


# ---- comparison ----

def conflict_of(answer):
    return sorted(json.dumps(entry, sort_keys=True) for entry in answer["conflict"])


def worst_ratio(answer):
    return max(r["after"]["amplitude"] / r["limit"] for r in answer["predicted"])


def differences(case, one, two, factor):
    """What is not the same in two answers; `factor`: between their masses."""
    if one["result"] != "solve" or two["result"] != "solve" or one["status"] != two["status"]:
        yield f"{one.get('status', one)}, {two.get('status', two)}"
        return
    seen[one["status"]] += 1
    if one["status"] == "infeasible":
        a, b = one["limits_factor"], two["limits_factor"]
        if (a is None) != (b is None) or (a and abs(a / b - 1) > 1e-8):
            yield f"least factor {a}, {b}"
        elif conflict_of(one) != conflict_of(two):
            yield f"conflict {conflict_of(one)}, {conflict_of(two)}"
        return
    about_masses = case.objective in (op.LEAST_MASS, op.LEAST_CHANGE)
    a, b = one["objective"]["value"], two["objective"]["value"] / (factor if about_masses else 1)
    zero = 1e-9 * max([1e-300, *(abs(v) for v in case.problem.y)]) if not about_masses else 1e-9 * case.typical.max()
    tolerance = 3e-8 if case.objective == op.CONFIDENCE else 1e-8
    if abs(a - b) > tolerance * abs(a) + zero * 1e-3:
        yield f"value {a}, {b}"
    if max(one["objective"]["gap"], two["objective"]["gap"]) > 1e-8:
        yield f"gaps {one['objective']['gap']}, {two['objective']['gap']}"
    if case.objective == op.MIN_MAX and case.limited and len(set(case.problem.weight * case.problem.limit)) == 1:
        if abs(worst_ratio(one) / worst_ratio(two) - 1) > 1e-8:
            yield "worst ratio"


def solve(program, trees, folder):
    files = []
    for k, tree in enumerate(trees):
        files.append(folder / f"{k}.yaml")
        files[-1].write_text(yaml.safe_dump(tree, sort_keys=False, width=10000).replace("'", ""))
    done = subprocess.run([program, "solve", "--format", "json", *files], capture_output=True, text=True, check=False)
    if done.stderr:
        print(done.stderr[:2000])
    return json.loads(done.stdout)


def main():
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 21
    rng = np.random.default_rng(int(sys.argv[3]) if len(sys.argv) > 3 else 4)
    trees, pairs = [], []
    for k in range(count):
        case = oc.Case(rng, k % 7, f"case-{k}")
        first = len(trees)
        trees.append(yaml.load(case.text, yaml.BaseLoader))
        for way in WAYS:
            if way is with_sensors_scaled and not case.limited:
                continue
            tree = yaml.load(case.text, yaml.BaseLoader)
            pairs.append((case, way, first, len(trees), way(tree)))
            trees.append(tree)
    with tempfile.TemporaryDirectory() as folder:
        answers = solve(sys.argv[1], trees, Path(folder))
    failures = 0
    for case, way, one, two, factor in pairs:
        for text in differences(case, answers[one], answers[two], factor):
            failures += 1
            print(f"{case.name}, {op.NAMES[case.objective]}, {way.__name__}: {text}")
    print(dict(seen))
    if failures or seen["infeasible"] < 3 or seen["optimal"] < 3 * count:
        print(f"{failures} differences among {len(pairs)} pairs")
        return 1
    print(f"{len(pairs)} pairs of cases have the same answer")
    return 0


if __name__ == "__main__":
    sys.exit(main())

#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Orbits of probe pairs through the program: circles in closed form, the path itself, limits, wrong and open cases.

usage: test_pairs.py PROGRAM
"""
import json
import math
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

from outside import outside

PROGRAM = sys.argv[1]
CASE = Path(tempfile.mkdtemp()) / "case.yaml"
RNG = np.random.default_rng(45)
failures = []


def check(holds, what):
    if not holds:
        failures.append(what)


def run(command, text, *options):
    CASE.write_text(text)
    done = subprocess.run([PROGRAM, command, "--format", "json", *options, str(CASE)], capture_output=True, text=True,
                          check=False)
    if not done.stdout:
        failures.append(f"{command}: {done.stderr}\n{text}")
    return json.loads(done.stdout) if done.stdout else None, done.stderr


def phasor(value, lag):
    return f"{abs(value)!r} @ {math.degrees(-np.angle(value) if lag else np.angle(value))!r}"


def seen(forward, backward, angle):
    """Reading, phase lead, of a probe at `angle` (in the direction of rotation) of the path
    F exp(iwt) + conj(B) exp(-iwt): its projection is Re[(F exp(-ia) + B exp(ia)) exp(iwt)]."""
    return forward * np.exp(-1j * angle) + backward * np.exp(1j * angle)


def longest(forward, backward):
    """Half the longest diameter of the path, by walking along it."""
    turn = np.linspace(0, 2 * np.pi, 20001)
    path = forward * np.exp(1j * turn) + np.conj(backward) * np.exp(-1j * turn)
    return np.abs(path).max()


def case(orbits, angles, lag=True, limit=None, objective="{minimise: min-max}", a=None, sensor_limit=60, extra="",
         rows="[forward, major-axis]"):
    """One speed; orbits: list of (F, B) per bearing; a: coefficients rows × planes (phase lead)."""
    lines = ["case: {format: 1}",
             f"conventions: {{phase: {'lag' if lag else 'lead'}, mass_angle: with-rotation}}", "speeds: [{id: s, speed: 3000}]",
             "sensors:"]
    names, readings = [], []
    limits = f", limit: {sensor_limit}" if sensor_limit else ""
    for b, orbit in enumerate(orbits):
        for n, angle in enumerate(angles):
            names.append(f"b{b}{'xy'[n]}")
            readings.append(seen(*orbit, math.radians(angle)))
            lines.append(f"  - {{id: {names[-1]}, angle: {angle!r}{limits}, repeatability: 1.5}}")
    lines.append("pairs:")
    bound = f", limit: {limit!r}" if limit else ""
    lines += [f"  - {{id: b{b}, sensors: [b{b}x, b{b}y], rows: {rows}{bound}}}" for b in range(len(orbits))]
    a = np.ones((len(names), 1)) if a is None else a
    lines.append("planes: [" + ", ".join(f"{{id: p{j}, cap: 200}}" for j in range(a.shape[1])) + "]")
    read = ", ".join(f"{n}: {phasor(r, lag)}" for n, r in zip(names, readings))
    lines += [f"runs: [{{id: as-found, readings: {{s: {{{read}}}}}}}]", "influence:"]
    lines += [f"  - {{plane: p{j}, speed: s, sensor: {n}, value: {phasor(a[i, j], lag)}, uncertainty: 0.05}}"
              for i, n in enumerate(names) for j in range(a.shape[1])]
    lines += [f"objective: {objective}", extra]
    return "\n".join(lines).replace("np.float64(", "").replace(")", "") + "\n"


def orbit_rows(result):
    return {(e["pair"], e["row"]): e for e in result["predicted"] if "pair" in e}


# ---- circles in closed form, in both phase conventions ----

worst = 0.0
for trial in range(20):
    forward, backward = (z * np.exp(2j * np.pi * RNG.random()) for z in RNG.uniform(1, 60, 2))
    angles = (45.0, 135.0) if trial < 10 else tuple(float(v) for v in RNG.choice(np.arange(0, 170, 20), 2, replace=False))
    lag = bool(trial % 2)
    found, _ = run("solve", case([(forward, backward)], angles, lag, objective="{use_planes: []}"))
    if not found:
        continue
    rows = orbit_rows(found)
    pairs = [(rows["b0", "forward"]["before"]["amplitude"], abs(forward)),
             (rows["b0", "major-axis"]["before"]["amplitude"], abs(forward) + abs(backward))]
    worst = max([worst, *(abs(a / b - 1) for a, b in pairs)])
    walked = longest(forward, backward)
    check(abs(pairs[1][0] / walked - 1) < 1e-6, f"the longest diameter is {walked}, told {pairs[1][0]}")
    check(rows["b0", "forward"]["before"]["phase"] is None, "an orbit row has a phase")
    check([e.get("sensor", e.get("row")) for e in found["predicted"]] == ["b0x", "b0y", "forward", "major-axis"],
          "orbits stand after the sensors of their speed")
check(worst < 1e-12, f"circles are off by {worst}")
if worst < 1e-12:
    outside("forward circle and major axis of probe pairs, at 45/135 degrees and other angles",
            "closed form of the circles, and walking along the path", "constructed",
            "20 orbits to 1e-12, in phase lag and lead")

# A straight line halfway between two probes at right angles: each reads 1/sqrt(2) of it.
best = min(np.linspace(0, 360, 721), key=lambda t: max(
    abs(seen(50, 50 * np.exp(1j * math.radians(t)), math.radians(v))) for v in (45, 135)))
found, _ = run("solve", case([(50, 50 * np.exp(1j * math.radians(best)))], (45.0, 135.0), objective="{use_planes: []}"))
sizes = [e["before"]["amplitude"] for e in found["predicted"]]
under = 1 - max(sizes[:2]) / sizes[3]
check(abs(under - (1 - math.sqrt(0.5))) < 1e-9, f"under-read by {under}")
if abs(under - (1 - math.sqrt(0.5))) < 1e-9:
    outside("what two perpendicular probes can under-read the major axis by", "1 - 1/sqrt(2) of a line between them",
            "constructed", "29.3 % to 1e-9")


# ---- objectives with orbits, against brute force over one plane ----

def brute(value):
    """Least value over one complex mass of at most 200, by a simplex search begun again where it ended."""
    at, best = np.zeros(2), math.inf
    for _ in range(30):
        found = minimize(lambda v: value(complex(*v)) + 1e3 * max(0, np.hypot(*v) - 200), at, method="Nelder-Mead",
                         options={"xatol": 1e-12, "fatol": 1e-14, "maxiter": 2000})
        if found.fun > best * (1 - 1e-12):
            break
        at, best = found.x, found.fun
    return best


ANGLES = (45.0, 135.0)
for trial in range(4):
    orbits = [(RNG.uniform(20, 60) * np.exp(2j * np.pi * RNG.random()), RNG.uniform(2, 20) * np.exp(2j * np.pi * RNG.random()))
              for _ in range(2)]
    own = RNG.normal(size=(4, 1)) + 1j * RNG.normal(size=(4, 1))
    y = np.array([seen(*o, math.radians(v)) for o in orbits for v in ANGLES])
    a1, a2 = (math.radians(v) for v in ANGLES)
    turn = np.array([[np.exp(-1j * a1), np.exp(1j * a1)], [np.exp(-1j * a2), np.exp(1j * a2)]])

    def largest(z, weights=(1 / 60, 1 / 50)):
        r = y + own[:, 0] * z
        circles = [np.abs(np.linalg.solve(turn, r[k:k + 2])) for k in (0, 2)]
        return max(weights[0] * np.abs(r).max(), *(weights[1] * c.sum() for c in circles))

    found, _ = run("solve", case(orbits, ANGLES, limit=50, a=own))
    value = brute(largest)
    check(found and abs(found["objective"]["value"] / value - 1) < 1e-6, f"min-max {found['objective']}, by hand {value}")
    check(found["objective"]["gap"] < 1e-8, "min-max with orbits is not proven")
    rows = orbit_rows(found)
    ratio = max(max(e["after"]["amplitude"] / e["limit"] for e in rows.values()),
                max(e["after"]["amplitude"] / 60 for e in found["predicted"] if "sensor" in e))
    check(abs(ratio / value - 1) < 1e-9 or ratio <= value * (1 + 1e-9), f"largest ratio {ratio}")
    limit = 50 * value * 1.2
    for objective in ("{minimise: least-mass}", "{within_limits: true}", "{minimise: confidence}"):
        found, _ = run("solve", case(orbits, ANGLES, limit=limit, a=own, sensor_limit=repr(1.2 * 60 * value), objective=objective))
        sizes = [e["after"]["amplitude"] / e["limit"] for e in orbit_rows(found).values()]
        check(found["status"] == "optimal" and max(sizes) <= 1 + 1e-9, f"{objective}: {found['status']} {sizes}")
    found, _ = run("solve", case(orbits, ANGLES, limit=limit * 0.8, a=own, sensor_limit=1000, objective="{minimise: least-mass}"))
    if found["status"] == "infeasible":
        check(all("pair" in e or "plane" in e for e in found["conflict"]), f"conflict of orbits: {found['conflict']}")
    # Sensors without limits beside orbits with one: what does not weigh them against each other is answered (min-max refuses).
    found, _ = run("solve", case(orbits, ANGLES, limit=50, a=own, sensor_limit=None, objective="{minimise: least-squares}"))
    check(found["status"] == "optimal", "sensors without limits")

# Confidence: the guarantee by hand from the spreads that the program tells (sd of the parts add).
found, _ = run("solve", case(orbits, ANGLES, limit=90, a=own, sensor_limit=80, objective="{minimise: confidence}"))
kappa = found["objective"]["value"]
radius = math.sqrt(math.log(10))
rooms = [(e["limit"] - e["after"]["amplitude"]) / (e["spread90"] / radius) for e in found["predicted"]]
check(abs(min(rooms) / kappa - 1) < 1e-6, f"kappa {kappa}, by hand {min(rooms)}")

# ---- the other commands, and what is left out ----

two = case(orbits, ANGLES, limit=60, a=np.hstack([own, own[::-1] * 0.7j]))
found, _ = run("planes", two)
check(found and all(s["value"] is not None for s in found["sets"]), "planes with orbits")
alone, _ = run("solve", two)
whole = [s for s in found["sets"] if len(s["planes"]) == 2][0]
check(abs(whole["value"] / alone["objective"]["value"] - 1) < 1e-8, "planes and solve differ on orbits")
for command in ("check", "influence"):
    check(run(command, two)[0] is not None, command)

found, _ = run("solve", two.replace("objective: {minimise: min-max}", "objective: {minimise: min-max, drop_rows: [[b0x, s]]}"))
named = [e for e in found["sensitivities"]["limits"] if "pair" in e]
check([e["pair"] for e in named] == ["b1", "b1"], f"a pair with a dropped reading counts: {named}")

lines = [line for line in two.splitlines() if "sensor: b1y" not in line]
start = next(i for i, line in enumerate(lines) if line.startswith("runs:"))
lines[start] = lines[start][:lines[start].rindex(", b1y:")] + "}}]"
lines[start] = lines[start].replace("}}]", "}}}]")
found, err = run("solve", "\n".join(lines) + "\n")
check(found and {e["pair"] for e in found["predicted"] if "pair" in e} == {"b0"} and "b1y" in err, f"half a pair: {err}")

print("\n".join(failures) if failures else "orbits agree with closed forms, brute force and the path itself")
sys.exit(1 if failures else 0)

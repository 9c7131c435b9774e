#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Errors that earlier coefficients share (`uncertainty: {common: ...}`), where their covariance is used: a run held
against its prediction, orbits of probe pairs, and a record that widens them. Covariances by hand, constructed cases.

A coefficient of sensor i on plane j is value·(1 + u (sqrt(common) g_j + sqrt(1 - common) h_ij)), g and h standard
complex normal, so the change by masses x has the covariance

    C_ik = sum_j |x_j|² u² value_ij conj(value_kj) (common + (1 - common) [i = k])

usage: test_shared.py PROGRAM
"""
import json
import math
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from scipy.stats import gamma

from outside import outside

PROGRAM = sys.argv[1]
FOLDER = Path(tempfile.mkdtemp())
RNG = np.random.default_rng(31)
SHARES = (0.0, 0.4, 0.9, 1.0)
U, SIGMA = 0.15, 1.5
failures = []


def check(holds, what):
    if not holds:
        failures.append(what)


def run(command, text, *options):
    path = FOLDER / "case.yaml"
    path.write_text(text)
    done = subprocess.run([PROGRAM, command, "--format", "json", *options, str(path)], capture_output=True, text=True,
                          check=False)
    check(done.stdout, f"{command}: {done.stderr}\n{text}")
    return json.loads(done.stdout)


def phasor(z):
    return f"{float(abs(z))!r} @ {math.degrees(np.angle(z))!r}"


def complexes(*shape):
    return RNG.normal(size=shape) + 1j * RNG.normal(size=shape)


def case(a, states, readings, common, sensor="", extra=""):
    """One speed; states: masses by run; readings: by run; coefficients known to U of themselves, `common` shared."""
    sensors, planes = a.shape
    lines = ["case: {format: 1}", "conventions: {phase: lead, mass_angle: with-rotation}",
             "speeds: [{id: s, speed: 3000}]", "sensors:"]
    lines += [f"  - {{id: r{i}, angle: {45 + 90 * (i % 2)}, repeatability: {SIGMA}{sensor}}}" for i in range(sensors)]
    lines += ["planes: [" + ", ".join(f"{{id: p{j}, radius: 200}}" for j in range(planes)) + "]", "runs:"]
    for k, (x, r) in enumerate(zip(states, readings)):
        masses = ", ".join(f"{{plane: p{j}, mass: {float(abs(m))!r}, angle: {math.degrees(np.angle(m))!r}}}"
                           for j, m in enumerate(x) if m)
        read = ", ".join(f"r{i}: {phasor(v)}" for i, v in enumerate(r))
        lines.append(f"  - {{id: run {k}, masses: [{masses}], readings: {{s: {{{read}}}}}}}")
    lines.append("influence:")
    lines += [f"  - {{plane: p{j}, speed: s, sensor: r{i}, value: {phasor(a[i, j])}, "
              f"uncertainty: {{size: {U}, phase: 0, common: {common}}}}}" for i in range(sensors) for j in range(planes)]
    return "\n".join(lines) + "\n" + extra


def covariance(a, x, common):
    """Of the change of all readings by the masses x."""
    part = U * a * x
    return common * (part @ part.conj().T) + (1 - common) * np.diag((abs(part)**2).sum(axis=1))


def likelihood(d, c):
    """log of exp(-d^H C^-1 d)/det C, and the first part."""
    t = np.vdot(d, np.linalg.solve(c, d)).real
    return -t - np.linalg.slogdet(c)[1], t


# ---- a run against what the coefficients let expect ----

def run_against_prediction(number):
    common = SHARES[number % 4]
    a, y = complexes(4, 2), 30 * complexes(4)
    x = 20 * complexes(2)
    error = U * (a * x) @ (math.sqrt(common) * complexes(2) / math.sqrt(2))
    measured = y + a @ x + error + SIGMA * complexes(4) / math.sqrt(2)
    tree = run("check", case(a, [[0, 0], x], [y, measured], common), "--so-far")
    noise = 2 * SIGMA**2 * np.eye(4)  # of the run and of the as-found run
    _, t = likelihood(measured - y - a @ x, noise + covariance(a, x, common))
    chance = gamma.sf(t, 4)
    check(abs(tree["so_far"]["chance"] / chance - 1) < 1e-9,
          f"common {common}: chance {tree['so_far']['chance']}, by hand {chance}")


def explanations(number):
    """Masses of one plane forgotten or put on the other side: how likely each makes the readings."""
    common = SHARES[number % 4]
    a, y, x = 0.35 * complexes(4, 2), 100 * complexes(4), 20 * np.exp(1j * np.array([0.4, 2.2]))
    really = np.array([-0.45 * x[0], x[1]])
    measured = y + a @ really
    tree = run("check", case(a, [[0, 0], x], [y, measured], common))
    found = next((f["explanations"] for f in tree["findings"] if f["code"] == "mounted-differently"), [])
    told = {(e["kind"], e.get("plane")): e["likelihood"] for e in found if "and" not in e}
    noise, log = 2 * SIGMA**2 * np.eye(4), {}
    for kind, ratio in (("mass-missing", 0), ("opposite-side", -1)):
        z = np.array([ratio * x[0], x[1]])
        log[kind] = likelihood(measured - y - a @ z, noise + covariance(a, z, common))[0]
    ratio = math.exp(log["mass-missing"] - log["opposite-side"])
    both = [told.get((kind, "p0")) for kind in log]
    if None not in both:
        check(abs(both[0] / both[1] / ratio - 1) < 1e-6, f"common {common}: missing to opposite {both}, by hand {ratio}")
    return common > 0 and None not in both


# ---- orbits ----

def orbit_spread(number):
    """90 % radius of the forward circle and of the major axis, whose parts' deviations add."""
    common = SHARES[number % 4]
    a, y, z = complexes(2, 2), 40 * complexes(2), 10 * complexes(2)
    objective = "{fixed: {" + ", ".join(f"p{j}: {phasor(m)}" for j, m in enumerate(z)) + "}}"
    tree = run("solve", case(a, [[0, 0]], [y], common, ", limit: 60",
                             f"pairs: [{{id: b, sensors: [r0, r1], rows: [forward, major-axis], limit: 70}}]\nobjective: {objective}\n"))
    angle = np.radians([45, 135])
    parts = np.linalg.inv(np.column_stack([np.exp(-1j * angle), np.exp(1j * angle)]))
    c = SIGMA**2 * np.eye(2) + covariance(a, z, common)
    deviation = np.sqrt(np.diag(parts @ c @ parts.conj().T).real)
    rows = {e["row"]: e["spread90"] / math.sqrt(math.log(10)) for e in tree["predicted"] if "pair" in e}
    for row, by_hand in (("forward", deviation[0]), ("major-axis", deviation.sum())):
        check(abs(rows[row] / by_hand - 1) < 1e-9, f"common {common}: {row} {rows[row]}, by hand {by_hand}")


# ---- records ----

def record(number):
    """What the case adds to a record's spread: squares add, and so do the squares of the shared parts."""
    common, more, also = SHARES[number % 4], 0.2, 0.5
    a, y = complexes(2, 1), 40 * complexes(2)
    (FOLDER / "old.yaml").write_text(case(a, [[0]], [y], common))
    subprocess.run([PROGRAM, "influence", "--record", str(FOLDER / "r.yaml"), str(FOLDER / "old.yaml")], check=True,
                   capture_output=True)
    check(("common" in (FOLDER / "r.yaml").read_text()) == (common > 0), f"common {common} in the record")
    text = case(a, [[0]], [y], common)
    text = text[:text.index("influence:")] + (f"influence: [{{record: r.yaml, uncertainty: {{size: {100 * more} %, "
                                              f"phase: 0, common: {also}}}}}]\n")
    told = {c["sensor"]: c["std"] for c in run("influence", text)["coefficients"]}
    for i in range(2):
        by_hand = abs(a[i, 0]) * math.hypot(U, more)
        check(abs(told[f"r{i}"] / by_hand - 1) < 1e-9, f"record: {told} by hand {by_hand}")
    # the shared part shows where a run is told: as-found, then 10 g
    measured = y + a[:, 0] * 10 + complexes(2)
    runs = case(a, [[0], [10]], [y, measured], common)
    tree = run("check", runs[:runs.index("influence:")] + text[text.index("influence:"):], "--so-far")
    part = a * 10
    shared = common * U**2 + also * more**2
    c = (2 * SIGMA**2 * np.eye(2) + shared * (part @ part.conj().T) +
         (U**2 + more**2 - shared) * np.diag(abs(part[:, 0])**2))
    chance = gamma.sf(likelihood(measured - y - part[:, 0], c)[1], 2)
    check(abs(tree["so_far"]["chance"] / chance - 1) < 1e-9,
          f"record, common {common}: chance {tree['so_far']['chance']}, by hand {chance}")


for number in range(12):
    run_against_prediction(number)
compared = sum(bool(explanations(number)) for number in range(24))
check(compared >= 8, f"only {compared} pairs of explanations could be compared")
for number in range(8):
    orbit_spread(number)
    record(number)
if not failures:
    outside("errors that coefficients share: chance of a run, odds of explanations, spread of orbits, records",
            "covariance written out by hand", "constructed", f"12 runs, {compared} pairs of explanations, 8 orbits, 8 records")
print("\n".join(failures) if failures else "shared errors agree with covariances by hand")
sys.exit(1 if failures else 0)

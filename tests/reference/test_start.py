#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""`tolerance` and `trial` against statics and brute force done here, independently; their exit statuses and messages.

usage: test_start.py PROGRAM
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
FOLDER = Path(tempfile.mkdtemp())
RNG = np.random.default_rng(20260314)
SURE = math.sqrt(math.log(100))  # radius that holds 99 % of a complex error with E|e|^2 = 1
failures = []


def check(holds, what):
    if not holds:
        failures.append(what)


def near(a, b, tolerance=1e-9):
    return abs(a - b) <= tolerance * max(abs(a), abs(b), 1e-30)


def run(command, text, *options):
    path = FOLDER / "case.yaml"
    path.write_text(text)
    done = subprocess.run([PROGRAM, command, *options, str(path)], capture_output=True, text=True, check=False)
    return done.returncode, done.stdout, done.stderr


def result(command, text, *options):
    status, out, err = run(command, text, "--format", "json", *options)
    check(out, f"{command}: no result: {err}\n{text}")
    return status, json.loads(out) if out else None


HEAD = "case: {format: 1}\n"


# ---- tolerance: statics of 50 random arrangements ----

def statics(a, b, s):
    """Reactions of two supports to a unit weight at s, from the two equations of equilibrium."""
    return np.linalg.solve(np.array([[1.0, 1.0], [a, b]]), np.array([1.0, s]))


def best_planes(lever, u):
    """Largest product of plane values under both bearings' values, by a general optimiser."""
    n = lever.shape[1]
    start = np.full(n, 0.3 * min(u[k] / lever[k].sum() for k in range(2)))
    found = minimize(lambda x: -np.log(x).sum(), start / start[0], method="SLSQP",
                     bounds=[(1e-9, None)] * n, options={"maxiter": 500, "ftol": 1e-15},
                     constraints=[{"type": "ineq", "fun": lambda x, k=k: u[k] - lever[k] @ x * start[0]}
                                  for k in range(2)])
    return found.x * start[0]


def arrangement(number):
    a, b = RNG.uniform(-1000, 1000), RNG.uniform(1200, 4000)
    if number % 5 == 4:
        a, b = b, a
    inside = number % 2 == 0
    low, high = min(a, b), max(a, b)
    s = RNG.uniform(low, high) if inside else high + RNG.uniform(10, 1500) if number % 4 == 1 else low - RNG.uniform(10, 1500)
    mass, rpm, grade = RNG.uniform(50, 9000), RNG.uniform(300, 12000), RNG.choice([1, 2.5, 6.3, 16])
    places = RNG.uniform(low - 500, high + 500, RNG.integers(1, 5))
    planes = "".join(f"  - {{id: P{j}, position: {p!r}, radius: 250}}\n" for j, p in enumerate(map(float, places)))
    text = HEAD + "conventions: {phase: lag, mass_angle: with-rotation}\n" + f"""
rotor: {{mass: {mass!r} kg, service_speed: {rpm!r}, grade: G{grade:g}, mass_centre: {float(s)!r},
  bearings: [{{id: A, position: {a!r}}}, {{id: B, position: {b!r}}}]}}
planes:
{planes}"""
    status, got = result("tolerance", text)
    check(status == 0, f"arrangement {number}: exit {status}")
    reaction = statics(a, b, s)
    whole = grade * mass / (rpm * math.pi / 30) * 1e3
    limits = (0.3, 0.7) if reaction.min() >= 0 else (0.3, 1.3)
    share = np.clip(np.abs(reaction), *limits)
    check(near(got["permissible"]["value"], whole), f"arrangement {number}: whole")
    check(got["arrangement"] == ("inboard" if reaction.min() >= 0 else "outboard"), f"arrangement {number}: kind")
    for k, bearing in enumerate(got["permissible"]["bearings"]):
        check(near(bearing["value"], whole * share[k]), f"arrangement {number}: bearing {k}")
        check(near(bearing["static_load"], mass * 9.80665 * reaction[k]), f"arrangement {number}: load {k}")
        check(near(bearing["mass_speed_rule"], 6350 * abs(mass * reaction[k]) / min(rpm, 25000)),
              f"arrangement {number}: mass/speed rule {k}")
    lever = np.abs(np.array([statics(a, b, p) for p in places]).T)
    values = np.array([p["value"] for p in got["permissible"]["planes"]])
    check((lever @ values <= whole * share * (1 + 1e-9)).all(), f"arrangement {number}: planes pass a bearing")
    best = best_planes(lever, whole * share)
    check(np.log(values).sum() >= np.log(best).sum() - 1e-6, f"arrangement {number}: planes could carry more")


# ---- tolerance: residual unbalance put into a rigid rotor ----

def phasor(z, sign):
    return f"{abs(z)!r} @ {math.degrees(sign * np.angle(z)) % 360!r}"


def rigid_rotor(number):
    """Sensors answer to the forces on two bearings; the residual unbalance must come back from two trial runs."""
    lag, against = bool(number & 1), bool(number & 2)
    phase, turn = (-1 if lag else 1), (-1 if against else 1)
    at, places, radius = np.array([0.0, 2000.0]), RNG.uniform(100, 1900, 2), 200.0
    places[1] = places[0] + 400 if abs(places[0] - places[1]) < 300 else places[1]
    felt = np.array([statics(*at, p) for p in places]).T
    answer = RNG.normal(size=(3, 2)) + 1j * RNG.normal(size=(3, 2))        # um per kg mm of unbalance at the bearings
    unbalance = 40 * (RNG.normal(size=2) + 1j * RNG.normal(size=2))        # g mm / 1000 at the planes
    def reading(masses):
        return answer @ felt @ (unbalance + np.array(masses) * radius / 1000)
    def readings(masses):
        return "{" + ", ".join(f"s{i}: {phasor(r, phase)}" for i, r in enumerate(reading(masses))) + "}"
    text = HEAD + f"""
conventions: {{phase: {'lag' if lag else 'lead'}, mass_angle: {'against' if against else 'with'}-rotation}}
rotor: {{mass: 2000 kg, service_speed: 1500, grade: G6.3, mass_centre: 1000, first_resonance: 9000,
  bearings: [{{id: A, position: 0}}, {{id: B, position: 2000}}]}}
speeds: [{{id: run, speed: 1500}}]
sensors: [{{id: s0, repeatability: 0.01}}, {{id: s1, repeatability: 0.01}}, {{id: s2, repeatability: 0.01}}]
planes: [{{id: P0, position: {float(places[0])!r}, radius: 200}}, {{id: P1, position: {float(places[1])!r}, radius: 200}}]
runs:
  - {{id: r0, readings: {{run: {readings([0, 0])}}}}}
  - {{id: r1, masses: [{{plane: P0, mass: 300, angle: 0}}], readings: {{run: {readings([300, 0])}}}}}
  - {{id: r2, masses: [{{plane: P1, mass: 300, angle: 0}}], readings: {{run: {readings([0, 300])}}}}}
now: {{masses: []}}
"""
    _, got = result("tolerance", text)
    truth = felt @ unbalance * 1000
    for k, bearing in enumerate(got["reached"]["bearings"]):
        found = bearing["value"] * np.exp(1j * math.radians(turn * bearing["angle"]))
        check(abs(found - truth[k]) <= 1e-7 * abs(truth).max(), f"rigid rotor {number}: bearing {k}: {found} {truth[k]}")
    worst = max(abs(truth) / [b["value"] for b in got["permissible"]["bearings"]])
    check(near(got["reached"]["grade"], 6.3 * worst, 1e-6), f"rigid rotor {number}: grade")


# ---- trial: brute force over all angles ----

def random_trial(number):
    """Known influence, exact or uncertain, alarms on some sensors; what may the mass be at every angle?"""
    sensors, uncertain = int(RNG.integers(1, 5)), number % 3 == 0
    y = RNG.uniform(5, 70, sensors) * np.exp(2j * np.pi * RNG.uniform(size=sensors))
    a = RNG.uniform(0.05, 1.2, sensors) * np.exp(2j * np.pi * RNG.uniform(size=sensors))
    u = RNG.uniform(0.01, 0.2, sensors) if uncertain else np.zeros(sensors)
    sigma = RNG.uniform(0.2, 4, sensors)
    limit, alarm, trip = RNG.uniform(30, 60, sensors), RNG.uniform(71, 130, sensors), RNG.uniform(140, 200, sensors)
    kind = RNG.integers(0, 3, sensors)
    ceiling = np.where(kind == 0, alarm, np.where(kind == 1, trip, 1.25 * np.maximum(limit, abs(y))))
    rows = []
    for i in range(sensors):
        extra = [f"alarm: {float(alarm[i])!r}, trip: {float(trip[i])!r}", f"trip: {float(trip[i])!r}", ""][kind[i]]
        rows.append(f"  - {{id: s{i}, repeatability: {float(sigma[i])!r}, limit: {float(limit[i])!r}{', ' if extra else ''}{extra}}}")
    known = "\n".join(f"  - {{plane: P, speed: run, sensor: s{i}, value: {phasor(a[i], 1)}"
                      + (f", uncertainty: {float(u[i])!r}" if uncertain else "") + "}" for i in range(sensors))
    cap = RNG.uniform(5, 200)
    text = HEAD + f"""
conventions: {{phase: lead, mass_angle: with-rotation}}
rotor: {{service_speed: 3000}}
speeds: [{{id: run, speed: 3000}}]
sensors:
""" + "\n".join(rows) + f"""
planes: [{{id: P, radius: 300, cap: {cap!r}}}]
runs: [{{id: r, readings: {{run: {{{', '.join(f's{i}: {phasor(y[i], 1)}' for i in range(sensors))}}}}}}}]
influence:
{known}
"""
    status, got = result("trial", text)
    trial = got["planes"][0]
    upper, lower = trial["upper"], trial["lower"]
    check(near(lower, min(7 * sigma / abs(a)), 1e-9), f"trial {number}: lower {lower}")
    angles = np.exp(2j * np.pi * np.arange(1440) / 1440)
    errors = SURE * np.exp(2j * np.pi * np.arange(72) / 72)
    def worst(mass):
        return max(abs(y[i] + (a[i] + u[i] * errors[None, :]) * mass * angles[:, None]).max() / ceiling[i]
                   for i in range(sensors))
    check(upper <= cap * (1 + 1e-12) and worst(upper) <= 1 + 1e-9, f"trial {number}: upper bound is not safe")
    check(near(upper, cap) or worst(upper * 1.01) > 1, f"trial {number}: upper bound is too careful")
    possible = lower <= upper
    check(trial["possible"] == possible and status == (0 if possible else 1), f"trial {number}: verdict, exit {status}")
    if possible:
        check(lower * (1 - 1e-12) <= trial["mass"] <= upper * (1 + 1e-12), f"trial {number}: proposal outside its bounds")
    else:
        check(trial["mass"] is None and trial["alternatives"] is not None, f"trial {number}: refusal with a mass")
        runs = trial["alternatives"]["runs_of_each_state"]
        correction = trial["alternatives"]["correction"]
        if trial["alternatives"]["correction_as_trial"]:
            x = correction["mass"] * np.exp(1j * math.radians(correction["angle"]))
            reached = max(abs(y[i] + a[i] * x) + SURE * u[i] * abs(x) - ceiling[i] for i in range(sensors))
            check(reached <= 1e-9 * ceiling.max() and abs(x) <= cap and abs(x) >= lower * (1 - 1e-12),
                  f"trial {number}: the correction is no safe trial")
        check(runs is None or lower / math.sqrt(runs) <= upper * (1 + 1e-9), f"trial {number}: repeats do not help")
    if trial["angle"] is not None and not uncertain:
        weight = 1 / ceiling
        grid = np.exp(1j * np.radians(np.arange(0, 360, 0.05)))
        size = abs((np.conj(a) * weight**2 * y).sum()) / (abs(a)**2 * weight**2).sum()
        cost = (abs(weight * (y + a * size * grid[:, None]))**2).sum(axis=1)
        best = 0.05 * int(cost.argmin())
        check(abs((trial["angle"] - best + 180) % 360 - 180) <= 0.06, f"trial {number}: angle {trial['angle']} {best}")
    return possible


# ---- residual unbalance: what readings have in common ----

def shared_errors(number):
    """The radius against the latent errors written out one by one: value·u·(sqrt(common) g_plane + sqrt(1 - common) h)."""
    common, u, sigma = (0.0, 0.3, 0.7, 1.0)[number % 4], 0.12, 0.05
    at, places, radius = np.array([0.0, 2000.0]), np.array([300.0, 1600.0]), np.array([200.0, 260.0])
    a = RNG.normal(size=(3, 2)) + 1j * RNG.normal(size=(3, 2))
    y = 40 * (RNG.normal(size=3) + 1j * RNG.normal(size=3))
    known = "\n".join(f"  - {{plane: P{j}, speed: run, sensor: s{i}, value: {phasor(a[i, j], 1)}, "
                      f"uncertainty: {{size: {u}, phase: 0, common: {common}}}}}" for i in range(3) for j in range(2))
    text = HEAD + f"""
conventions: {{phase: lead, mass_angle: with-rotation}}
rotor: {{mass: 2000 kg, service_speed: 1500, grade: G6.3, mass_centre: 1000, first_resonance: 9000,
  bearings: [{{id: A, position: 0}}, {{id: B, position: 2000}}]}}
speeds: [{{id: run, speed: 1500}}]
sensors: [{{id: s0, repeatability: {sigma}}}, {{id: s1, repeatability: {sigma}}}, {{id: s2, repeatability: {sigma}}}]
planes: [{{id: P0, position: 300, radius: 200}}, {{id: P1, position: 1600, radius: 260}}]
runs: [{{id: r, readings: {{run: {{{', '.join(f's{i}: {phasor(y[i], 1)}' for i in range(3))}}}}}}}]
influence:
{known}
"""
    _, got = result("tolerance", text)
    inverse = np.linalg.pinv(a)
    x = -inverse @ y
    for k, bearing in enumerate(got["reached"]["bearings"]):
        w = np.array([statics(*at, p)[k] for p in places]) * radius @ inverse
        part = w[:, None] * a * u * x[None, :]
        variance = (sigma**2 * (abs(w)**2).sum() + common * (abs(part.sum(axis=0))**2).sum()
                    + (1 - common) * (abs(part)**2).sum())
        check(near(bearing["radius"], math.sqrt(math.log(10) * variance), 1e-7),
              f"shared errors {number}: bearing {k}: {bearing['radius']} {math.sqrt(math.log(10) * variance)}")


# ---- trial on a set ----

def trial_on_set(number):
    """Planes tried together only: their pattern is known, each plane by itself is not; bounds against brute force."""
    lag, against, sensors = bool(number & 1), bool(number & 2), 3
    phase, turn = (-1 if lag else 1), (-1 if against else 1)
    zero = RNG.uniform(0, 360, 2)                      # degrees, in the case's counting direction
    ratio = RNG.uniform(0.4, 2, 2) * np.exp(2j * np.pi * RNG.uniform(size=2))
    a = RNG.normal(size=(sensors, 2)) + 1j * RNG.normal(size=(sensors, 2))
    y = 40 * np.exp(2j * np.pi * RNG.uniform(size=sensors)) * RNG.uniform(0.4, 1, sensors)
    sigma, alarm, cap = RNG.uniform(0.01, 0.1, sensors), RNG.uniform(50, 120, sensors), RNG.uniform(5, 60, 2)
    tried = 10 * np.exp(1j * RNG.uniform(0, 6))
    def readings(m):
        return "{run: {" + ", ".join(f"s{i}: {phasor(r, phase)}" for i, r in enumerate(y + a @ ratio * m)) + "}}"
    text = HEAD + f"""
conventions: {{phase: {'lag' if lag else 'lead'}, mass_angle: {'against' if against else 'with'}-rotation}}
speeds: [{{id: run, speed: 3000}}]
sensors:
""" + "\n".join(f"  - {{id: s{i}, repeatability: {float(sigma[i])!r}, alarm: {float(alarm[i])!r}, limit: 20}}" for i in range(sensors)) + f"""
planes:
  - {{id: P0, radius: 300, zero: {float(zero[0])!r}, cap: {float(cap[0])!r}}}
  - {{id: P1, radius: 200, zero: {float(zero[1])!r}, cap: {float(cap[1])!r}}}
sets: [{{id: both, of: {{P0: {phasor(ratio[0], turn)}, P1: {phasor(ratio[1], turn)}}}}}]
runs:
  - {{id: r0, readings: {readings(0)}}}
  - {{id: r1, masses: [{{plane: both, mass: 10, angle: {math.degrees(turn * np.angle(tried)) % 360!r}}}], readings: {readings(tried)}}}
now: {{masses: []}}
"""
    status, got = result("trial", text, "--plane", "both")
    trial = got["planes"][0]
    check(trial["plane"] == "both" and len(trial["masses"]) == 2, f"set {number}: shape")
    upper, response = trial["upper"], a @ ratio
    check(trial["unguarded_readings"] == 0, f"set {number}: the pattern should be known")
    check(near(trial["lower"], min(7 * sigma / abs(response)), 1e-7), f"set {number}: lower")
    angles = np.exp(2j * np.pi * np.arange(3600) / 3600)
    spread = np.sqrt(2) * sigma / 10                   # of the difference of two runs over the trial mass
    def worst(m):
        reach = abs(y + response * m * angles[:, None]).max(axis=0) + SURE * spread * m
        return max((reach / alarm).max(), (abs(ratio) * m / cap).max())
    check(abs(worst(upper) - 1) <= 1e-5, f"set {number}: upper bound {upper} reaches {worst(upper)}")
    if trial["possible"] and trial["angle"] is not None:
        direction = np.exp(1j * math.radians(turn * trial["angle"]))
        grid = np.exp(1j * np.radians(np.arange(0, 360, 0.05)))
        size = abs((np.conj(response) / alarm**2 * y).sum()) / (abs(response)**2 / alarm**2).sum()
        cost = (abs((y + response * size * grid[:, None]) / alarm)**2).sum(axis=1)
        check(abs(np.angle(direction / grid[cost.argmin()], deg=True)) <= 0.06, f"set {number}: angle")
        for j, part in enumerate(trial["masses"]):
            check(near(part["mass"], abs(ratio[j]) * trial["mass"]), f"set {number}: mass on P{j}")
            place = np.exp(1j * math.radians(turn * (part["angle"] + zero[j])))
            check(abs(place - direction * ratio[j] / abs(ratio[j])) <= 1e-9, f"set {number}: place on P{j}")
    status, _, err = run("trial", text, "--plane", "P0")
    check(status == 2 and "nothing tells" in err, f"set {number}: one plane alone is not known: {status} {err}")
    status, _, err = run("trial", text, "--plane", "bot")
    check(status == 2 and '"both"' in err, f"set {number}: nearest name of a set: {err}")


# ---- what is missing is named ----

ROTOR = {"mass": "3000 kg", "service_speed": "3000", "grade": "G2.5", "mass_centre": "900"}
BEARINGS = "[{id: A, position: 0}, {id: B, position: 2000}]"


def rotor(bearings=BEARINGS, **change):
    keys = {**ROTOR, **change}
    lines = ", ".join(f"{k}: {v}" for k, v in keys.items() if v)
    return HEAD + "conventions: {phase: lag, mass_angle: with-rotation}\n" + f"rotor: {{{lines}, bearings: {bearings}}}\n"


def refuses(command, text, *words):
    status, out, err = run(command, text)
    check(status == 2 and not out, f"{command} should be refused: exit {status}\n{text}")
    check(all(w in err for w in words), f"{command}: {words} not in\n{err}")


def test_bad_input():
    refuses("tolerance", rotor(mass=None), "mass", ":1:1: ")
    refuses("tolerance", rotor(grade=None), "grade")
    refuses("tolerance", rotor(service_speed=None), "service_speed")
    refuses("tolerance", rotor(mass_centre=None), "mass_centre", "static_load")
    refuses("tolerance", rotor("[{id: A}, {id: B, position: 2000}]"), "position", ":3:")
    refuses("tolerance", rotor("[{id: A, position: 10}, {id: B, position: 10}]"), "same `position`")
    refuses("tolerance", rotor(grade="G2.6"), "G2.6", "did you mean 'G2.5'")
    refuses("tolerance", rotor(mass="-3"), "mass")
    refuses("tolerance", rotor("[{id: A, position: 0}, {id: A, position: 1}]"), "A")
    refuses("tolerance", rotor() + "limits: {standard: ISO 10816-3 group 1 rigit}\n", "did you mean 'ISO 10816-3 group 1 rigid'")
    plane = "planes: [{id: P, position: 500, radius: 200}]\n"
    refuses("trial", rotor(grade=None, mass=None) + plane, "static_load", "influence", "grade")
    refuses("trial", rotor() + plane.replace(", radius: 200", ""), "radius")
    refuses("trial", rotor(), "planes")
    bare = plane.replace("position: 500, ", "")
    refuses("tolerance", rotor(mass_centre="2300") + bare, 'plane "P" needs `position`')
    refuses("trial", rotor(grade=None, mass=None) + bare, 'Plane "P" has no `position`')
    refuses("trial", rotor(grade=None, mass=None) + plane, 'Bearing "A" has no `static_load`')
    refuses("trial", rotor("[{id: A}]", mass=None) + plane, 'Bearing "A" has no `position`', "a `grade` without `mass`")
    refuses("trial", rotor(service_speed=None) + plane, "service_speed")
    status, _, err = run("tolerance", rotor() + bare)
    check(status == 0 and "`position`" in err, f"plane without position: {status} {err}")
    status, _, err = run("trial", rotor() + plane, "--plane", "Q")
    check(status == 2 and '"Q"' in err, f"unknown plane: {status} {err}")


def test_pages():
    """Text fits 80 columns, JSON and YAML agree, and the page says what must be said."""
    text = rotor(first_resonance="1500") + "planes: [{id: P, position: 2600, radius: 200}]\n"
    for command, words in (("tolerance", ("low-speed figure only", "ISO 21940-12", "key convention", "Nothing is braked by hand")),
                           ("trial", ("10 % of the static load", "overhung", "procedures", "codes"))):
        status, page, _ = run(command, text)
        flat = " ".join(page.split())
        check(status == 0 and all(w in flat for w in words), f"{command}: page lacks one of {words}\n{page}")
        check(max(map(len, page.splitlines())) <= 80, f"{command}: page is wider than 80 columns")
        import yaml
        _, tree = result(command, text)
        check(yaml.safe_load(run(command, text, "--format", "yaml")[1]) == tree, f"{command}: YAML differs from JSON")


def test_zone_limits():
    """Zones of a standard act as limit, alarm and trip, and the case's own figures win."""
    text = HEAD + """
conventions: {phase: lag, mass_angle: with-rotation}
rotor: {service_speed: 3000, mass: 800 kg, grade: G2.5}
limits: {standard: ISO 10816-3 group 1 rigid}
speeds: [{id: run, speed: 3000}]
sensors: [{id: h, unit: mm/s rms, kind: housing}, {id: own, unit: mm/s rms, limit: 1.5, alarm: 3}]
planes: [{id: P, radius: 200}]
runs: [{id: r, readings: {run: {h: 2 @ 10, own: 1 @ 20}}}]
influence:
  - {plane: P, speed: run, sensor: h, value: 0.01 @ 0}
  - {plane: P, speed: run, sensor: own, value: 0.01 @ 0}
"""
    _, got = result("trial", text)
    ceilings = {b["sensor"]: (b["ceiling"], b["ceiling_from"]) for b in got["planes"][0]["bounds"] if "sensor" in b}
    check(near(ceilings["h"][0], 4.5) and near(ceilings["own"][0], 3), f"zones as alarms: {ceilings}")
    _, solved = result("solve", text)
    check([round(r["limit"], 9) for r in solved["predicted"]] == [2.3, 1.5], "zones as limits")
    refuses("trial", text.replace("mm/s rms", "um pp"), "no sensor of this case")


def test_alarm():
    """A machine that stands over its alarm is not one to try masses on: the page says so before any of them."""
    text = HEAD + """conventions: {phase: lag, mass_angle: against-rotation}
rotor: {mass: 2000 kg, grade: G2.5, service_speed: 3000}
speeds: [{id: s, speed: 3000}]
sensors: [{id: A, limit: 60, alarm: 100, repeatability: 1}]
planes: [{id: P1, radius: 200, cap: 100}]
runs: [{id: r0, readings: {s: {A: %d @ 10}}}]
"""
    for level, said in ((101, True), (99, False)):
        page = " ".join(run("trial", text % level)[1].split())
        found = page.find("A at s read 101 µm pp in the last run, over its alarm of 100.")
        check((0 <= found < page.find("TRIAL MASS")) == said, f"alarm at {level}: {page[:200]}")


test_alarm()
for n in range(50):
    arrangement(n)
for n in range(8):
    rigid_rotor(n)
for n in range(8):
    shared_errors(n)
for n in range(12):
    trial_on_set(n)
verdicts = [random_trial(n) for n in range(90)]
check(15 <= sum(verdicts) <= 75, f"the random trials should be of both kinds: {sum(verdicts)} of 90 possible")
test_bad_input()
test_pages()
test_zone_limits()
print("\n".join(failures[:20]) if failures else
      f"50 arrangements, 8 rigid rotors, 8 shared errors, 12 sets, 90 trials ({sum(verdicts)} possible), messages and pages agree")
if not failures:
    outside("shares of permissible unbalance at bearings and planes", "statics of a rigid rotor done by other code", "computed",
            "50 arrangements and 8 rotors to 1e-9")
    outside("size and angle of trial masses under every bound", "scipy minimize and brute force over angles",
            "reference library", "90 random trials, possible and impossible alike")
sys.exit(1 if failures else 0)

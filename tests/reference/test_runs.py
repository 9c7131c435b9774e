# SPDX-License-Identifier: MIT
"""Runs as they really are: what the case file offers beyond plain tables.

    /usr/bin/python3 tests/reference/test_runs.py PROGRAM

Each feature is a job simulated from a random linear machine whose coefficients
and as-found readings are known (constructed).  Without noise, the coefficients
must come back to 1e-9 of the largest, in all four conventions.  With noise, the same job is
written once more in the plain form (readings and total masses, nothing else) by
this script; both must give the same answers to 1e-12 of the largest number.
"""
import json
import os
import subprocess
import sys
import tempfile
import numpy as np
from outside import outside

CONVENTIONS = [(lag, against) for lag in (False, True) for against in (False, True)]
SENSORS, PLANES = ["1x", "1y", "2x", "2y"], ["P1", "P2", "P3"]
ZERO = {"P1": 0.0, "P2": 35.0, "P3": 280.0}        # with rotation


def turn(degrees):
    return np.exp(1j * np.radians(degrees))


class Job:
    """One machine in one pair of conventions; everything inside is phase lead, angles with rotation, um pp and g."""

    def __init__(self, seed, lag, against, noise, speeds=("low", "high")):
        self.rng = np.random.RandomState(seed)
        self.phase, self.angle = (-1 if lag else 1), (-1 if against else 1)
        self.lag, self.against, self.noise, self.speeds = lag, against, noise, list(speeds)
        n = len(SENSORS)
        self.a = {s: self.normal(n, len(PLANES)) for s in self.speeds}
        self.y = {s: 60 * self.normal(n) for s in self.speeds}

    def normal(self, *shape):
        return self.rng.randn(*shape) + 1j * self.rng.randn(*shape)

    def read(self, masses, speed):
        """Readings at a speed with total masses in the frame."""
        return self.y[speed] + self.a[speed] @ np.asarray(masses) + self.noise * self.normal(len(SENSORS))

    # ---- text ----
    def phasor(self, z):
        return f"{float(abs(z))!r} @ {float(self.phase * np.degrees(np.angle(z)))!r}"

    def mark(self, z):
        """A mass at an angle from the reference mark."""
        return f"{float(abs(z))!r} @ {float(self.angle * np.degrees(np.angle(z)))!r}"

    def mass(self, plane, z):
        own = z / turn(ZERO.get(plane, 0.0))
        return (f"{{plane: {plane}, mass: {float(abs(z))!r}, "
                f"angle: {float(self.angle * np.degrees(np.angle(own)))!r}}}")

    def masses(self, totals):
        return "[" + ", ".join(self.mass(p, z) for p, z in zip(PLANES, totals) if abs(z) > 0) + "]"

    def of_speed(self, values, keep=SENSORS):
        return "{" + ", ".join(f"{s}: {self.phasor(v)}" for s, v in zip(SENSORS, values) if s in keep) + "}"

    def readings(self, by_speed):
        return "{" + ", ".join(f"{s}: {self.of_speed(v)}" for s, v in by_speed.items()) + "}"

    def head(self, speeds=None):
        rpm = {"low": 1500, "high": 3000, "hot": 3000}
        return "\n".join([
            "case: {format: 1, title: runs}",
            f"conventions: {{phase: {'lag' if self.lag else 'lead'}, "
            f"mass_angle: {'against-rotation' if self.against else 'with-rotation'}}}",
            "speeds: [" + ", ".join(speeds or [f"{{id: {s}, speed: {rpm[s]}}}" for s in self.speeds]) + "]",
            "sensors: [" + ", ".join(f"{{id: {s}}}" for s in SENSORS) + "]",
            "planes: [" + ", ".join(f"{{id: {p}, zero: {self.angle * ZERO[p]}, radius: 200}}" for p in PLANES) + "]"]) + "\n"


def ask(program, command, text, folder=None, status=0, options=()):
    done = subprocess.run([program, command, *options, "--format", "json", "-"], input=text, capture_output=True, text=True,
                          cwd=folder)
    if done.returncode != status:
        raise RuntimeError(f"exit {done.returncode}: {done.stderr}")
    return json.loads(done.stdout)


# ---- comparisons ----

def coefficients(tree, job):
    """(speed, sensor, plane) -> frame value, planes counted from the reference mark."""
    return {(c["speed"], c["sensor"], c["plane"]):
            c["value"]["amplitude"] * turn(job.phase * c["value"]["phase"]) / turn(ZERO[c["plane"]])
            for c in tree["coefficients"] if c["value"]}


def numbers(tree, spread):
    """Complex and plain numbers of an answer in a fixed order."""
    out = [c["mass"] * turn(c["angle"]) for c in tree["corrections"]]
    for p in tree["predicted"]:
        for key in ("before", "after"):
            if key == "after" or spread:
                out.append(p[key]["amplitude"] * turn(p[key]["phase"]))
        out += [p["spread90"] or 0] if spread else []
    out.append(tree["objective"]["value"])
    return np.array(out)


def off(found, wanted):
    found, wanted = np.asarray(found), np.asarray(wanted)
    return np.inf if found.shape != wanted.shape else np.abs(found - wanted).max() / np.abs(wanted).max()


# ---- features: each returns (text with the feature, the same in plain form) ----

def totals_of(job):
    m = [30 * turn(40), 45 * turn(200), 25 * turn(310)]
    return [np.array(t) for t in ([0, 0, 0], [m[0], 0, 0], [0, m[1], 0], [m[0], m[1], m[2]], [0, 0, m[2] / 2])]


def plain(job, totals, readings, extra=""):
    lines = ["runs:"]
    for k, (t, r) in enumerate(zip(totals, readings)):
        lines.append(f"  - {{id: r{k}, masses: {job.masses(t)}, readings: {job.readings(r)}}}")
    return job.head() + "\n".join(lines) + "\n" + extra


def make_readings(job, totals):
    return [{s: job.read(t, s) for s in job.speeds} for t in totals]


def sets(job):
    ratio = {"P1": 1.0 + 0j, "P2": 1.5 * turn(170)}
    vector = np.array([ratio["P1"], ratio["P2"], 0])
    totals = totals_of(job) + [60 * turn(25) * vector]
    readings = make_readings(job, totals)
    of = ", ".join(f"{p}: {job.mark(z)}" for p, z in ratio.items())
    tie = f"objective: {{ties: [{{terms: {{P1: {job.mark(-ratio['P2'])}, P2: 1 @ 0}}}}]}}\n"
    text = plain(job, totals[:-1], readings[:-1])
    last = f"{{plane: couple, mass: 60.0, angle: {job.angle * 25.0!r}}}"
    text = text.replace("runs:\n", f"sets: [{{id: couple, of: {{{of}}}}}]\nruns:\n")
    text += f"  - {{id: last, masses: [{last}], readings: {job.readings(readings[-1])}}}\n"
    text += "now: {masses: []}\nobjective: {use_planes: [couple, P3]}\n"
    return text, plain(job, totals, readings, "now: {masses: []}\n" + tie)


def fixed_set(job):
    vector = np.array([1.0 + 0j, 0.5 * turn(90), 0])
    totals = totals_of(job)
    readings = make_readings(job, totals)
    of = f"{{P1: 1 @ 0, P2: {job.mark(vector[1])}}}"
    text = plain(job, totals, readings, f"objective: {{fixed: {{static: 12 @ {job.angle * 30.0!r}}}}}\n")
    held = 12 * turn(30) * vector
    own = ", ".join(f"{p}: {job.mark(held[k] / turn(ZERO[p]))}" for k, p in enumerate(PLANES[:2]))
    return (text.replace("runs:\n", f"sets: [{{id: static, of: {of}}}]\nruns:\n"),
            plain(job, totals, readings, f"objective: {{fixed: {{{own}}}}}\n"))


def changes(job):
    t = totals_of(job)
    totals = [t[0], t[1], t[1] + t[2], t[1] + t[4], t[1] + t[2] + t[4]]
    readings = make_readings(job, totals)
    added = [(None, t[0]), (None, t[1]), ("r1", t[2]), ("r1", t[4]), ("r2", t[4])]
    lines = ["runs:"]
    for k, ((after, change), r) in enumerate(zip(added, readings)):
        follows = f"after: {after}, " if after else ""
        lines.append(f"  - {{id: r{k}, {follows}added: {job.masses(change)}, readings: {job.readings(r)}}}")
    return job.head() + "\n".join(lines) + "\n", plain(job, totals, readings)


def own_radius(job):
    """A mass at a radius of its own counts as the mass at the plane's radius that has the same unbalance."""
    totals = totals_of(job)
    readings = make_readings(job, totals)
    same = plain(job, totals, readings)
    far = job.mass("P2", totals[2][1] * 200 / 250).replace("}", ", radius: 250}")
    return same.replace(f"{{id: r2, masses: [{job.mass('P2', totals[2][1])}]", f"{{id: r2, masses: [{far}]"), same


def left_out(job):
    """Readings of a broken cable, and a whole run, stay in the file and out of the fit."""
    totals = totals_of(job)
    good = make_readings(job, totals)
    text = plain(job, totals, good)
    wrong = {s: v.copy() for s, v in good[2].items()}
    wrong["high"][1] = 300
    lines = text.split("\n")
    at = next(i for i, line in enumerate(lines) if "id: r2" in line)
    lines[at] = lines[at].replace(job.readings(good[2]), job.readings(wrong)).replace(
        "{id: r2", "{id: r2, leave_out: {sensors: [1y], speeds: [high], because: cable}, taken: holding, "
                   "at: 2026-03-14 02:40, load: 300 MW, notes: windy")
    lines.insert(at, f"  - {{id: odd, leave_out: {{because: not settled}}, readings: {job.readings(wrong)}}}")
    same = text.replace(job.readings(good[2]), "{low: " + job.of_speed(good[2]["low"]) + ", high: "
                        + job.of_speed(good[2]["high"], ["1x", "2x", "2y"]) + "}")
    return "\n".join(lines), same


def own_slow_roll(job):
    totals = totals_of(job)
    true = make_readings(job, totals)
    of_case, of_run = 6 * job.normal(2), 5 * job.normal(2)
    shown = [{s: v.copy() for s, v in r.items()} for r in true]
    for k, r in enumerate(shown):
        for v in r.values():
            v[0] += of_case[0]
            v[2] += of_run[1] if k == 3 else of_case[1]
            v[3] += of_run[0] if k == 3 else 0
    text = plain(job, totals, shown).replace(
        "{id: r3", f"{{id: r3, slow_roll: {{2x: {job.phasor(of_run[1])}, 2y: {job.phasor(of_run[0])}}}")
    text += f"slow_roll: {{1x: {job.phasor(of_case[0])}, 2x: {job.phasor(of_case[1])}}}\n"
    return text, plain(job, totals, true)


def moved_reference(job):
    """A phase reference that moved by a known angle."""
    totals = totals_of(job)
    true = make_readings(job, totals)
    moved = [{s: v * (turn(73) if k == 2 else 1) for s, v in r.items()} for k, r in enumerate(true)]
    text = plain(job, totals, moved).replace("{id: r2", f"{{id: r2, phase_shift: {job.phase * 73.0!r}")
    return text, plain(job, totals, true)


def reference_found(job):
    """The same angle found from a state that was read before; the plain form is turned by the estimate's formula."""
    totals = totals_of(job) + [totals_of(job)[1]]
    true = make_readings(job, totals)
    slow = 4 * job.normal(2)
    for k, r in enumerate(true):
        for v in r.values():
            v[:2] += slow
            v *= turn(-130) if k == 5 else 1
    text = plain(job, totals, true, f"slow_roll: {{1x: {job.phasor(slow[0])}, 1y: {job.phasor(slow[1])}}}\n")
    lines = text.replace("{id: r5", "{id: r5, phase_shift: unknown")
    seen = np.concatenate([true[1][s] for s in job.speeds])
    now = np.concatenate([true[5][s] for s in job.speeds])
    amplitude = np.abs(seen)
    sigma = 0.03 * amplitude + 1.0
    angle = np.angle(np.sum(now * seen.conj() / sigma ** 2))
    back = [{s: v * (np.exp(-1j * angle) if k == 5 else 1) for s, v in r.items()} for k, r in enumerate(true)]
    return lines, plain(job, totals, back, f"slow_roll: {{1x: {job.phasor(slow[0])}, 1y: {job.phasor(slow[1])}}}\n")


def run_weights(job):
    """A run of weight 2 is two runs that read the same, one of weight 0 none."""
    totals = totals_of(job)
    readings = make_readings(job, totals)
    declared = "sensors: [" + ", ".join(f"{{id: {n}, repeatability: 1.5}}" for n in SENSORS) + "]"
    def sure(text):
        return text.replace("sensors: [" + ", ".join(f"{{id: {n}}}" for n in SENSORS) + "]", declared)
    odd = {s: v + 30 for s, v in readings[3].items()}
    text = plain(job, totals, readings).replace("{id: r0", "{id: r0, weight: 3").replace("{id: r2", "{id: r2, weight: 2")
    text = text.replace("  - {id: r4", f"  - {{id: no, weight: 0, masses: {job.masses(totals[3])}, readings: "
                        f"{job.readings(odd)}}}\n  - {{id: r4")
    order = [0, 0, 0, 1, 2, 2, 3, 4]
    return sure(text), sure(plain(job, [totals[k] for k in order], [readings[k] for k in order]))


def known_set(job):
    """A set whose influence is known, exact; only one of its planes was tried. The plain form knows what that makes of
    the other plane."""
    totals = [t * np.array([1, 0, 1]) for t in totals_of(job)]
    readings = make_readings(job, totals)
    vector = np.array([0.8 * turn(15), 1.3 * turn(170), 0])
    known = {s: job.a[s] @ vector + (0.3 * job.normal(len(SENSORS)) if job.noise else 0) for s in job.speeds}
    of = ", ".join(f"{p}: {job.mark(z)}" for p, z in zip(PLANES, vector[:2]))
    entries = ["influence:"] + [f"  - {{plane: couple, speed: {s}, sensor: {n}, value: {job.phasor(known[s][i])}}}"
                                for s in job.speeds for i, n in enumerate(SENSORS)]
    text = plain(job, totals, readings, "\n".join(entries) + "\n").replace(
        "runs:\n", f"sets: [{{id: couple, of: {{{of}}}}}]\nruns:\n")
    found = {s: np.linalg.lstsq(np.array([[1, t[0], t[2]] for t in totals]), np.array([r[s] for r in readings]),
                                rcond=None)[0][1] for s in job.speeds}
    entries = ["influence:"] + [
        f"  - {{plane: P2, speed: {s}, sensor: {n}, "
        f"value: {job.phasor((known[s][i] - vector[0] * found[s][i]) / vector[1] * turn(ZERO['P2']))}}}"
        for s in job.speeds for i, n in enumerate(SENSORS)]
    return text, plain(job, totals, readings, "\n".join(entries) + "\n")


def hot(job):
    job.speeds.append("hot")
    job.a["hot"], job.y["hot"] = job.a["high"], 60 * job.normal(len(SENSORS))
    return [f"{{id: {s}, speed: {rpm}{of}}}" for s, rpm, of in
            (("low", 1500, ""), ("high", 3000, ""), ("hot", 3000, ", load: 300 MW, coefficients_of: high"))]


def states(job):
    """An operating state read only as found.  Its coefficients are those of its speed, so that the plain form gives
    them as known: what the fit of that speed alone finds, exact."""
    speeds = hot(job)
    totals = totals_of(job)
    readings = make_readings(job, totals)
    for k in range(1, len(readings)):
        del readings[k]["hot"]
    text = plain(job, totals, readings, "now: {masses: []}\nobjective: {base: r0}\n").replace(job.head(), job.head(speeds))
    found = fit(job, totals, readings)["high"]
    known = ["influence:"] + [
        f"  - {{plane: {p}, speed: hot, sensor: {s}, value: {job.phasor(found[i, j + 1] * turn(ZERO[p]))}}}"
        for i, s in enumerate(SENSORS) for j, p in enumerate(PLANES)]
    same = plain(job, totals, readings, "\n".join(known) + "\nnow: {masses: []}\nobjective: {base: r0}\n")
    return text, same


def fit(job, totals, readings):
    """Least squares on [1, masses] per speed: rows × (1 + planes)."""
    out = {}
    for s in job.speeds:
        k = [i for i, r in enumerate(readings) if s in r]
        design = np.array([[1, *totals[i]] for i in k])
        out[s] = np.linalg.lstsq(design, np.array([readings[i][s] for i in k]), rcond=None)[0].T
    return out


def same_fit(job, totals, readings, columns, base):
    """The plain form of runs with further columns (a list per run): coefficients of the wider fit, exact, and one run
    with what it expects in the base state."""
    known, expected = ["influence:"], {}
    for s in job.speeds:
        design = np.array([[1, *t, *c] for t, c in zip(totals, columns)])
        w = np.linalg.lstsq(design, np.array([r[s] for r in readings]), rcond=None)[0].T
        at_base = [k for k in range(len(totals)) if np.allclose(totals[k], base) and np.allclose(columns[k], columns[-1])]
        expected[s] = np.mean([readings[k][s] for k in at_base], axis=0)
        known += [f"  - {{plane: {p}, speed: {s}, sensor: {n}, value: {job.phasor(w[i, j + 1] * turn(ZERO[p]))}}}"
                  for i, n in enumerate(SENSORS) for j, p in enumerate(PLANES)]
    return plain(job, [base], [expected], "\n".join(known) + "\n")


def shifted(job, columns, extra):
    """Readings that move with the columns of each run."""
    totals = totals_of(job) + [totals_of(job)[1], totals_of(job)[4]]
    columns = np.array(columns, dtype=float).reshape(len(totals), -1)
    readings = make_readings(job, totals)
    for s in job.speeds:
        steps = 15 * job.normal(len(SENSORS), columns.shape[1])
        for k, r in enumerate(readings):
            r[s] += steps @ columns[k]
    return plain(job, totals, readings, extra), same_fit(job, totals, readings, columns, totals[-1])


def groups(job):
    text, same = shifted(job, [1, 0, 1, 1, 0, 0, 0], "")
    for k in (0, 2, 3):
        text = text.replace(f"{{id: r{k},", f"{{id: r{k}, group: cold,")
    return text, same


def drift(job):
    return shifted(job, np.arange(7) / 6 - 1, "objective: {drift: linear}\n")


def drift_in_time(job):
    hours = np.array([0, 3, 5, 30, 31, 50, 77.5])
    text, same = shifted(job, hours / 77.5 - 1, "objective: {drift: linear}\n")
    for k, h in enumerate(hours):
        day, rest = divmod(h + 20, 24)
        at = f"2026-02-{27 + int(day)}" if 27 + day <= 28 else f"2026-03-0{int(27 + day) - 28}"
        text = text.replace(f"{{id: r{k},", f"{{id: r{k}, at: {at} {int(rest):02d}:{int(rest % 1 * 60):02d},")
    return text, same


def from_csv(job):
    """Readings in a table beside the case, columns in any order, some of them repeated."""
    totals = totals_of(job)
    readings = make_readings(job, totals)
    lines = ["sensor,note,run,speed,phase,amplitude"]
    for k in (1, 3):
        lines += [f'{s},"a ""note"", of mine",r{k},"{v}",{job.phase * np.degrees(np.angle(z))!r}, {abs(z)!r}'
                  for v, values in readings[k].items() for s, z in zip(SENSORS, values)]
    again = readings[1]["low"][2] * (1.02 if job.noise else 1)
    lines += ["", f"2x,,r1,low,{job.phase * np.degrees(np.angle(again))!r},{abs(again) / 25.4!r} mil pp"]
    with open(os.path.join(Job.folder, "table.csv"), "w", newline="") as file:
        file.write("\ufeff" + "\r\n".join(lines))
    same = plain(job, totals, readings)
    text = same
    for k in (1, 3):
        text = text.replace(job.readings(readings[k]), "{csv: table.csv}")
    both = f"2x: [{job.phasor(readings[1]['low'][2])}, {job.phasor(again)}]"
    same = same.replace(f"2x: {job.phasor(readings[1]['low'][2])}", both)
    return text, same


# No spread to compare: the plain form knows the coefficients, or knows nothing of the angle's error.
SHIFTED = [states, groups, drift, drift_in_time, reference_found, known_set]
FEATURES = [sets, fixed_set, changes, own_radius, left_out, own_slow_roll, moved_reference, run_weights,
            from_csv, *SHIFTED]


def check(program, feature, lag, against, folder):
    job = Job(7, lag, against, 0.0)
    text, _ = feature(job)
    tree = ask(program, "influence", text, folder)
    found = coefficients(tree, job)
    wanted = {(s, SENSORS[i], PLANES[j]): job.a[s][i, j] for s in job.speeds for i in range(len(SENSORS))
              for j in range(len(PLANES))}
    recovered = off([found.get(key, np.nan) for key in wanted], list(wanted.values()))
    job = Job(11, lag, against, 1.0)
    text, same = feature(job)
    spread = feature not in SHIFTED
    agrees = off(*[numbers(ask(program, "solve", form, folder), spread) for form in (text, same)])
    return recovered, agrees


def foretold(program, job):
    """Without noise, a run of masses tried before is predicted exactly from the runs before it, and no earlier run is."""
    totals = totals_of(job)
    readings = make_readings(job, totals)
    runs = ask(program, "influence", plain(job, totals, readings))["runs"]
    errors = []
    for k, run in enumerate(runs):
        told = [p["amplitude"] is not None for p in run["predicted"]]
        if any(told) != (k == 4) or all(told) != (k == 4) or len(told) != len(SENSORS) * len(job.speeds):
            return np.inf
        for m, r in zip(run["measured"], [z for v in readings[k].values() for z in v]):
            errors.append(abs(m["amplitude"] * turn(job.phase * m["phase"]) - r))
        errors += [abs(p["amplitude"] * turn(job.phase * p["phase"]) - m["amplitude"] * turn(job.phase * m["phase"]))
                   for p, m in zip(run["predicted"], run["measured"]) if k == 4]
    return max(errors)


def unknown_shift(program, job):
    """Without a state that was read before, a run with an unknown phase shift tells nothing: the answer rests on the
    others, or is undetermined with what would settle it."""
    totals = totals_of(job)
    readings = make_readings(job, totals)
    text = plain(job, totals, readings).replace("{id: r3", "{id: r3, phase_shift: unknown")
    without = plain(job, totals[:3] + totals[4:], readings[:3] + readings[4:])
    tree = ask(program, "solve", text)
    noted = [w["run"] for w in tree["warnings"] if w["code"] == "phase-shift-unknown"]
    wrong = off(numbers(tree, True), numbers(ask(program, "solve", without), True))
    if noted != ["r3"] or wrong > 1e-12 or tree["runs"][3]["measured"]:
        return f"without the run: off by {wrong:.2g}, warnings of {noted}"
    text = plain(job, totals[:4], readings[:4]).replace("{id: r3", "{id: r3, phase_shift: unknown")
    tree = ask(program, "solve", text, status=1)
    noted = [w["run"] for w in tree["warnings"] if w["code"] == "phase-shift-unknown"]
    if tree["status"] != "undetermined" or noted != ["r3"] or tree["run"]["trial_on"] != []:
        return f"status {tree['status']}, warnings of {noted}, run {tree.get('run')}"
    done = subprocess.run([program, "solve", "-"], input=text, capture_output=True, text=True)
    return "" if "with the masses of r3 and a known" in " ".join(done.stdout.split()) else "the page does not say what helps"


def recorded_set(program, job):
    """Planes tried only together: the set is told, its planes are not; a record carries it to the next job."""
    vector = np.array([1.0 + 0j, 1.4 * turn(200), 0])
    m = [0 * vector, 30 * turn(50) * vector, np.array([0, 0, 25 * turn(130)])]
    readings = make_readings(job, m)
    of = ", ".join(f"{p}: {job.mark(z)}" for p, z in zip(PLANES, vector[:2]))
    sets = f"sets: [{{id: static, of: {{{of}}}}}]\nruns:\n"
    text = plain(job, m, readings).replace("runs:\n", sets)
    off_by = []
    with tempfile.TemporaryDirectory() as folder:
        with open(os.path.join(folder, "first.yaml"), "w") as file:
            file.write(text)
        done = subprocess.run([program, "influence", "--format", "json", "--record", "record.yaml", "first.yaml"],
                              capture_output=True, text=True, cwd=folder)
        if done.returncode != 0:
            return f"exit {done.returncode}: {done.stderr}"
        tree = json.loads(done.stdout)
        for c in tree["sets"]:
            value = c["value"]["amplitude"] * turn(job.phase * c["value"]["phase"])
            off_by.append(abs(value - (job.a[c["speed"]] @ vector)[SENSORS.index(c["sensor"])]))
        if any(c["value"] for c in tree["coefficients"] if c["plane"] != "P3") or len(tree["sets"]) != 8:
            return "planes tried only together were told one by one, or sets are missing"
        job.y = {s: 60 * job.normal(len(SENSORS)) for s in job.speeds}
        later = make_readings(job, m[:1])
        text = plain(job, m[:1], later).replace("runs:\n", sets)
        text += "influence: [{record: record.yaml}]\nobjective: {use_planes: [static, P3]}\n"
        found = ask(program, "solve", text, folder)
    x = np.array([c["mass"] * turn(job.angle * c["angle"]) * turn(ZERO[c["plane"]]) for c in found["corrections"]])
    b = np.vstack([job.a[s] @ np.array([vector, [0, 0, 1]]).T for s in job.speeds])
    u = np.linalg.lstsq(b, -np.concatenate([job.y[s] for s in job.speeds]), rcond=None)[0]
    off_by.append(off(x, u[0] * vector + np.array([0, 0, u[1]])))
    return "" if max(off_by) <= 1e-9 else f"off by {max(off_by):.2g}"


def drift_report(program, job):
    """Either setting tells what the other one answers, and both how sure the drift is."""
    text, _ = drift(job)
    declared = "sensors: [" + ", ".join(f"{{id: {n}, repeatability: {job.noise * 2 ** 0.5!r}}}" for n in SENSORS) + "]"
    text = text.replace("sensors: [" + ", ".join(f"{{id: {n}}}" for n in SENSORS) + "]", declared)
    linear = ask(program, "solve", text)
    none = ask(program, "solve", text.replace("drift: linear", "drift: none"))
    off_by = []
    for own, other in ((linear, none), (none, linear)):
        told = own["drift"]["otherwise"]
        x = [c["mass"] * turn(c["angle"]) for c in own["corrections"]]
        y = [c["mass"] * turn(c["angle"]) for c in other["corrections"]]
        off_by.append(off([c["mass"] * turn(c["angle"]) for c in told["corrections"]], y))
        off_by.append(abs(told["largest_mass_change"] - np.abs(np.subtract(x, y)).max()) / np.abs(y).max())
        off_by.append(abs(own["drift"]["standard_deviations"] - linear["drift"]["standard_deviations"]))
    if (linear["drift"]["setting"], none["drift"]["setting"]) != ("linear", "none") or linear["drift"]["told"] != 8:
        return f"settings {linear['drift']['setting']}, {none['drift']['setting']}, told {linear['drift']['told']}"
    if not linear["drift"]["chance"] < 1e-6 or linear["drift"]["assumed"]:
        return f"chance {linear['drift']['chance']}"
    return "" if max(off_by) <= 1e-10 else f"off by {max(off_by):.2g}"


def planes_of_sets(program, job):
    """`planes` draws sets of the case as one: each value is that of `solve` with just these in use, caps and all."""
    totals = totals_of(job)
    ratio = {"static": [1, 1.2 * turn(20), 0], "couple": [1, 0.8 * turn(195), 0]}
    text = "sets: [" + ", ".join(
        f"{{id: {n}, of: {{" + ", ".join(f"{p}: {job.mark(complex(z))}" for p, z in zip(PLANES, v[:2])) + "}}"
        for n, v in ratio.items()) + "]\nruns:\n"
    text = plain(job, totals, make_readings(job, totals)).replace("runs:\n", text).replace("{id: P2,", "{id: P2, cap: 30,")
    found = ask(program, "planes", text + "objective: {use_planes: [P3, static, couple]}\n")
    off_by = []
    for one in found["sets"]:
        use = ", ".join(one["planes"])
        alone = ask(program, "solve", text + f"objective: {{use_planes: [{use}]}}\n")
        off_by += [abs(one["value"] - alone["objective"]["value"]) / alone["objective"]["value"],
                   abs(one["condition"] - alone["condition"]["overall"]) / one["condition"]]
    if len(off_by) != 14:
        return f"{len(off_by) // 2} sets of planes, not 7"
    few = ask(program, "planes", text + "objective: {use_planes: [P3, static, couple]}\n",
              options=["--must", "static", "--never", "couple"])
    if [sorted(one["planes"]) for one in few["sets"]] not in ([["P3", "static"], ["static"]], [["static"], ["P3", "static"]]):
        return f"must and never: {[one['planes'] for one in few['sets']]}"
    return "" if max(off_by) <= 1e-7 else f"off by {max(off_by):.2g}"


def limited(job, totals, readings, sensor, run, extra):
    """The plain form with words for the sensors and a way to write readings."""
    text = job.head().replace("sensors: [" + ", ".join(f"{{id: {s}}}" for s in SENSORS) + "]",
                              "sensors: [" + ", ".join(sensor(i, s) for i, s in enumerate(SENSORS)) + "]")
    lines = ["runs:"] + [f"  - {{id: r{k}, masses: {job.masses(t)}, readings: {run(k, r)}}}"
                         for k, (t, r) in enumerate(zip(totals, readings))]
    return text + "\n".join(lines) + "\n" + extra


def judged_as_read(program, job, objective):
    """Limits on the reading with its slow roll: the same as a case without slow roll, told without it."""
    totals = totals_of(job)
    shown = make_readings(job, totals)
    slow = 15 * job.normal(len(SENSORS))
    tail = f"slow_roll: {job.of_speed(slow)}\nobjective: {{minimise: {objective}}}\n"
    def sensor(words):
        return lambda i, s: f"{{id: {s}, limit: {50 + 5 * i}{words}}}"
    found = ask(program, "solve", limited(job, totals, shown, sensor(", judge: as-read"), lambda k, r: job.readings(r), tail))
    wanted = ask(program, "solve", limited(job, totals, shown, sensor(""), lambda k, r: job.readings(r),
                                           f"objective: {{minimise: {objective}}}\n"))
    off_by = [off([c["mass"] * turn(c["angle"]) for c in found["corrections"]],
                  [c["mass"] * turn(c["angle"]) for c in wanted["corrections"]])]
    for f, w in zip(found["predicted"], wanted["predicted"]):
        i = SENSORS.index(f["sensor"])
        for when in ("before", "after"):
            read = f[when]["amplitude"] * turn(job.phase * f[when]["phase"]) + slow[i]
            off_by.append(abs(read - w[when]["amplitude"] * turn(job.phase * w[when]["phase"])) / 100)
            off_by.append(abs(f["level"][when] - w[when]["amplitude"]) / 100)
        off_by.append(abs(f["within"] - w["within"]))
    return max(off_by)


def judged_overall(program, job, objective):
    """Limits on overall levels: with a rest that stays as it is, the same as limits of sqrt(limit² - rest²) on the
    once-per-turn part as read, and the overall level of the true machine after correction is the one told."""
    totals = totals_of(job)
    shown = make_readings(job, totals)
    slow = 10 * job.normal(len(SENSORS))
    rest = {s: 10 + 25 * job.rng.rand(len(SENSORS)) for s in job.speeds}
    limit = [60 + 5 * i for i in range(len(SENSORS))]
    def overall(k, r):
        return "{" + ", ".join(f"{s}: {{" + ", ".join(
            f"{n}: {{amplitude: {float(abs(z))!r}, phase: {float(job.phase * np.degrees(np.angle(z)))!r}, "
            f"overall: {float(np.hypot(abs(z), q))!r}}}" for n, z, q in zip(SENSORS, v, rest[s])) + "}"
            for s, v in r.items()) + "}"
    tail = f"objective: {{minimise: {objective}}}\n"
    found = ask(program, "solve", limited(job, totals, shown, lambda i, s: f"{{id: {s}, limit: {limit[i]}, limit_is: overall}}",
                                          overall, f"slow_roll: {job.of_speed(slow)}\n" + tail))
    def left(i, s):
        return f"{{id: {s}, limit: {{" + ", ".join(
            f"{v}: {float(np.sqrt(limit[i] ** 2 - rest[v][i] ** 2))!r}" for v in job.speeds) + "}}"
    wanted = ask(program, "solve", limited(job, totals, shown, left, lambda k, r: job.readings(r), tail))
    x = np.array([c["mass"] * turn(job.angle * c["angle"]) * turn(ZERO[c["plane"]]) for c in found["corrections"]])
    off_by = [off([c["mass"] * turn(c["angle"]) for c in found["corrections"]],
                  [c["mass"] * turn(c["angle"]) for c in wanted["corrections"]])]
    for f, w in zip(found["predicted"], wanted["predicted"]):
        i = SENSORS.index(f["sensor"])
        true = np.hypot(abs(job.y[f["speed"]][i] + job.a[f["speed"]][i] @ x), rest[f["speed"]][i])
        off_by += [abs(f["overall"]["after"] - true) / 100, abs(f["level"]["after"] - true) / 100,
                   abs(f["within"] - w["within"]), abs(f["overall"]["not_once_per_turn"] - rest[f["speed"]][i]) / 100]
    for m in found["runs"][0]["measured"]:
        i = SENSORS.index(m["sensor"])
        off_by.append(abs(m["overall"] - np.hypot(abs(shown[0][m["speed"]][i]), rest[m["speed"]][i])) / 100)
    return max(off_by)


WRONG_TABLES = [
    ("run,speed,sensor,amplitude\nr0,low,1x,1\n", "t.csv:1:1: the first line has no column 'phase'"),
    ("run,speed,sensor,amplitude,phase\nr0,low,1x,1\n", "t.csv:2:1: this line has 4 cells"),
    ("run,speed,sensor,amplitude,phase\n\nr0,low,9z,1,2\n", "t.csv:3:8: there is no sensor '9z'"),
    ("run,speed,sensor,amplitude,phase\nr0,low,1x,-1,2\n", "t.csv:2:11: amplitude must be"),
    ("run,speed,sensor,amplitude,phase\nr0,low,1x,1,nan\n", "t.csv:2:13: "),
    ("run,speed,sensor,amplitude,phase\nr0,low,1x,1,2\nr9,low,1x,1,2\n", "t.csv:3:1: there is no run 'r9'"),
    ('run,speed,sensor,amplitude,phase\nr0,"low,1x,1,2\n', "t.csv:2:4: the quotes"),
    ("run,speed,sensor,amplitude,phase\nr1,low,1x,1,2\n", "-:6:33: no line of this file is of the run 'r0'"),
    ("run;speed;sensor;amplitude;phase\nr0;low;1x;1,5;2\n", "t.csv:1:1: the cells of this table are separated by semicolons"),
    ("run\tspeed\tsensor\tamplitude\tphase\nr0\tlow\t1x\t1\t2\n", "t.csv:1:1: the cells of this table are separated by tabs"),
    ("run,speed,sensor,amplitude,phase\rr0,low,1x,1,2\r", "t.csv:1:33: a line ends in a carriage return alone"),
    ("run,speed,sensor,amplitude,phase\r\nr0,low,1x,1,2\rr0,low,1y,1,2\r\n", "t.csv:2:14: a line ends in a carriage return"),
    ("run,speed,sensor,amplitude,phase,phase\nr0,low,1x,1,2,3\n", "t.csv:1:34: the column 'phase' stands in the first line twice"),
    ("run,speed,sensor,amplitude,phase\nr0,low,1x,1,2\n,low,1y,1,2\n", "t.csv:3:1: this line names no run"),
    ('run,speed,"sensor,amplitude,phase\nr0,low,1x,1,2\n', "t.csv:1:11: the quotes of this cell"),
]


# Empty lines of a spreadsheet say nothing, nor does a second column of a name that nobody asks for, nor CR before CR LF.
RIGHT_TABLES = [
    "run,speed,sensor,amplitude,phase\n,,,,\nr0,low,1x,1,2\n, , ,\"\",\n\n",
    ",,,,\r\nrun,speed,sensor,amplitude,phase\r\nr0,low,1x,1,2\r\r\n",
    "run,note,speed,sensor,amplitude,phase,note\nr0,a,low,1x,1,2,b\n",
]


def strays(program):
    """A link that leads out of the folder of the case is refused, one that stays inside is followed."""
    failed = 0
    head = Job(1, True, True, 0).head()
    for inside in (True, False):
        with tempfile.TemporaryDirectory() as top:
            folder = os.path.join(top, "job")
            os.makedirs(os.path.join(folder, "tables"))
            target = os.path.join(folder, "tables", "t.csv") if inside else os.path.join(top, "t.csv")
            with open(target, "w") as file:
                file.write("run,speed,sensor,amplitude,phase\nr0,low,1x,1,2\n")
            os.symlink(target, os.path.join(folder, "link.csv"))
            for name, given in ((os.path.join(folder, "case.yaml"), top), ("case.yaml", folder)):
                with open(os.path.join(folder, "case.yaml"), "w") as file:
                    file.write(head + "runs: [{id: r0, readings: {csv: link.csv}}]\n")
                done = subprocess.run([program, "check", name], capture_output=True, text=True, cwd=given)
                refused = done.returncode == 2 and "is outside the folder" in done.stderr
                if refused == inside or (inside and done.returncode == 2):
                    failed += 1
                    print(f"FAILED link {'inside' if inside else 'outside'}: exit {done.returncode}: {done.stderr}")
    return failed


def wrong_tables(program):
    """Wrong lines of a table are named by file, line and column; files outside the folder are refused."""
    failed = strays(program)
    head = Job(1, True, True, 0).head()
    for table, message in WRONG_TABLES + [(None, "is outside the folder")]:
        with tempfile.TemporaryDirectory() as folder:
            with open(os.path.join(folder, "t.csv"), "w", newline="") as file:
                file.write(table or "")
            name = "t.csv" if table else "../t.csv"
            text = head + f"runs: [{{id: r0, readings: {{csv: {name}}}}}, {{id: r1}}]\n"
            done = subprocess.run([program, "check", "-"], input=text, capture_output=True, text=True, cwd=folder)
            if done.returncode != 2 or message not in done.stderr or len(done.stderr.splitlines()) > 1 + ("no line" in message):
                failed += 1
                print(f"FAILED wrong table: wanted '{message}' alone, got exit {done.returncode}: {done.stderr}")
    for table in RIGHT_TABLES:
        with tempfile.TemporaryDirectory() as folder:
            with open(os.path.join(folder, "t.csv"), "w", newline="") as file:
                file.write(table)
            text = head + "runs: [{id: r0, readings: {csv: t.csv}}]\n"
            done = subprocess.run([program, "check", "--format", "json", "-"], input=text, capture_output=True, text=True,
                                  cwd=folder)
            read = json.loads(done.stdout)["runs"][0]["measured"] if done.stdout else None
            found = [(m["sensor"], m["amplitude"], m["phase"]) for m in read or []]
            if found != [("1x", 1, 2)]:
                failed += 1
                print(f"FAILED right table {table!r}: read {found}, {done.stderr}")
    return failed


def main():
    failed = 0
    worst = [0.0, 0.0]
    for feature in FEATURES:
        for lag, against in CONVENTIONS:
            with tempfile.TemporaryDirectory() as folder:
                Job.folder = folder
                try:
                    errors = check(os.path.abspath(sys.argv[1]), feature, lag, against, folder)
                except RuntimeError as error:
                    print(f"{feature.__name__}: {error}")
                    errors = (np.inf, np.inf)
            worst = [max(w, e) for w, e in zip(worst, errors)]
            if not (errors[0] <= 1e-9 and errors[1] <= 1e-12):
                failed += 1
                print(f"FAILED {feature.__name__}, lag {lag}, against {against}: recovered to {errors[0]:.2g}, "
                      f"plain form to {errors[1]:.2g}")
    for lag, against in CONVENTIONS:
        error = foretold(os.path.abspath(sys.argv[1]), Job(3, lag, against, 0.0))
        if not error <= 1e-9:
            failed += 1
            print(f"FAILED prediction of runs, lag {lag}, against {against}: off by {error:.2g}")
    for judge in (judged_as_read, judged_overall):
        for lag, against in CONVENTIONS:
            for objective in ("least-squares", "min-max"):
                error = judge(os.path.abspath(sys.argv[1]), Job(3, lag, against, 0.0), objective)
                if not error <= 1e-8:
                    failed += 1
                    print(f"FAILED {judge.__name__}, {objective}, lag {lag}, against {against}: off by {error:.2g}")
    for lag, against in CONVENTIONS:
        for test, noise in ((unknown_shift, 1.0), (recorded_set, 0.0), (drift_report, 1.0),
                            (planes_of_sets, 1.0)):
            trouble = test(os.path.abspath(sys.argv[1]), Job(3, lag, against, noise))
            if trouble:
                failed += 1
                print(f"FAILED {test.__name__}, lag {lag}, against {against}: {trouble}")
    failed += wrong_tables(os.path.abspath(sys.argv[1]))
    print(f"runs: {len(FEATURES)} features in four conventions, {failed} failed; worst recovery {worst[0]:.2g}, "
          f"worst difference from the plain form {worst[1]:.2g}")
    if not failed:
        outside("runs as they are: states, groups, drift, moved phase reference, sets, left-out readings, files",
                "simulated jobs with known truth, and the same jobs in plain form", "constructed",
                "recovered to 1e-9 in all conventions; plain form alike to 1e-12")
        outside("limits on readings as read and on overall levels", "equivalent limits in plain form, and the overall "
                "level of the true machine", "constructed", "masses, levels and chances to 1e-8")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())

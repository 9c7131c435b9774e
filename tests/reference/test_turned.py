# SPDX-License-Identifier: MIT
"""Parts that can be refitted in steps: simulated jobs whose truth is known, every position against numpy.

    /usr/bin/python3 tests/reference/test_turned.py PROGRAM

A random machine has one or two parts of unknown unbalance.  Readings are made for the as-found rotor, a trial run on
every plane and one run for each part turned by a known angle (some with trial masses on too).  `planes`
must find the unbalance to 1e-9 and, for every position, the least-squares value and masses that numpy finds.
"""
import itertools
import json
import pathlib
import subprocess
import sys
import tempfile
import numpy as np
from outside import outside


def draw(rng, *shape):
    return rng.randn(*shape) + 1j * rng.randn(*shape)


class Job:
    def __init__(self, seed):
        rng = np.random.RandomState(seed)
        self.rng, self.planes, self.sensors = rng, 2 + seed % 3, 6
        self.lag, self.against = bool(seed % 2), bool(seed // 2 % 2)
        self.a = draw(rng, self.sensors, self.planes)
        self.start = 40 * draw(rng, self.sensors)
        self.zero = [0, 30, 200, 77][: self.planes]
        self.positions = {0: (2, 4, 8, 5)[seed % 4]}
        if seed % 3 == 0:
            self.positions[1] = (6, 3)[seed % 2]
        self.u = {j: 5 * draw(rng) for j in self.positions}
        self.use = list(range(self.planes))[seed % 2:]   # every other job leaves the first part's plane empty
        self.runs = [({}, {})] + [({j: 20 * draw(rng)}, {}) for j in range(self.planes)]
        for j, n in self.positions.items():
            self.runs.append(({self.planes - 1: 10 * draw(rng)} if seed % 2 else {}, {j: int(rng.randint(1, n))}))
        if len(self.positions) == 2:
            self.runs.append(({}, {0: 1, 1: 2}))

    def step(self, j, k):
        """exp(if) of k steps in the direction of mass angles."""
        return np.exp((-2j if self.against else 2j) * np.pi * k / self.positions[j])

    def reading(self, masses, turned):
        r = self.start.copy()
        for j, m in masses.items():
            r = r + self.a[:, j] * m
        for j, k in turned.items():
            r = r + self.a[:, j] * (self.step(j, k) - 1) * self.u[j]
        return r

    def mass(self, j, m):
        """User's mass and angle, from the plane's own zero."""
        angle = np.degrees(np.angle(m)) * (-1 if self.against else 1) - self.zero[j]
        return float(abs(m)), float(angle)

    def yaml(self):
        lines = ["case: {format: 1, title: turned parts}",
                 f"conventions: {{phase: {'lag' if self.lag else 'lead'}, "
                 f"mass_angle: {'against-rotation' if self.against else 'with-rotation'}}}",
                 "speeds: [{id: s, speed: 3000}]", "sensors:"]
        lines += [f"  - {{id: S{i}}}" for i in range(self.sensors)] + ["planes:"]
        for j in range(self.planes):
            turns = f", turns_by: {360 / self.positions[j]!r}" if j in self.positions else ""
            lines.append(f"  - {{id: P{j}, radius: 200, zero: {self.zero[j]}{turns}}}")
        lines.append("runs:")
        for n, (masses, turned) in enumerate(self.runs):
            lines.append(f"  - id: run {n}")
            for j, m in masses.items():
                size, angle = self.mass(j, m)
                lines += ["    masses:", f"      - {{plane: P{j}, mass: {size!r}, angle: {angle!r}}}"]
            if turned:
                pairs = ", ".join(f"P{j}: {k * 360 / self.positions[j]!r}" for j, k in turned.items())
                lines.append(f"    turned: {{{pairs}}}")
            lines += ["    readings:", "      s:"]
            for i, r in enumerate(self.reading(masses, turned)):
                phase = float(np.degrees(np.angle(r))) * (-1 if self.lag else 1)
                lines.append(f"        S{i}: {float(abs(r))!r} @ {phase!r}")
        return "\n".join([*lines, "now: {masses: []}",
                          f"objective: {{use_planes: [{', '.join(f'P{j}' for j in self.use)}]}}", ""])


def frame(job, entry, j):
    turn = np.radians(entry["angle"] + job.zero[j]) * (-1 if job.against else 1)
    return entry["mass"] * np.exp(1j * turn)


def check_positions(job, found):
    """numpy: least squares over all planes for every position."""
    wrong, last = [], (-1, -1)
    parts = sorted(job.positions)
    if len(found) != np.prod([job.positions[j] for j in parts]):
        return [f"{len(found)} positions"]
    seen = set()
    for entry in found:
        steps = {j: round(entry["turned"][f"P{j}"] * job.positions[j] / 360) for j in parts}
        seen.add(tuple(steps.values()))
        y = job.reading({}, steps)
        x = np.zeros(job.planes, complex)
        x[job.use] = -np.linalg.lstsq(job.a[:, job.use], y, rcond=None)[0]
        value = np.linalg.norm(y + job.a @ x)
        if abs(entry["value"] - value) > 1e-9 * value:
            wrong.append(f"{steps}: {entry['value']}, numpy {value}")
        masses = np.array([frame(job, c, j) for j, c in enumerate(entry["corrections"])])
        if np.abs(masses - x).max() > 1e-8 * np.abs(x).max():
            wrong.append(f"{steps}: masses {masses}, numpy {x}")
        if (entry["value"], entry["total_mass"]) < last:
            wrong.append("not in order")
        last = entry["value"], entry["total_mass"]
    if seen != set(itertools.product(*(range(job.positions[j]) for j in parts))):
        wrong.append("positions repeat")
    return wrong


def call(program, folder, text, *options):
    file = folder / "case.yaml"
    file.write_text(text)
    done = subprocess.run([program, "planes", *options, str(file)], capture_output=True, text=True)
    return done.returncode, done.stdout, done.stderr


def compare(program, folder, seed):
    job = Job(seed)
    status, out, errors = call(program, folder, job.yaml(), "--format", "json")
    if status != 0:
        return [f"exit {status}: {errors}"]
    turned = json.loads(out)["turned"]
    wrong = check_positions(job, turned["positions"])
    for part, j in zip(turned["parts"], sorted(job.positions), strict=True):
        error = abs(frame(job, part["unbalance"], j) - job.u[j]) / abs(job.u[j])
        if error > 1e-9 or part["wanting"] is not None:
            wrong.append(f"{part}: error {error}")
    if turned["misfit"] > 1e-9:
        wrong.append(f"misfit {turned['misfit']}")
    return wrong


def slips(program, folder):
    """What is wrong with a turned run is said; what cannot be told is said and stays as found."""
    good = Job(0).yaml()                          # P0 turns by 180, P1 by 60
    wrong = []
    for old, new, words in (("turns_by: 180.0", "turns_by: 50", "must divide the full turn"),
                            (", turns_by: 180.0", "", "has no 'turns_by'"),
                            ("turned: {P0: 180.0}", "turned: {P0: 100}", "not a whole number"),
                            ("turned: {P0: 180.0}", "turned: {P9: 180}", "P9")):
        status, out, errors = call(program, folder, good.replace(old, new), "--format", "json")
        if good.replace(old, new) == good or status != 2 or out or words not in errors:
            wrong.append(f"{new}: exit {status}, {errors!r}")
    lines = good.replace("P1: 120.0", "P1: 0").splitlines()
    text = "\n".join(line for line in lines if not line.startswith("    turned: {P1")) + "\n"
    status, out, _ = call(program, folder, text, "--format", "json")
    parts = json.loads(out)["turned"]["parts"] if status == 0 else []
    if [p["wanting"] is None for p in parts] != [True, False] or "no run" not in parts[1]["wanting"]:
        wrong.append(f"part never turned: {parts}")
    status, out, _ = call(program, folder, good)
    if status != 0 or "PARTS THAT CAN BE TURNED" not in out or "12 positions compared" not in out:
        wrong.append("the page does not tell of positions")
    return wrong


def main():
    program = sys.argv[1]
    failed = count = 0
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        for job, *arguments in [(slips,), *((compare, seed) for seed in range(24))]:
            wrong = job(program, folder, *arguments)
            count += 1
            if wrong:
                failed += 1
                print(f"{job.__name__} {arguments}: {len(wrong)} wrong, first: {wrong[:4]}")
    print(f"{count - failed} of {count} jobs with turned parts agree with numpy")
    if not failed:
        outside("parts turned in steps: unbalance found, every position compared", "simulated jobs with known truth; numpy",
                "reference library", "24 jobs to 1e-9")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())

# SPDX-License-Identifier: MIT
"""Jobs on the shaft model in which something was mounted or written differently.

Each job: as-found run, a trial run on every plane, then a correction run for
masses that least squares finds from these readings.  The correction run holds
one mistake of a named kind (or none): masses and readings are changed here, by
code of its own, from what the words of the kind say.  Responses are those of
heating_plant.py, read with scatter and rounded as a person writes them down.
"""
import json
import pathlib
import subprocess
import tempfile
import numpy as np
import heating_plant as plant

SPEEDS = {"third": 1000, "half": 1500, "critical": 1660, "service": 3000}
RADIUS = {"P1": 260, "P2": 360, "P3": 360, "P4": 380, "P5": 380}
ZERO = {"P4": 20}
SCATTER = 1.5
DECLARED = 1.8                 # scatter and rounding together
SPOTS = (1.0, 1.8, 4.6, 5.4, 6.2, 9.2, 10.4, 11.6, 7.4, 3.4)     # where the rotor may be unbalanced
SITES = {"P2": (8, 40.0), "P5": (12, 25.0)}      # numbered positions: how many, angle of the first
KINDS = ["angle-mirrored", "opposite-side", "one-position-off", "numbered-the-other-way", "planes-swapped", "mass-missing", "mass-came-off",
         "trial-left-on", "mass-unit", "wrong-radius", "phase-convention", "phase-reference-moved",
         "cables-swapped", "amplitude-scale", "machine-changed"]


def phasor(size, degrees):
    return size * np.exp(1j * np.radians(degrees))


class Responses:
    """Readings of all rows per kg m at each spot and per gram on each plane."""

    def __init__(self):
        line = plant.build()
        self.rows = [(v, s) for v in SPEEDS for s, _, _ in plant.rows()]
        self.spot = {z: np.concatenate([plant.readings(line, n, [(z, 1.0)]) for n in SPEEDS.values()])
                     for z in SPOTS}
        self.plane = {p: np.concatenate([plant.readings(line, n, [(z, 1e-6 * RADIUS[p])])
                                         for n in SPEEDS.values()]) for p, z in plant.PLANES.items()}


class Job:
    """kind None: everything is right.  noise 0: exact readings in full digits."""

    def __init__(self, responses, seed, kind, noise=SCATTER):
        self.r, self.kind, self.noise = responses, kind, noise
        self.rng = np.random.RandomState(seed)
        self.errors = np.random.RandomState(seed + 100000)
        rng = self.rng
        self.lag, self.against = rng.randint(2), rng.randint(2)
        few = rng.choice(list(RADIUS), rng.randint(2, 5), replace=False)
        self.planes = sorted(few)
        self.unbalance = {z: phasor(rng.uniform(0.02, 0.12), rng.uniform(0, 360)) for z in SPOTS}
        self.left_on = rng.rand() < 0.5            # trials stay on, and come off for the correction
        self._trials()
        self._correction()
        self._mistake()

    # masses are complex grams with rotation from the reference mark
    def true(self, masses, unbalance=None):
        total = sum(u * self.r.spot[z] for z, u in (unbalance or self.unbalance).items())
        return total + sum(m * self.r.plane[p] for p, m in masses.items())

    def read(self, value):
        e = (self.errors.randn(len(value)) + 1j * self.errors.randn(len(value))) / np.sqrt(2)
        return value + self.noise * e

    def _trials(self):
        self.runs = [("as-found", {}, self.read(self.true({})))]
        on = {}
        for p in self.planes:
            # enough to show 40 standard deviations somewhere at service speed: 60 um
            best = np.max(np.abs(self.r.plane[p][-12:]))
            mass = phasor(np.ceil(40 * SCATTER / best / 10) * 10, self.rng.randint(360))
            on = {**(on if self.left_on else {}), p: mass}
            self.runs.append((f"trial on {p}", dict(on), self.read(self.true(on))))

    def _correction(self):
        design = np.array([[1, *[m.get(p, 0) for p in self.planes]] for _, m, _ in self.runs])
        y = np.array([r for _, _, r in self.runs])
        fit = np.linalg.lstsq(design, y, rcond=None)[0]
        x = np.linalg.lstsq(fit[1:].T, -fit[0], rcond=None)[0]
        self.stated = {}
        for p, m in zip(self.planes, x):
            angle = self._holdable(p, np.degrees(np.angle(m)))
            self.stated[p] = phasor(max(5, round(abs(m))), angle)

    def _holdable(self, p, degrees):
        """Angle with rotation that can be mounted: a whole degree, or the nearest position."""
        way = -1 if self.against else 1
        if p not in SITES:
            return round(degrees)
        count, first = SITES[p]
        number = round((way * degrees - first) * count / 360)
        return way * (first + number * 360 / count)

    def zero(self, plane):
        """The plane's own zero as an angle with rotation."""
        return (-1 if self.against else 1) * ZERO.get(plane, 0)

    def _own_angle(self, plane):
        return np.angle(self.stated[plane]) - np.radians(self.zero(plane))

    # ---- mistakes: each changes what is on the rotor, or what is written ----

    def _mistake(self):
        self.really = dict(self.stated)
        self.after = lambda readings: readings
        self.where = None
        value = None
        if self.kind:
            value = getattr(self, "make_" + self.kind.replace("-", "_"))()
        if value is None:
            value = self.true(self.really)
        self.runs.append(("correction", dict(self.stated), self.after(self.read(value))))

    def one(self):
        """The plane that carries the most, in readings: a mistake there matters."""
        weight = [abs(self.stated[p]) * np.linalg.norm(self.r.plane[p]) for p in self.planes]
        self.where = self.planes[int(np.argmax(weight))]
        return self.where

    def make_angle_mirrored(self):
        p = self.one()
        self.really[p] = abs(self.stated[p]) * np.exp(1j * (np.radians(self.zero(p)) - self._own_angle(p)))

    def make_opposite_side(self):
        p = self.one()
        self.really[p] = -self.stated[p]

    def _sited(self):
        """The last plane with positions, if the job has one."""
        own = [p for p in self.planes if p in SITES]
        self.where = own[-1] if own else None
        return self.where

    def make_one_position_off(self):
        p = self._sited()
        if p:
            self.really[p] = self.stated[p] * phasor(1, self.rng.choice([-1, 1]) * 360 / SITES[p][0])

    def make_numbered_the_other_way(self):
        """Position n found by counting n - 1 steps from the first one in the other direction."""
        p = self._sited()
        if p:
            first = (-1 if self.against else 1) * SITES[p][1]
            steps = np.degrees(np.angle(self.stated[p])) - first
            self.really[p] = phasor(abs(self.stated[p]), first - steps)

    def make_planes_swapped(self):
        p = self.one()
        q = self.rng.choice([o for o in self.planes if o != p])
        turn = np.exp(1j * np.radians(self.zero(q) - self.zero(p)))
        self.really[p], self.really[q] = self.stated[q] / turn, self.stated[p] * turn
        self.where = min(p, q)

    def make_mass_missing(self):
        self.really[self.one()] = 0

    def make_mass_came_off(self):
        """Somewhere between two speeds."""
        p = self.one()
        last = self.rng.choice([0, 1, 2])          # number of the last speed that still felt it
        there, gone = self.true(self.really), self.true({**self.really, p: 0})
        return np.concatenate([there[:12 * (last + 1)], gone[12 * (last + 1):]])

    def make_trial_left_on(self):
        p = self.planes[-1]                        # its trial was on in the run before, whatever the habit
        self.where = p
        self.really[p] = self.stated[p] + self.runs[-1][1][p]

    def make_mass_unit(self):
        for p in self.planes:
            self.really[p] = self.stated[p] / 28.349523125

    def make_wrong_radius(self):
        p = self.one()
        self.really[p] = self.stated[p] * self.rng.choice([0.6, 0.7, 1.3, 1.5])

    def make_phase_convention(self):
        self.after = np.conj

    def make_phase_reference_moved(self):
        turn = phasor(1, self.rng.uniform(15, 345))
        self.after = lambda readings: readings * turn

    def make_cables_swapped(self):
        a, b = self.rng.choice(12, 2, replace=False)
        order = np.arange(12)
        order[[a, b]] = order[[b, a]]
        self.after = lambda readings: np.concatenate([readings[12 * v + order] for v in range(len(SPEEDS))])

    def make_amplitude_scale(self):
        factor = self.rng.choice([2, 0.5, 1.4142, 0.7071])
        self.after = lambda readings: factor * readings

    def make_machine_changed(self):
        """Lost material at two places, and a journal that moves."""
        more = {z: u + phasor(self.rng.uniform(0.05, 0.2), self.rng.uniform(0, 360))
                if z in self.rng.choice(SPOTS, 2, replace=False) else u for z, u in self.unbalance.items()}
        value = self.true(self.really, more)
        b = self.rng.randint(6)
        for v in range(len(SPEEDS)):
            value[12 * v + 2 * b] *= phasor(self.rng.uniform(0.6, 1.6), self.rng.uniform(-50, 50))
        return value

    def distance(self, upto):
        """Squared distance of the readings from their prediction, in variances of reading and prediction: log of the
        likelihood ratio, in exact readings, of what is there against a right run."""
        n = 12 * sum(rpm <= upto for rpm in SPEEDS.values())
        design = np.array([[1, *[m.get(p, 0) for p in self.planes]] for _, m, _ in self.runs])
        before, line = design[:-1], design[-1]
        spread = np.real(line @ np.linalg.inv(before.conj().T @ before) @ line.conj())
        fit = np.linalg.lstsq(before, np.array([r for _, _, r in self.runs[:-1]]), rcond=None)[0]
        return np.sum(abs((self.runs[-1][2] - line @ fit)[:n]) ** 2) / (DECLARED ** 2 * (1 + spread))

    # ---- the case file ----

    def _written(self, z):
        degrees = (-1 if self.lag else 1) * np.degrees(np.angle(z))
        if self.noise == 0:
            return f"{abs(z):.9g} @ {degrees:.7f}"
        size = abs(z)
        return f"{round(size * 2) / 2 if size < 20 else round(size, 1):g} @ {round(degrees) % 360}"

    @staticmethod
    def _sites(p):
        return f", sites: {{count: {SITES[p][0]}, first_angle: {SITES[p][1]:g}}}" if p in SITES else ""

    def _mass(self, p, m):
        degrees = (-1 if self.against else 1) * (np.degrees(np.angle(m)) - self.zero(p))
        return f"{{plane: {p}, mass: {abs(m):.9g}, angle: {degrees:.7f}}}"

    def text(self, upto=None):
        """upto: highest speed (r/min) at which the correction run has been read."""
        lines = ["case: {format: 1, title: a job}",
                 f"conventions: {{phase: {'lag' if self.lag else 'lead'}, "
                 f"mass_angle: {'against' if self.against else 'with'}-rotation}}", "speeds:"]
        lines += [f"  - {{id: {v}, speed: {n}}}" for v, n in SPEEDS.items()]
        lines += ["sensors:"] + [f"  - {{id: {s}, position: {plant.BEARINGS[b] * 1000:g}, angle: {a % 360:g}, "
                                 f"limit: 60, repeatability: {DECLARED}}}" for s, b, a in plant.rows()]
        lines += ["planes:"] + [f"  - {{id: {p}, radius: {RADIUS[p]}, zero: {ZERO.get(p, 0)}{self._sites(p)}}}"
                                for p in self.planes]
        lines += ["runs:"]
        for k, (run, masses, readings) in enumerate(self.runs):
            lines += [f"  - id: {run}", "    masses: [" + ", ".join(
                self._mass(p, m) for p, m in masses.items()) + "]", "    readings:"]
            for i, (v, n) in enumerate(SPEEDS.items()):
                if upto is not None and k == len(self.runs) - 1 and n > upto:
                    continue
                lines.append(f"      {v}: {{" + ", ".join(
                    f"{s}: {self._written(z)}" for (_, s), z in
                    zip(self.r.rows[12 * i:], readings[12 * i:12 * i + 12])) + "}")
        return "\n".join(lines) + "\n"


def check_all(program, texts, *options):
    """Results of `check` on many cases, some at a time."""
    results = []
    with tempfile.TemporaryDirectory() as folder:
        names = []
        for i, text in enumerate(texts):
            path = pathlib.Path(folder) / f"{i}.yaml"
            path.write_text(text)
            names.append(str(path))
        for i in range(0, len(names), 50):
            done = subprocess.run([program, "check", "--format", "json", *options, *names[i:i + 50]],
                                  capture_output=True, text=True)
            tree = json.loads(done.stdout)
            results += tree if isinstance(tree, list) else [tree]
    return results


def mounted(result, run="correction"):
    """The explanations of the run, or None when it is not accused."""
    for f in result["findings"]:
        if f["code"] == "mounted-differently" and f.get("run") == run:
            return f["explanations"]
    return None

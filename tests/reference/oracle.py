# SPDX-License-Identifier: MIT
"""A second implementation of the numbers, for least squares without binding caps.

Problem   rows r_i(x) = y_i + sum_j A_ij (x_j - b_j); minimise sum W_i^2 |r_i|^2
          over x = n (planes not in use), x = fixed values, linear ties.
Method    numpy's SVD throughout, written from the definition of the case file
          and sharing nothing with the engine.
Frame     masses m exp(+i angle with rotation), readings a exp(+i lead); masses
          in grams, readings in the sensor's own unit.
"""
import re
import numpy as np
import yaml

RANK = 1e-10
ZERO = 1e-9
NUMBER = re.compile(r"\s*([+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")
MASS = {"g": 1.0, "kg": 1000.0, "oz": 28.349523125, "lb": 453.59237}
LENGTH = {"mm": 1.0, "m": 1000.0, "in": 25.4}
SIZE = {"pp": 1.0, "p-p": 1.0, "pk": 2.0, "rms": 2 * np.sqrt(2)}
KIND = {"um": ("displacement", 1.0), "mm": ("displacement", 1000.0), "mil": ("displacement", 25.4),
        "mm/s": ("velocity", 1.0), "in/s": ("velocity", 25.4),
        "m/s2": ("acceleration", 1.0), "g": ("acceleration", 9.80665)}
FLOOR = {"displacement": ("um pp", 1.0), "velocity": ("mm/s rms", 0.1),
         "acceleration": ("m/s2 rms", 0.05)}


def vibration(unit):
    """(kind, factor to that kind's peak-to-peak base unit)"""
    base, size = unit.split()
    kind, factor = KIND[base]
    return kind, factor * SIZE[size]


def number(text, unit, factor):
    """A number with or without its own unit, in `unit`; factor(unit) -> size."""
    value, own = NUMBER.match(text).groups()
    return float(value) * (factor(own) / factor(unit) if own else 1.0)


def phasor(text, sign, unit, factor):
    amplitude, degrees = text.split("@")
    return number(amplitude, unit, factor) * np.exp(1j * sign * np.radians(float(degrees)))


def rank_of(matrix):
    """Rank with columns scaled to unit norm."""
    if matrix.size == 0:
        return 0
    norms = np.linalg.norm(matrix, axis=0)
    scaled = matrix[:, norms > 0] / norms[norms > 0]
    if scaled.shape[1] == 0:
        return 0
    s = np.linalg.svd(scaled, compute_uv=False)
    return int(np.sum(s > RANK * s[0]))


def least_squares(matrix, right):
    """One least-squares solution, rank decided with columns of unit norm."""
    norms = np.linalg.norm(matrix, axis=0)
    norms[norms == 0] = 1
    return np.linalg.lstsq(matrix / norms, right, rcond=RANK)[0] / norms


def null_basis(matrix, n):
    """Orthonormal basis of {v: matrix v = 0}."""
    if matrix.shape[0] == 0:
        return np.eye(n, dtype=complex)
    norms = np.linalg.norm(matrix, axis=0)
    norms[norms == 0] = 1
    _, s, vh = np.linalg.svd(matrix / norms)
    rank = int(np.sum(s > RANK * s[0])) if s[0] > 0 else 0
    basis = vh[rank:].conj().T / norms[:, None]
    return np.linalg.qr(basis)[0] if basis.shape[1] else basis


class Case:
    """The case file as arrays."""

    def __init__(self, text):
        self.tree = yaml.load(text, yaml.BaseLoader)
        units = {"mass": "g", "length": "mm", "vibration": "um pp", **self.tree.get("units", {})}
        self.mass_unit, self.length_unit = units["mass"], units["length"]
        conventions = self.tree["conventions"]
        self.phase_sign = -1 if conventions["phase"] == "lag" else 1
        self.mass_sign = -1 if conventions["mass_angle"] == "against-rotation" else 1
        self.speeds = [s["id"] for s in self.tree["speeds"]]
        self.sensors = [s["id"] for s in self.tree["sensors"]]
        self.planes = [p["id"] for p in self.tree["planes"]]
        self.unit = {s["id"]: s.get("unit", units["vibration"]) for s in self.tree["sensors"]}
        self.zero = np.radians([float(p.get("zero", 0)) for p in self.tree["planes"]])
        self.radius = [self.length(p["radius"]) if "radius" in p else None
                       for p in self.tree["planes"]]
        self.objective = self.tree.get("objective", {})
        self._runs()
        self._rows()

    def length(self, text):
        return number(text, self.length_unit, LENGTH.get) * LENGTH[self.length_unit]

    def reading(self, sensor, text):
        return phasor(text, self.phase_sign, self.unit[sensor], lambda u: vibration(u)[1])

    def size(self, sensor, text):
        return number(text, self.unit[sensor], lambda u: vibration(u)[1])

    def grams(self, text):
        return number(text, self.mass_unit, MASS.get) * MASS[self.mass_unit]

    def turn(self, degrees, plane=None):
        zero = 0.0 if plane is None else self.zero[plane]
        return np.exp(1j * self.mass_sign * (np.radians(float(degrees)) + zero))

    def state(self, masses):
        total = np.zeros(len(self.planes), complex)
        for m in masses:
            j = self.planes.index(m["plane"])
            grams = self.grams(m["mass"])
            if "radius" in m:
                grams *= self.length(m["radius"]) / self.radius[j]
            total[j] += grams * self.turn(m["angle"], j)
        return total

    def _runs(self):
        self.runs = self.tree["runs"]
        states = [self.state(r.get("masses", [])) for r in self.runs]
        now = self.tree.get("now")
        self.now = self.state(now.get("masses", [])) if now else states[-1].copy()
        names = [r["id"] for r in self.runs]
        base = names.index(self.objective["base"]) if "base" in self.objective else len(names) - 1
        masses = [abs(self.grams(m["mass"])) for r in self.runs for m in r.get("masses", [])]
        self.tiny = ZERO * max(masses + [abs(v) for v in self.now] + [0.0])
        for s in [*states, self.now]:
            s[abs(s) < self.tiny] = 0
        self.states, self.base = np.array(states), states[base]
        same = [bool(np.all(abs(s - self.base) <= self.tiny)) for s in states]
        self.base_runs = [k for k, s in enumerate(same) if s]
        self.clean_runs = [k for k, s in enumerate(states) if not s.any()]

    def _rows(self):
        roll = {s: self.reading(s, v) for s, v in self.tree.get("slow_roll", {}).items()}
        self.rows, self.read, self.repeats = [], [], []
        for speed in self.speeds:
            for sensor in self.sensors:
                found, repeats = {}, []
                for k, run in enumerate(self.runs):
                    value = run.get("readings", {}).get(speed, {}).get(sensor)
                    if value is None:
                        continue
                    values = [value] if isinstance(value, str) else value
                    values = np.array([self.reading(sensor, v) for v in values]) - roll.get(sensor, 0)
                    found[k] = values.mean()
                    repeats.append((np.sum(abs(values - values.mean()) ** 2), len(values) - 1))
                if found:
                    self.rows.append((speed, sensor))
                    self.read.append(found)
                    self.repeats.append(repeats)

    def of_sensor(self, sensor, key, speed):
        entry = next(s for s in self.tree["sensors"] if s["id"] == sensor).get(key)
        return entry.get(speed) if isinstance(entry, dict) else entry

    def limits(self):
        return [None if (v := self.of_sensor(sensor, "limit", speed)) is None else self.size(sensor, v)
                for speed, sensor in self.rows]

    def weights(self):
        """W_i, with dropped rows at 0."""
        by_speed = {s["id"]: float(s.get("weight", 1)) for s in self.tree["speeds"]}
        dropped = {(d[1], d[0]) for d in self.objective.get("drop_rows", [])}
        raw = np.array([0.0 if row in dropped else
                        by_speed[row[0]] * float(self.of_sensor(row[1], "weight", row[0]) or 1)
                        for row in self.rows])
        limits = self.limits()
        if all(v is None for v, w in zip(limits, raw) if w > 0):
            return raw
        return np.array([w / v if w > 0 else 0.0 for w, v in zip(raw, limits)])

    def known(self):
        """{(row, plane): (value per gram in the frame, sd or None, common)}"""
        table = {}
        for e in self.tree.get("influence", []):
            row = (e["speed"], e["sensor"])
            if row not in self.rows:
                continue
            i, j = self.rows.index(row), self.planes.index(e["plane"])
            per = MASS[self.mass_unit]
            value = self.reading(e["sensor"], e["value"]) / per / self.turn(0, j)
            table[i, j] = (value, *self._uncertainty(e, value, per))
        return table

    def _uncertainty(self, entry, value, per):
        u = entry.get("uncertainty")
        if u is None:
            return None, 0.0
        if isinstance(u, str):
            if u.endswith("%"):
                return abs(value) * float(u[:-1]) / 100, 0.0
            return self.size(entry["sensor"], u) / per, 0.0
        size = float(u.get("size", "0").rstrip("% ")) / 100
        return abs(value) * np.hypot(size, np.radians(float(u.get("phase", 0)))), float(u.get("common", 0))


class Fit:
    """Influence of every row, its scatter, and what the runs tell."""

    def __init__(self, case):
        self.case, self.known = case, case.known()
        n, m = len(case.rows), len(case.planes)
        self.a, self.as_found = np.zeros((n, m), complex), np.zeros(n, complex)
        self.free = [[j for j in range(m) if not self._exact(i, j)] for i in range(n)]
        self.scatter = self._scatter()
        self._fit()

    def _exact(self, i, j):
        return (i, j) in self.known and self.known[i, j][1] is None

    def data(self, i):
        """(matrix on [1, masses of planes in the fit], right side) of a row."""
        runs = sorted(self.case.read[i])
        states = self.case.states[runs]
        right = np.array([self.case.read[i][k] for k in runs])
        for j in range(states.shape[1]):
            if self._exact(i, j):
                right = right - self.known[i, j][0] * states[:, j]
        return np.hstack([np.ones((len(runs), 1)), states[:, self.free[i]]]), right

    def _scatter(self):
        pools, repeats = {}, {}
        for i, (_, sensor) in enumerate(self.case.rows):
            key = (self.case.unit[sensor], self.case.of_sensor(sensor, "kind", None))
            d, y = self.data(i)
            residual = y - d @ least_squares(d, y)
            s, f = pools.get(key, (0.0, 0))
            pools[key] = s + np.sum(abs(residual) ** 2), f + len(y) - rank_of(d)
            s, f = repeats.get(key, (0.0, 0))
            repeats[key] = (s + sum(r[0] for r in self.case.repeats[i]),
                            f + sum(r[1] for r in self.case.repeats[i]))
        return [self._scatter_of(i, pools, repeats) for i in range(len(self.case.rows))]

    def _scatter_of(self, i, pools, repeats):
        sensor = self.case.rows[i][1]
        declared = self.case.of_sensor(sensor, "repeatability", None)
        if declared is not None:
            return self.case.size(sensor, declared)
        unit = self.case.unit[sensor]
        key = (unit, self.case.of_sensor(sensor, "kind", None))
        for s, f in (pools[key], repeats[key]):
            if f > 0:
                return np.sqrt(s / f)
        kind, factor = vibration(unit)
        base, floor = FLOOR[kind]
        mean = np.mean([abs(v) for v in self.case.read[i].values()])
        return 0.03 * mean + floor * vibration(base)[1] / factor

    def prior_rows(self, i):
        """Rows of the fit matrix that priors add (not yet weighted)."""
        return [(k, j) for k, j in enumerate(self.free[i], 1) if (i, j) in self.known]

    def matrix(self, i):
        d, _ = self.data(i)
        extra = np.zeros((len(self.prior_rows(i)), d.shape[1]))
        for r, (k, _) in enumerate(self.prior_rows(i)):
            extra[r, k] = self.scatter[i] / self.known[i, self.free[i][k - 1]][1]
        return np.vstack([d, extra])

    def _fit(self):
        for group in self._groups():
            self._fit_group(group)

    def _groups(self):
        """Rows that priors in common tie together; else each row by itself."""
        together = {self.case.rows[i][0] for (i, _), k in self.known.items() if k[2] > 0}
        for speed in self.case.speeds:
            rows = [i for i, r in enumerate(self.case.rows) if r[0] == speed]
            yield from [rows] if speed in together else [[i] for i in rows]

    def _fit_group(self, rows):
        """Generalised least squares, priors and readings whitened jointly."""
        start = np.cumsum([0] + [1 + len(self.free[i]) for i in rows])
        blocks, right = [], []
        for r, i in enumerate(rows):
            d, y = self.data(i)
            block = np.zeros((len(y), start[-1]), complex)
            block[:, start[r]:start[r + 1]] = d / self.scatter[i]
            blocks.append(block)
            right.append(y / self.scatter[i])
        for j in range(len(self.case.planes)):
            self._prior(rows, start, j, blocks, right)
        solution = least_squares(np.vstack(blocks), np.concatenate(right))
        for r, i in enumerate(rows):
            part = solution[start[r]:start[r + 1]]
            self.as_found[i] = part[0]
            self.a[i, self.free[i]] = part[1:]
            for j in set(range(len(self.case.planes))) - set(self.free[i]):
                self.a[i, j] = self.known[i, j][0]

    def _prior(self, rows, start, j, blocks, right):
        """Whitened prior of one plane over the rows of a group."""
        have = [(r, i) for r, i in enumerate(rows) if (i, j) in self.known and j in self.free[i]]
        if not have:
            return
        value = np.array([self.known[i, j][0] for _, i in have])
        sd = np.array([self.known[i, j][1] for _, i in have])
        share = np.sqrt([self.known[i, j][2] for _, i in have])
        direction = value / np.where(abs(value) > 0, abs(value), 1)
        latent = sd * share * direction
        covariance = np.outer(latent, latent.conj()) + np.diag(sd ** 2 * (1 - share ** 2))
        whiten = np.linalg.inv(np.linalg.cholesky(covariance))
        block = np.zeros((len(have), start[-1]), complex)
        for k, (r, i) in enumerate(have):
            block[:, start[r] + 1 + self.free[i].index(j)] = whiten[:, k]
        blocks.append(block)
        right.append(whiten @ value)

    def tells(self, i, directions):
        """Whether the runs tell row i along directions on [1, all planes]."""
        columns = [0] + [j + 1 for j in self.free[i]]
        matrix = self.matrix(i)
        return rank_of(np.vstack([matrix, directions[:, columns]])) == rank_of(matrix)

    def determined(self, i, j):
        direction = np.zeros((1, 1 + len(self.case.planes)), complex)
        direction[0, j + 1] = 1
        return self.tells(i, direction)

    def base_reading(self, i):
        values = [self.case.read[i][k] for k in self.case.base_runs if k in self.case.read[i]]
        if values:
            return np.mean(values), True
        return self.as_found[i] + self.a[i] @ self.case.base, False


class Allowed:
    """z = z0 + Z u after use_planes, fixed and ties."""

    def __init__(self, case):
        m = len(case.planes)
        use = case.objective.get("use_planes", case.planes)
        x = case.now.copy()
        self.moving = [j for j in range(m) if case.planes[j] in use]
        for plane, text in case.objective.get("fixed", {}).items():
            j = case.planes.index(plane)
            x[j] = phasor(text, case.mass_sign, case.mass_unit, MASS.get) * MASS[case.mass_unit]
            x[j] *= np.exp(1j * case.mass_sign * case.zero[j])
            self.moving = [k for k in self.moving if k != j]
        ties = case.objective.get("ties", [])
        t, e = np.zeros((len(ties), m), complex), np.zeros(len(ties), complex)
        for r, tie in enumerate(ties):
            for plane, text in tie["terms"].items():
                t[r, case.planes.index(plane)] = phasor(text, case.mass_sign, "g", MASS.get)
            e[r] = phasor(tie["equals"], case.mass_sign, case.mass_unit, MASS.get) * MASS[case.mass_unit]
        free = self.moving
        x[free] = 0
        x[free] = least_squares(t[:, free], e - t @ x) if len(ties) and free else 0
        basis = np.zeros((m, 0), complex)
        if free:
            part = null_basis(t[:, free], len(free))
            basis = np.zeros((m, part.shape[1]), complex)
            basis[free] = part
        self.z0, self.basis = x - case.base, basis
        self.z0[abs(self.z0) < case.tiny] = 0


def condition(weights, a, known, rows, planes):
    """Condition number or None."""
    rows = [i for i in rows if weights[i] > 0]
    if not rows or not planes or not known[np.ix_(rows, planes)].all() or len(rows) < len(planes):
        return None
    b = weights[rows, None] * a[np.ix_(rows, planes)]
    norms = np.linalg.norm(b, axis=0)
    if not norms.all():
        return None
    s = np.linalg.svd(b / norms, compute_uv=False)
    return None if s[0] > 1e15 * s[-1] else s[0] / s[-1]


def solve(text):
    """The answer as a dictionary of arrays in the frame (grams, sensor units)."""
    case = Case(text)
    fit, allowed = Fit(case), Allowed(case)
    weights, n = case.weights(), len(case.rows)
    y, read = map(np.array, zip(*[fit.base_reading(i) for i in range(n)]))
    directions = np.vstack([allowed.basis.T, allowed.z0])
    directions = np.hstack([np.zeros((len(directions), 1)), directions])
    base = np.concatenate([[1], case.base])[None]
    told = np.array([fit.tells(i, directions if read[i] else np.vstack([directions, base]))
                     for i in range(n)])
    known = np.array([[fit.determined(i, j) for j in range(len(case.planes))] for i in range(n)])
    result = {"case": case, "fit": fit, "told": told, "known": known, "weights": weights, "y": y,
              "status": "optimal" if told[weights > 0].all() else "undetermined"}
    by_speed = {s: [i for i in range(n) if case.rows[i][0] == s] for s in case.speeds}
    result["condition"] = condition(weights, fit.a, known, range(n), allowed.moving)
    result["by_speed"] = {s: condition(weights, fit.a, known, r, allowed.moving)
                          for s, r in by_speed.items()}
    if result["status"] == "optimal":
        z = best(weights, y, fit.a, allowed)
        r = y + fit.a @ z
        clean = [[case.read[i][k] for k in case.clean_runs if k in case.read[i]] for i in range(n)]
        x = z + case.base
        x[abs(x) < case.tiny] = 0
        result.update(x=x, change=x - case.now, after=r, value=np.linalg.norm((weights * r)[told]),
                      before=np.array([np.mean(c) if c else y[i] for i, c in enumerate(clean)]))
    return result


def best(weights, y, a, allowed):
    """Least norm of z among the least-squares answers."""
    rows = weights > 0
    b = weights[rows, None] * (a[rows] @ allowed.basis)
    right = -weights[rows] * (y[rows] + a[rows] @ allowed.z0)
    u = least_squares(b, right) if b.size else np.zeros(allowed.basis.shape[1])
    z = allowed.z0 + allowed.basis @ u
    if b.shape[1]:
        loose = allowed.basis @ null_basis(b, b.shape[1])
        if loose.shape[1]:
            z = z - loose @ np.linalg.lstsq(loose, z, rcond=RANK)[0]
    return z

# SPDX-License-Identifier: MIT
"""Random cases for the optimiser as a user writes them, and the same problems as arrays, made side by side.

A case has known influence, so that nothing but the optimiser is asked: all objectives, caps of all three kinds, masses
that stay, limits, fixed masses, ties, planes not in use, what is on the rotor now and any base state, in all conventions.
The arrays are in one frame (phase lead, masses with rotation from the reference mark), masses in the case's unit,
readings in the sensor's unit. Constructed; nothing is taken from the engine.
"""
import cmath
import math

import numpy as np

import optimise_problems as op

KILOGRAMS = {"g": 1e-3, "kg": 1.0, "oz": 0.028349523125}
OVERSPEED = 3300.0


def phasors(rng, *shape):
    return rng.normal(size=shape) + 1j * rng.normal(size=shape)


class Case:
    """One case: `text` for the program, `problem` for CVXOPT, and the way from printed phasors to the frame."""

    def __init__(self, rng, objective, name):
        self.rng, self.name, self.objective = rng, name, objective
        self.lag, self.against = bool(rng.integers(2)), bool(rng.integers(2))
        self.mass_unit = str(rng.choice(list(KILOGRAMS)))
        self.speeds = [f"s{k}" for k in range(int(rng.integers(1, 3)))]
        self.sensors = [f"r{i}" for i in range(int(rng.integers(1, 10)))]
        self.rows = [(v, s) for v in self.speeds for s in self.sensors]
        self.planes = [f"p{j}" for j in range(int(rng.integers(1, 7)))]
        self.spreads = objective in (op.EXPECTED, op.CONFIDENCE)
        self.lines = {}
        self._numbers()
        self._states()
        self._constraints()
        self._limits()
        self._objective()

    # ---- the frame ----

    def reading(self, size, degrees):
        return size * cmath.exp(1j * math.radians(-degrees if self.lag else degrees))

    def mass(self, size, degrees, plane=None):
        turn = degrees + (0 if plane is None else self.zero[plane])
        return size * cmath.exp(1j * math.radians(-turn if self.against else turn))

    def user_reading(self, z):
        return f"{float(abs(z))!r} @ {self._degrees(z, self.lag, 0)!r}"

    def user_mass(self, z, plane=None):
        return f"{float(abs(z))!r} @ {self._degrees(z, self.against, 0 if plane is None else self.zero[plane])!r}"

    @staticmethod
    def _degrees(z, negative, zero):
        degrees = math.degrees(cmath.phase(z))
        return float((-degrees if negative else degrees) - zero)

    # ---- the parts ----

    def _numbers(self):
        rng, n, m = self.rng, len(self.rows), len(self.planes)
        self.zero = [float(rng.choice([0.0, 30.0, 211.5])) for _ in range(m)]
        a = phasors(rng, n, m) * 10.0 ** rng.uniform(-1, 1)
        if m > 1 and rng.random() < 0.15:
            a[:, -1] = a[:, 0] * (0.5 + 0.2j)  # dependent planes
        if rng.random() < 0.2:
            a = a @ np.diag(10.0 ** rng.uniform(-2, 2, m))
        y = phasors(rng, n) * 10.0 ** rng.uniform(0, 2)
        if rng.random() < 0.03:
            y[:] = 0
        self.problem = op.Problem(self.objective, y, a)
        self.typical = np.linalg.norm(y) / np.linalg.norm(a, axis=0)
        self.typical[self.typical == 0] = 1
        self.sigma = 0.02 * np.abs(y).mean() * np.ones(n) + 1e-3
        self.uncertain = 0.05 * np.abs(a) * (rng.random() < 0.7)
        if self.spreads:
            self.problem.spread = [np.diag([s, *u]).astype(complex) for s, u in zip(self.sigma, self.uncertain)]

    def _states(self):
        rng, p = self.rng, self.problem
        if rng.random() < 0.5:
            p.base = self.typical * phasors(rng, p.planes) * 0.4 * (rng.random(p.planes) < 0.7)
        p.now = p.base + 0
        self.has_now = rng.random() < 0.4
        if self.has_now:
            p.now = self.typical * phasors(rng, p.planes) * 0.4 * (rng.random(p.planes) < 0.7)
        self.stays = (np.abs(p.now) > 0) & (rng.random(p.planes) < 0.2)

    def _constraints(self):
        rng, p = self.rng, self.problem
        used = [j for j in range(p.planes) if rng.random() < 0.9] or [0]
        fixed = [j for j in range(p.planes) if p.planes > 1 and rng.random() < 0.1]
        self.lines["use_planes"] = "[" + ", ".join(self.planes[j] for j in used) + "]" if len(used) < p.planes else None
        for j in range(p.planes):
            p.held[j] = j in fixed or j not in used
            p.held_value[j] = 0.3 * self.typical[j] * phasors(rng)[()] if j in fixed else p.now[j]
        self.lines["fixed"] = "{" + ", ".join(f"{self.planes[j]}: {self.user_mass(p.held_value[j], j)}" for j in fixed) + "}"
        if not fixed:
            self.lines["fixed"] = None
        self._caps()
        self._ties()

    def _caps(self):
        """Caps around a state inside all of them most of the time; here and there a cap of zero or one that clashes."""
        rng, p = self.rng, self.problem
        self.plane_keys = [[] for _ in self.planes]
        for j in range(p.planes):
            inside = p.now[j] + 0.2 * self.typical[j] * phasors(rng)[()]
            stay = p.now[j] if self.stays[j] else 0
            size = self.typical[j] * 10.0 ** rng.uniform(-1.3, 0.5)
            if rng.random() < 0.6:
                cap = (abs(stay) + abs(inside - stay)) * 1.05 + size * (rng.random() < 0.8)
                if rng.random() < 0.06:
                    cap = 0.0
                self._cap(j, cap, stay)
            if rng.random() < 0.2:
                limit = abs(inside) * 1.02 + size
                radius, omega = float(rng.uniform(100, 400)), OVERSPEED * math.pi / 30
                force = limit * KILOGRAMS[self.mass_unit] * radius * 1e-3 * omega ** 2
                self.plane_keys[j] += [f"radius: {radius!r}", f"cap_force: {float(force)!r} N"]
                self._disc(j, 0j, limit)
            if rng.random() < 0.2:
                change = abs(inside - p.now[j]) * 1.02 + size * 0.5
                self.plane_keys[j].append(f"change_cap: {float(change)!r}")
                self._disc(j, p.now[j], change)

    def _cap(self, j, cap, stay):
        self.plane_keys[j].append(f"cap: {float(cap)!r}")
        self._disc(j, stay, max(cap - abs(stay), 0.0))
        if cap < abs(stay):
            self._disc(j, 0j, cap)

    def _disc(self, j, centre, radius):
        if not self.problem.held[j]:
            self.problem.discs.append((j, centre, float(radius)))

    def _ties(self):
        """Ties that a state inside the caps meets; they do not touch planes with caps of zero alone."""
        rng, p = self.rng, self.problem
        self.ties = []
        moving = [j for j in range(p.planes) if not p.held[j]]
        if len(moving) < 2 or rng.random() < 0.7:
            return
        start = np.where(p.held, p.held_value, p.now)
        row = np.zeros(p.planes, complex)
        for j in range(p.planes):
            if j in moving[:2] or rng.random() < 0.4:
                row[j] = phasors(rng)[()]
        rows = [row] if rng.random() < 0.8 else [row, 2j * row]
        p.ties, p.tie_value = np.array(rows), np.array([r @ start for r in rows])
        for r, value in zip(p.ties, p.tie_value):
            terms = ", ".join(f"{self.planes[j]}: {self.user_mass(r[j])}" for j in np.flatnonzero(r))
            self.ties.append(f"    - {{terms: {{{terms}}}, equals: {self.user_mass(value)}}}")

    def _limits(self):
        """None at all, or one for every row, around the least factor that caps and ties allow (by CVXOPT)."""
        rng, p = self.rng, self.problem
        needed = self.objective in (op.LEAST_MASS, op.LEAST_CHANGE, op.CONFIDENCE)
        weight = 10.0 ** rng.uniform(-1, 1, len(self.sensors)) * (rng.random(len(self.sensors)) > 0.1)
        weight[0] = max(weight[0], 0.5)
        self.sensor_weight = dict(zip(self.sensors, weight))
        self.speed_weight = {v: float(rng.uniform(0.3, 2)) for v in self.speeds}
        raw = np.array([self.speed_weight[v] * self.sensor_weight[s] for v, s in self.rows])
        self.limited = needed or rng.random() < 0.7
        p.weight = raw
        if not self.limited:
            return
        size = np.abs(p.y).mean() + 1e-2
        limit = size * 10.0 ** rng.uniform(-0.5, 0.5, p.rows)
        factor = least_factor(p, (raw > 0) / limit)
        if not factor == factor:
            factor = 1.0
        spare = rng.choice([0.8, 1.001, 1.1, 1.5, 3.0], p=[0.15, 0.1, 0.2, 0.25, 0.3])
        p.limit = limit * max(factor, 1e-3) * float(spare)
        p.weight = raw / p.limit
        p.within_limits = bool(rng.random() < 0.5)

    def _objective(self):
        p = self.problem
        p.influence_error = float(self.rng.choice([0.0, 0.05, 0.3])) if self.objective == op.WORST_CASE else 0.0

    # ---- the text ----

    @property
    def text(self):
        p = self.problem
        lines = ["case:", "  format: 1", f"  title: {self.name}", "conventions:",
                 f"  phase: {'lag' if self.lag else 'lead'}",
                 f"  mass_angle: {'against-rotation' if self.against else 'with-rotation'}",
                 f"units: {{mass: {self.mass_unit}}}", f"rotor: {{overspeed: {OVERSPEED!r}}}", "speeds:"]
        lines += [f"  - {{id: {v}, speed: {3000 - 500 * k}, weight: {self.speed_weight[v]!r}}}"
                  for k, v in enumerate(self.speeds)]
        lines += ["sensors:"] + [self._sensor(s) for s in self.sensors] + ["planes:"]
        for j, name in enumerate(self.planes):
            keys = [f"id: {name}", *([f"zero: {self.zero[j]!r}"] if self.zero[j] else []), *self.plane_keys[j]]
            lines.append("  - {" + ", ".join(keys) + "}")
        lines += ["runs:", "  - id: as-found", *self._masses(p.base, "    ", not self.has_now), "    readings:"]
        for v in self.speeds:
            values = [f"{s}: {self.user_reading(p.y[i])}" for i, (w, s) in enumerate(self.rows) if w == v]
            lines.append(f"      {v}: {{{', '.join(values)}}}")
        if self.has_now:
            lines += ["now:", *self._masses(p.now, "  ", True)]
        lines += ["influence:"] + [self._coefficient(i, j) for i in range(p.rows) for j in range(p.planes)]
        lines += ["objective:", f"  minimise: {op.NAMES[self.objective]}"]
        lines += [f"  {key}: {value}" for key, value in self.lines.items() if value]
        if self.objective == op.WORST_CASE:
            lines.append(f"  influence_error: {p.influence_error!r}")
        if p.within_limits:
            lines.append("  within_limits: true")
        if self.ties:
            lines += ["  ties:", *self.ties]
        return "\n".join(lines) + "\n"

    def _sensor(self, sensor):
        keys = [f"id: {sensor}", f"weight: {float(self.sensor_weight[sensor])!r}"]
        rows = [i for i, (_, s) in enumerate(self.rows) if s == sensor]
        if self.limited:
            limits = ", ".join(f"{self.rows[i][0]}: {float(self.problem.limit[i])!r}" for i in rows)
            keys.append(f"limit: {{{limits}}}")
        keys.append(f"repeatability: {float(self.sigma[rows[0]])!r}")
        return "  - {" + ", ".join(keys) + "}"

    def _masses(self, state, indent, may_stay):
        entries = []
        for j in np.flatnonzero(np.abs(state) > 0):
            stays = ", stays: true" if may_stay and self.stays[j] else ""
            angle = self._degrees(state[j], self.against, self.zero[j])
            entries.append(f"{{plane: {self.planes[j]}, mass: {float(abs(state[j]))!r}, angle: {angle!r}{stays}}}")
        return [f"{indent}masses: [{', '.join(entries)}]"]

    def _coefficient(self, i, j):
        value = self.problem.a[i, j] * self.mass(1, 0, j)
        speed, sensor = self.rows[i]
        spread = f", uncertainty: {float(self.uncertain[i, j])!r}" if self.spreads and self.uncertain[i, j] > 0 else ""
        return (f"  - {{plane: {self.planes[j]}, speed: {speed}, sensor: {sensor}, "
                f"value: {self.user_reading(value)}{spread}}}")


def nearest_of(p, weight):
    """The min-max problem with these weights under the same caps, ties and held planes."""
    nearest = op.Problem(op.MIN_MAX, p.y, p.a)
    for name in ("base", "now", "held", "held_value", "discs", "ties", "tie_value"):
        setattr(nearest, name, getattr(p, name))
    nearest.weight = weight
    return nearest


def least_factor(p, weight):
    """Its value by CVXOPT; NaN when caps and ties exclude each other or CVXOPT fails. Without planes to move: the masses."""
    if p.held.all() or not weight.any():
        return float((weight * np.abs(p.readings(p.held_value))).max())
    status, value, _ = op.reference(nearest_of(p, weight))
    return value if status == "optimal" else math.nan

# SPDX-License-Identifier: MIT
"""Problems for the optimiser: random ones of every kind, their text for the driver, and CVXOPT's answer.

Everything here works on the problem as it is stated (rows, discs, ties); nothing is taken from the engine.
"""
import copy
import math
import subprocess

import numpy as np
from cvxopt import matrix, solvers

LEAST_SQUARES, MIN_MAX, LEAST_MASS, LEAST_CHANGE, WORST_CASE, EXPECTED, CONFIDENCE = range(7)
NAMES = ["least-squares", "min-max", "least-mass", "least-change", "worst-case", "expected", "confidence"]


class Problem:
    def __init__(self, objective, y, a):
        self.objective = objective
        self.y = np.asarray(y, complex)
        self.a = np.asarray(a, complex)
        self.rows, self.planes = self.a.shape
        self.weight = np.ones(self.rows)
        self.limit = np.full(self.rows, math.inf)
        self.base = np.zeros(self.planes, complex)
        self.now = np.zeros(self.planes, complex)
        self.held = np.zeros(self.planes, int)
        self.held_value = np.zeros(self.planes, complex)
        self.discs = []                       # (plane, centre, radius)
        self.ties = np.zeros((0, self.planes), complex)
        self.tie_value = np.zeros(0, complex)
        self.pairs = []                       # (forward, backward, weight, limit, parts, 2 × 2 mix or None)
        self.within_limits = False
        self.influence_error = 0.0
        self.keep = None
        self.then = None                      # (second objective, share)
        self.spread = None                    # rows × (planes+1) × (planes+1)

    def readings(self, x):
        return self.y + self.a @ (x - self.base)

    def limits_bind(self):
        masses = self.objective in (LEAST_MASS, LEAST_CHANGE) and self.keep is None
        return self.within_limits or masses or self.objective == CONFIDENCE

    def second(self, value):
        """The problem behind `then`, given the best value of the first objective."""
        p = copy.copy(self)
        which, within = self.then
        first = self.objective
        p.then, p.objective = None, which
        p.within_limits = self.within_limits or first in (LEAST_MASS, LEAST_CHANGE)
        p.keep = (first, value * (1 - within if first == CONFIDENCE else 1 + within))
        return p

    def sd(self, x):
        g = np.concatenate([[1], x - self.base])
        return np.array([np.linalg.norm(f.T @ g) for f in self.spread])

    def value(self, x):
        r = self.weight * np.abs(self.readings(x))
        if self.objective == LEAST_SQUARES:
            return np.linalg.norm(r)
        if self.objective == MIN_MAX:
            r_pairs = [pair[2] * self.pair_size(x, k) for k, pair in enumerate(self.pairs)]
            return max([*r, *r_pairs])
        if self.objective == LEAST_MASS:
            return np.abs(x).sum()
        if self.objective == LEAST_CHANGE:
            return np.abs(x - self.now).sum()
        if self.objective == WORST_CASE:
            c = np.linalg.norm(self.weight[:, None] * self.a, axis=0)
            return np.linalg.norm(r) + self.influence_error * np.linalg.norm(c * (x - self.base))
        if self.objective == EXPECTED:
            return math.hypot(np.linalg.norm(r), np.linalg.norm(self.weight * self.sd(x)))
        counted = (self.weight > 0) & np.isfinite(self.limit)
        rooms = list(((self.limit - np.abs(self.readings(x))) / self.sd(x))[counted])
        g = np.concatenate([[1], x - self.base])
        for k, pair in enumerate(self.pairs):
            if pair[2] > 0 and math.isfinite(pair[3]):
                sd = sum(np.linalg.norm(self.part_factor(pair, n).T @ g) for n in range(len(parts_of(pair))))
                rooms.append((pair[3] - self.pair_size(x, k)) / sd)
        return min(rooms)

    def pair_size(self, x, k):
        r = self.readings(x)
        rows = [i for i in self.pairs[k][:2] if i >= 0]
        return sum(abs(mix[:len(rows)] @ r[rows]) for mix in parts_of(self.pairs[k]))

    def part_factor(self, pair, number):
        """Covariance factor of a part, whose rows err independently: square by QR of the two side by side."""
        mix = parts_of(pair)[number]
        both = np.hstack([mix[n] * self.spread[i] for n, i in enumerate(pair[:2]) if i >= 0])
        return np.linalg.qr(both.conj().T)[1].conj().T

    def violation(self, x):
        worst = 0.0
        for plane, centre, radius in self.discs:
            if not self.held[plane]:
                worst = max(worst, (abs(x[plane] - centre) - radius) / max(radius, 1e-6 * abs(centre), 1e-30))
        if self.limits_bind():
            counted = (self.weight > 0) & np.isfinite(self.limit)
            worst = max([worst, *(np.abs(self.readings(x)) / self.limit - 1)[counted]])
            for k, pair in enumerate(self.pairs):
                weight, limit = pair[2:4]
                if weight > 0 and math.isfinite(limit):
                    worst = max(worst, self.pair_size(x, k) / limit - 1)
        if self.keep is not None:
            which, most = self.keep
            first = copy.copy(self)
            first.objective, first.keep = which, None
            value = first.value(x)
            worst = max(worst, (most - value if which == CONFIDENCE else value - most) / max(abs(most), 1e-300))
        for row, value in zip(self.ties, self.tie_value):
            worst = max(worst, abs(row @ x - value) / (np.abs(row) @ np.abs(x) + abs(value) + 1e-300))
        for j in range(self.planes):
            if self.held[j]:
                worst = max(worst, abs(x[j] - self.held_value[j]))
        return worst

    def text(self):
        def phasors(values):
            flat = np.asarray(values, complex).ravel(order="F")
            return [repr(float(v)) for z in flat for v in (z.real, z.imag)]

        words = [self.objective, self.rows, self.planes, int(self.within_limits), self.influence_error,
                 len(self.discs), len(self.ties), len(self.pairs), int(self.spread is not None)]
        words += phasors(self.y) + phasors(self.a) + [repr(float(v)) for v in (*self.weight, *self.limit)]
        words += phasors(self.base) + phasors(self.now) + [int(h) for h in self.held] + phasors(self.held_value)
        for plane, centre, radius in self.discs:
            words += [plane, *phasors([centre]), float(radius)]
        words += phasors(self.ties) + phasors(self.tie_value)
        for pair in self.pairs:
            words += [pair[0], pair[1], float(pair[2]), float(pair[3]), pair[4] if len(pair) > 4 else 0]
            words += phasors((np.zeros((2, 2)) if len(pair) < 5 or pair[4] == 0 else pair[5]).T)
        words += [0, 0, 0.0] if self.then is None else [1, self.then[0], float(self.then[1])]
        if self.spread is not None:
            for f in self.spread:
                words += phasors(f)
            for pair in self.pairs:
                parts = [self.part_factor(pair, n) for n in range(len(parts_of(pair)))]
                for n in range(2):
                    words += phasors(parts[n] if n < len(parts) else np.zeros_like(self.spread[0]))
        return " ".join(str(w) for w in words)


def parts_of(pair):
    """Rows of factors, one per part, on (forward, backward)."""
    if len(pair) > 4 and pair[4]:
        return list(pair[5][:pair[4]])
    return list(np.eye(2)[:1 if pair[1] < 0 else 2])


def solve(driver, problems, repeats=1):
    """The engine's answers as dictionaries."""
    run = subprocess.run([driver, str(repeats)], input="\n".join(p.text() for p in problems) + "\n", text=True,
                         stdout=subprocess.PIPE, check=True)
    answers = []
    for problem, line in zip(problems, run.stdout.splitlines(), strict=True):
        words = line.split()
        numbers = [float(w) for w in words[1:]]
        answer = dict(zip(["outcome", "value", "bound", "gap", "iterations", "factor", "ratio", "rank", "seconds", "then_value", "then_bound",
                           "then_gap"],
                          numbers))
        answer["status"] = int(words[0])
        rest = numbers[12:]
        answer["x"] = np.array([complex(*rest[i:i + 2]) for i in range(0, len(rest), 2)])
        answers.append(answer)
    return answers


class Cones:
    """min c·v over v = (re x, im x, scalars), |forms| ≤ t: collected one cone after the other."""

    def __init__(self, planes):
        self.planes = planes
        self.cost = []
        self.cones = []

    def scalar(self, cost):
        self.cost.append(cost)
        return len(self.cost) - 1

    def add(self, t0, scalars, rows, constants):
        self.cones.append((t0, scalars, np.atleast_2d(rows), np.atleast_1d(constants)))

    def build(self):
        n = 2 * self.planes + len(self.cost)
        blocks = []
        for t0, scalars, rows, constants in self.cones:
            m = len(constants) if rows.size or len(constants) else 0
            g = np.zeros((1 + 2 * m, n))
            h = np.zeros(1 + 2 * m)
            h[0] = t0
            for index, factor in scalars:
                g[0, 2 * self.planes + index] -= factor
            g[1:m + 1, :self.planes] = -rows.real
            g[1:m + 1, self.planes:2 * self.planes] = rows.imag
            g[m + 1:, :self.planes] = -rows.imag
            g[m + 1:, self.planes:2 * self.planes] = -rows.real
            h[1:m + 1] = constants.real
            h[m + 1:] = constants.imag
            blocks.append((g, h))
        c = np.concatenate([np.zeros(2 * self.planes), self.cost])
        return c, blocks


def cones_of(p, kappa=0.0):
    """The problem as CVXOPT sees it: masses x themselves are the variables; ties and held planes are equations."""
    cones = Cones(p.planes)
    constant = p.y - p.a @ p.base
    counted = np.flatnonzero(p.weight > 0)
    unit = np.eye(p.planes)
    scale = p.weight[counted, None]

    def spread_rows(i):
        f = p.spread[i].T
        return f[:, 1:], f[:, 0] - f[:, 1:] @ p.base

    def pair(both, factor, t0, scalars, spread=0.0):
        rows = [i for i in both[:2] if i >= 0]
        parts = []
        for n, mix in enumerate(parts_of(both)):
            s = cones.scalar(0)
            mix = factor * mix[:len(rows)]
            cones.add(0, [(s, 1)], mix @ p.a[rows], mix @ constant[rows])
            parts.append((s, -1))
            if spread:
                s = cones.scalar(0)
                f = factor * spread * p.part_factor(both, n).T
                cones.add(0, [(s, 1)], f[:, 1:], f[:, 0] - f[:, 1:] @ p.base)
                parts.append((s, -1))
        cones.add(t0, scalars + parts, np.zeros((0, p.planes)), np.zeros(0))

    def write(which, cost, kappa):
        """The cones of an objective; its scalars, whose sum it is."""
        tops = []

        def top():
            tops.append(cones.scalar(cost))
            return tops[-1]

        if which in (LEAST_SQUARES, WORST_CASE, EXPECTED):
            t = top()
            rows, constants = [scale * p.a[counted]], [p.weight[counted] * constant[counted]]
            if which == EXPECTED:
                for i in counted:
                    f, g = spread_rows(i)
                    rows.append(p.weight[i] * f)
                    constants.append(p.weight[i] * g)
            cones.add(0, [(t, 1)], np.vstack(rows), np.concatenate(constants))
            if which == WORST_CASE:
                t = top()
                c = np.linalg.norm(scale * p.a[counted], axis=0) * p.influence_error
                cones.add(0, [(t, 1)], np.diag(c), -c * p.base)
        elif which == MIN_MAX:
            t = top()
            for i in counted:
                cones.add(0, [(t, 1)], p.weight[i] * p.a[i], p.weight[i] * constant[i])
            for both in p.pairs:
                if both[2] > 0:
                    pair(both, both[2], 0, [(t, 1)])
        elif which == CONFIDENCE:
            t = top()
            for i in counted:
                if math.isfinite(p.limit[i]):
                    s = cones.scalar(0)
                    cones.add(0, [(s, 1)], p.a[i] / p.limit[i], constant[i] / p.limit[i])
                    f, g = spread_rows(i)
                    cones.add(1, [(t, 1), (s, -1)], kappa * f / p.limit[i], kappa * g / p.limit[i])
            for both in p.pairs:
                if both[2] > 0 and math.isfinite(both[3]):
                    pair(both, 1 / both[3], 1, [(t, 1)], kappa)
        else:
            origin = p.now if which == LEAST_CHANGE else np.zeros(p.planes)
            for j in range(p.planes):
                t = top()
                cones.add(0, [(t, 1)], unit[j], -origin[j])
        return tops

    write(p.objective, 1, kappa)
    if p.keep is not None:                    # (objective, what it may be)
        which, most = p.keep
        if which == CONFIDENCE:
            t = write(which, 0, most)
            cones.add(0, [(t[0], -1)], np.zeros((0, p.planes)), np.zeros(0))
        else:
            cones.add(most, [(t, -1) for t in write(which, 0, 0)], np.zeros((0, p.planes)), np.zeros(0))
    if p.limits_bind() and p.objective != CONFIDENCE:
        for i in counted:
            if math.isfinite(p.limit[i]):
                cones.add(1, [], p.a[i] / p.limit[i], constant[i] / p.limit[i])
        for both in p.pairs:
            if both[2] > 0 and math.isfinite(both[3]):
                pair(both, 1 / both[3], 1, [])
    for plane, centre, radius in p.discs:
        if not p.held[plane] and radius > 0 and math.isfinite(radius):
            cones.add(1, [], unit[plane] / radius, -centre / radius)
    return cones


class Contradiction(ArithmeticError):
    """Equations that no masses meet."""


def equations_of(p, variables):
    rows, values = [], []

    def add(row, value):
        real = np.zeros(variables)
        real[:p.planes], real[p.planes:2 * p.planes] = row.real, -row.imag
        imaginary = np.zeros(variables)
        imaginary[:p.planes], imaginary[p.planes:2 * p.planes] = row.imag, row.real
        rows.extend([real, imaginary])
        values.extend([value.real, value.imag])

    for row, value in zip(p.ties, p.tie_value):
        add(row, complex(value))
    for j in range(p.planes):
        if p.held[j]:
            add(np.eye(p.planes, dtype=complex)[j], complex(p.held_value[j]))
    for plane, centre, radius in p.discs:
        if not p.held[plane] and radius == 0:
            add(np.eye(p.planes, dtype=complex)[plane], complex(centre))
    return rows, values


def as_cvxopt(p, kappa=0.0):
    """Arguments of solvers.conelp and the scale of its variables. Cones and columns are scaled (a positive factor on
    a cone changes nothing); redundant equations are taken out (CVXOPT needs full rank)."""
    c, blocks = cones_of(p, kappa).build()
    factors = [1 / max(np.abs(b[0]).max(), 1e-300) for b in blocks]
    g = np.vstack([f * b[0] for f, b in zip(factors, blocks)])
    h = np.concatenate([f * b[1] for f, b in zip(factors, blocks)])
    norms = np.linalg.norm(g, axis=0)
    column = 1 / np.where(norms > 0, norms, 1)
    unseen = np.flatnonzero(norms == 0)
    dims = {"l": 0, "q": [len(b[1]) for b in blocks], "s": []}
    cost = c * column
    size = np.abs(cost).max()
    arguments = dict(c=matrix(cost / size), G=matrix(g * column), h=matrix(h), dims=dims)
    rows, values = equations_of(p, len(c))
    for j in unseen:
        rows.append(np.eye(len(c))[j])
        values.append(0.0)
    if rows:
        rows = np.array(rows) * column
        length = np.linalg.norm(rows, axis=1)
        u, s, v = np.linalg.svd(rows / length[:, None], full_matrices=False)
        rank = int((s > 1e-10 * s[0]).sum())
        wanted = np.array(values) / length
        if np.linalg.norm(wanted - u[:, :rank] @ (u[:, :rank].T @ wanted)) > 1e-9 * np.linalg.norm(wanted):
            raise Contradiction
        arguments["A"] = matrix(v[:rank])
        arguments["b"] = matrix((u[:, :rank].T @ (np.array(values) / length)) / s[:rank])
    return arguments, column, size


def reference(p, kappa=0.0):
    """(status, objective, x) by CVXOPT."""
    try:
        arguments, column, size = as_cvxopt(p, kappa)
    except Contradiction:
        return "primal infeasible", math.nan, None
    found = None
    for tolerance in (1e-11, 1e-9):
        options = {"show_progress": False, "abstol": tolerance, "reltol": tolerance, "feastol": tolerance,
                   "maxiters": 100}
        try:
            found = solvers.conelp(**arguments, options=options)
        except (ValueError, ArithmeticError):
            continue
        if found["status"] != "unknown":
            break
    if found is None:
        return "failed", math.nan, None
    if found["x"] is None or found["status"] == "primal infeasible":
        return found["status"], math.nan, None
    v = np.array(found["x"]).ravel() * column
    return found["status"], found["primal objective"] * size, v[:p.planes] + 1j * v[p.planes:2 * p.planes]

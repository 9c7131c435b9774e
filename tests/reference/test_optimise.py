#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The optimiser through the program: random cases of every kind against CVXOPT, and every proof evaluated again.

usage: test_optimise.py PROGRAM [CASES [SEED]]

From `solve --proof` alone, with numpy: value and bounds of the answer, the constant and the gradient of the dual point, the
conditions of Karush, Kuhn and Tucker one by one, contradictions of infeasible cases; the least factor on the limits and
whether every named limit and cap takes part in the conflict, against CVXOPT. All cases constructed.
"""
import collections
import json
import math
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

import optimise_cases as oc
import optimise_problems as op

seen = collections.Counter()


class Wrong(Exception):
    pass


def ask(condition, text):
    if not condition:
        raise Wrong(text)


class Dual:
    """The dual point of an answer, in the frame and unit of the problem."""

    def __init__(self, case, proof):
        p = self.p = case.problem
        self.contradiction = proof["contradiction"]
        self.objective, self.limit = np.zeros(p.rows, complex), np.zeros(p.rows, complex)
        for entry in proof["readings"]:
            i = case.rows.index((entry["speed"], entry["sensor"]))
            self.objective[i] = case.reading(entry["objective"]["size"], entry["objective"]["angle"])
            self.limit[i] = case.reading(entry["limit"]["size"], entry["limit"]["angle"])
        self.mass = np.zeros(p.planes, complex)
        for entry in proof["masses"]:
            j = case.planes.index(entry["plane"])
            self.mass[j] = case.mass(entry["objective"]["size"], entry["objective"]["angle"], j)
        self.disc = self._discs(case, proof["discs"])
        self.tie = np.array([case.mass(t["dual"]["size"], t["dual"]["angle"]) for t in proof["ties"]])
        ask(len(self.tie) == len(p.ties), "ties are missing")
        self.spread = np.zeros((p.rows, p.planes + 1), complex)
        for entry in proof.get("spread", []):
            i = case.rows.index((entry["speed"], entry["sensor"]))
            self.spread[i, 0] = case.reading(entry["reading"]["size"], entry["reading"]["angle"])
            for j, one in enumerate(entry["planes"]):
                self.spread[i, j + 1] = case.mass(one["size"], one["angle"], j)
        self.kappa = proof.get("kappa")

    def _discs(self, case, discs):
        """The program's discs must be those of the case."""
        ask(len(discs) == len(self.p.discs), f"{len(discs)} discs, not {len(self.p.discs)}")
        dual = np.zeros(len(discs), complex)
        for k, (entry, (plane, centre, radius)) in enumerate(zip(discs, self.p.discs)):
            ask(entry["plane"] == case.planes[plane], "disc of another plane")
            told = case.mass(entry["centre"]["mass"], entry["centre"]["angle"], plane)
            size = abs(centre) + radius
            ask(abs(told - centre) <= 1e-9 * size and abs(entry["radius"] - radius) <= 1e-9 * size, "disc moved")
            dual[k] = case.mass(entry["dual"]["size"], entry["dual"]["angle"], plane)
        return dual

    def origin(self):
        if self.p.objective == op.LEAST_CHANGE:
            return self.p.now
        return self.p.base if self.p.objective == op.WORST_CASE else np.zeros(self.p.planes)

    def constant(self):
        """The bound before what gradients of held planes add."""
        p, v = self.p, self.objective + self.limit
        finite = np.isfinite(p.limit)
        total = real(v, p.y) - (p.limit[finite] * self.limit_size()[finite]).sum()
        total += real(self.mass, p.base - self.origin()) + self.spread[:, 0].real.sum()
        for (plane, centre, radius), w in zip(p.discs, self.disc):
            total += real(w, p.base[plane] - centre) - radius * abs(w)
        return total + real(self.tie, p.ties @ p.base - p.tie_value)

    def limit_size(self):
        """A limit on |r| + kappa sd admits a spread of kappa times the size of the reading's phasor."""
        size = np.abs(self.limit)
        if self.p.objective == op.CONFIDENCE and self.kappa:
            size = np.maximum(size, self.spread_size() / self.kappa)
        return size

    def spread_size(self):
        """Dual norm of a form h over F: |F⁻¹h| for the diagonal factors of these cases."""
        factor = np.array([np.diag(f).real for f in self.p.spread])
        ask(not (np.abs(self.spread)[factor == 0] > 0).any(), "a spread that is not there")
        return np.linalg.norm(np.abs(self.spread) / np.where(factor > 0, factor, 1), axis=1)

    def gradient(self):
        p = self.p
        g = p.a.conj().T @ (self.objective + self.limit) + self.mass + p.ties.conj().T @ self.tie
        g += self.spread[:, 1:].sum(axis=0)
        for (plane, _, _), w in zip(p.discs, self.disc):
            g[plane] += w
        return g

    def gradient_size(self):
        p = self.p
        limit = self.limit_size() if p.spread is not None and self.kappa else np.abs(self.limit)
        size = np.abs(p.a).T @ (np.abs(self.objective) + limit) + np.abs(self.mass)
        size += np.abs(p.ties).T @ np.abs(self.tie) + np.abs(self.spread[:, 1:]).sum(axis=0)
        for (plane, _, _), w in zip(p.discs, self.disc):
            size[plane] += abs(w)
        return size

    def column_size(self):
        """The largest gradient that objective parts of norm 1 can have."""
        if self.p.objective in (op.LEAST_MASS, op.LEAST_CHANGE):
            return np.ones(self.p.planes)
        return np.linalg.norm(self.p.weight[:, None] * np.abs(self.p.a), axis=0)

    def bound(self, x):
        """What no masses can undercut. What rounding left of the gradient is charged at the farthest a disc lets the
        plane go, or at the distance of x."""
        p, g = self.p, self.gradient()
        held = p.held > 0
        total = self.constant() + real(g[held], (p.held_value - p.base)[held])
        far = np.abs(x - p.base)
        for plane, centre, radius in p.discs:
            far[plane] = max(far[plane], abs(centre - p.base[plane]) + radius)
        return total - (np.abs(g) * far)[~held].sum()

    def norm(self):
        """At most 1: then the objective parts stay below the objective."""
        p, counted = self.p, self.p.weight > 0
        ratio = np.abs(self.objective[counted]) / p.weight[counted]
        if p.objective == op.EXPECTED:
            ratio = np.append(ratio, self.spread_size()[counted] / p.weight[counted])
        if p.objective in (op.LEAST_SQUARES, op.EXPECTED):
            return np.linalg.norm(ratio)
        if p.objective == op.MIN_MAX:
            return ratio.sum()
        if p.objective == op.WORST_CASE:
            c = np.linalg.norm(p.weight[:, None] * p.a, axis=0) * p.influence_error
            ask(not (np.abs(self.mass)[c == 0] > 0).any(), "a mass dual without influence error")
            return max(np.linalg.norm(ratio), np.linalg.norm(np.abs(self.mass)[c > 0] / c[c > 0]))
        return np.abs(self.mass).max()


def real(dual, primal):
    return float((np.conj(dual) * primal).sum().real)


# ---- an answer ----

def masses_of(case, answer):
    return np.array([case.mass(c["mass"], c["angle"], j) for j, c in enumerate(answer["corrections"])])


def judge_masses(case, answer, x):
    """Masses keep what they must, and value and predicted readings are those of the masses."""
    p, objective = case.problem, answer["objective"]
    typical = np.abs(x).max() + np.abs(p.base).max() + 1e-30
    excess = p.violation(np.where(p.held, p.held_value, x))
    ask(excess <= rounding_of(p, x), f"violation {excess:.1e}")
    ask((np.abs(x - p.held_value)[p.held > 0] <= 2e-9 * typical).all(), "a held plane has moved")
    value = p.value(x)
    ask(abs(value - objective["value"]) <= 1e-9 * max(abs(value), 1e-3 * scale_of(p)) + dropped_of(p),
        f"value {objective['value']}, {value} at its masses")
    after = np.array([case.reading(r["after"]["amplitude"], r["after"]["phase"]) for r in answer["predicted"]])
    size = np.abs(p.y).max() + np.abs(p.a).max() * typical
    ask((np.abs(after - p.readings(x)) <= 1e-8 * size).all(), "predicted readings")


def dropped_of(p):
    """What the masses that are printed as zero, below 1e-9 of the largest mass of the case, can do to the value."""
    zero = 1e-9 * max(np.abs(v).max() for v in (p.base, p.now, p.held_value))
    if p.objective in (op.LEAST_MASS, op.LEAST_CHANGE):
        return zero * p.planes
    return zero * np.linalg.norm(p.weight[:, None] * np.abs(p.a))


def rounding_of(p, x):
    """1e-12 of a limit or radius, or what the last digits of masses and angles, and masses printed as zero, make of it."""
    ulp = 1e-14 * max([1e-300, *np.abs(p.base), *np.abs(p.now), *np.abs(p.held_value)])
    worst = max([0.0, *(ulp / d[2] for d in p.discs if d[2] > 0)])
    for limit, row, y in zip(p.limit, np.abs(p.a), np.abs(p.y)):
        worst = max(worst, (row.sum() * ulp + 1e-14 * y) / limit)
    dropped = 1e-9 * max(np.abs(v).max() for v in (p.base, p.now, p.held_value)) * (x == 0) * (p.held == 0)
    return 4e-12 + worst + (np.abs(p.a) @ dropped / p.limit).max() + (dropped.max() > 0) * max([0.0, *(
        dropped[d[0]] / d[2] for d in p.discs if d[2] > 0)])


def scale_of(p):
    """s of the gap's zero test."""
    if p.objective in (op.LEAST_MASS, op.LEAST_CHANGE):
        return sum(d[2] for d in p.discs) or 1.0
    return np.linalg.norm(p.weight * np.abs(p.y))


def judge_proof(case, answer, x):
    """Dual feasible, the same bound, and each of the conditions whose sum is the gap."""
    p, objective = case.problem, answer["objective"]
    value, bound = objective["value"], objective["bound"]
    if value <= 1e-12 * scale_of(p):
        ask(objective["gap"] == 0, "a value of zero has a gap")
        seen["zero"] += 1
        return
    dual = Dual(case, answer["proof"])
    ask(not dual.contradiction and dual.norm() <= 1 + 1e-9, f"norm {dual.norm()}")
    free = p.held == 0
    slope = np.abs(dual.gradient())
    size = dual.gradient_size() + dual.column_size()
    ask((slope <= 1e-8 * size)[free].all(), f"gradient {slope / size}")
    again = dual.bound(x)
    ask(again >= value * (1 - 1.5e-8), f"bound {bound} told, {again} found, value {value}")
    ask(again <= value * (1 + 1e-9), f"bound {again} above the value {value}")
    judge_slackness(p, dual, x, value)


def judge_slackness(p, dual, x, value):
    """Limits and discs that carry a multiplier bind, in its direction; the objective's phasors point along it."""
    r, tolerance = p.readings(x), 2e-8 * value
    for i in np.flatnonzero(np.isfinite(p.limit)):
        if p.objective != op.CONFIDENCE:
            slack = p.limit[i] * abs(dual.limit[i]) - real(dual.limit[i], r[i])
            ask(-tolerance <= slack <= tolerance, f"limit {i}: {slack}")
    for (plane, centre, radius), w in zip(p.discs, dual.disc):
        slack = radius * abs(w) - real(w, x[plane] - centre)
        ask(-tolerance <= slack <= tolerance, f"disc on {plane}: {slack}")
    lost = value - real(dual.objective, r) - real(dual.mass, x - dual.origin())
    lost -= sum(real(h, np.concatenate([[1], x - p.base])) for h in dual.spread)
    ask(-tolerance <= lost <= tolerance, f"objective: {lost}")


def judge_optimal(case, answer):
    p, objective = case.problem, answer["objective"]
    x = masses_of(case, answer)
    judge_masses(case, answer, x)
    proven = objective["gap"] <= 1e-8
    told = any(w["code"] == "not-proven" for w in answer["warnings"])
    ask(proven != told, f"gap {objective['gap']} and not-proven {told}")
    ask(proven, f"gap {objective['gap']:.1e}")
    if p.held.all():
        seen["nothing to move"] += 1
        return
    judge_proof(case, answer, x)
    status, value, best = op.reference(p)
    if status == "primal infeasible":
        raise Wrong("CVXOPT: infeasible")
    accurate = best is not None and p.violation(best) < 1e-8 and abs(p.value(best) - value) <= 2e-8 * abs(value)
    if status != "optimal" or not accurate:
        return
    mine = objective["value"]
    seen["compared"] += 1
    if mine <= 1e-12 * scale_of(p):
        ask(value <= 1e-7 * scale_of(p), f"value {mine}, CVXOPT {value}")
    elif mine > value:
        ask(mine - value <= 1e-7 * mine, f"value {mine}, CVXOPT {value}")


def judge_confidence(case, answer):
    """A larger kappa must be impossible by CVXOPT and by the proof."""
    p, objective = case.problem, answer["objective"]
    x = masses_of(case, answer)
    judge_masses(case, answer, x)
    kappa, bound = objective["value"], objective["bound"]
    told = any(w["code"] == "not-proven" for w in answer["warnings"])
    ask(bound is not None and bound >= kappa and (objective["gap"] <= 1e-8) != told, f"bound {bound}, {told}")
    # Near the least factor on the limits kappa is nearly zero, and its gap is relative: few may stay open, and not far.
    ask(not told or (kappa < 0.1 and objective["gap"] <= 1e-6), f"kappa {kappa}, gap {objective['gap']}")
    seen["confidence without proof"] += told
    dual = Dual(case, answer["proof"])
    if not p.held.all():
        free = p.held == 0
        ask((np.abs(dual.gradient()) <= 1e-8 * dual.gradient_size().max())[free].all(), "gradient")
        ask(abs(dual.kappa - bound) <= 1e-12 * bound, "kappa of the proof")
        scale = (p.limit * dual.limit_size()).sum()
        ask(dual.bound(x) > -1e-13 * scale, f"the proof of kappa {bound} adds up to {dual.bound(x) / scale:.1e}")
    status, value, _ = op.reference(p, kappa * (1 + 1e-5) + 1e-7)
    if status == "optimal":
        seen["compared"] += 1
        ask(value > 0, f"kappa {kappa} is not the greatest")


# ---- no answer ----

def judge_infeasible(case, answer):
    p, factor = case.problem, answer["limits_factor"]
    ask(answer["corrections"] == [] and answer["predicted"] == [], "masses without an answer")
    if answer["proof"] is None:
        raise Wrong("infeasible without a proof")
    dual = Dual(case, answer["proof"])
    ask(dual.contradiction, "no contradiction")
    x = np.where(p.held, p.held_value, p.now)
    total = dual.bound(x)
    limited = np.isfinite(p.limit)
    limits = (p.limit[limited] * np.abs(dual.limit[limited])).sum()
    scale = limits + sum((d[2] + abs(d[1])) * abs(w) for d, w in zip(p.discs, dual.disc))
    ask(total > 1e-14 * scale, f"the contradiction adds up to {total}")
    if not p.held.all():
        free = p.held == 0
        ask((np.abs(dual.gradient()) <= 1e-8 * dual.gradient_size().max())[free].all(), "gradient of the contradiction")
    weight = np.where(p.weight > 0, 1 / p.limit, 0.0)
    theirs = oc.least_factor(p, weight) if weight.any() else math.nan
    if factor is None:
        ask(not theirs == theirs, f"no factor told, CVXOPT {theirs}")
        seen["caps exclude each other"] += 1
    elif theirs == theirs:
        ask(factor > 1 and abs(factor / theirs - 1) <= 1e-7, f"factor {factor}, CVXOPT {theirs}")
        judge_conflict(case, answer, factor, weight)
    seen["infeasible"] += 1


def named_of(case, answer):
    rows = [case.rows.index((c["speed"], c["sensor"])) for c in answer["conflict"] if "speed" in c]
    return rows, [case.planes.index(c["plane"]) for c in answer["conflict"] if "plane" in c]


def judge_conflict(case, answer, factor, weight):
    """The named limits and caps alone have the same factor; without any one of them it is smaller."""
    p = case.problem
    rows, planes = named_of(case, answer)
    ask(rows, "no limit is named")
    only = np.zeros(p.rows)
    only[rows] = weight[rows]
    alone = with_caps(p, lambda plane: plane in planes, only)
    if alone == alone:
        ask(abs(alone / factor - 1) <= 1e-5, f"the named ones alone: factor {alone}, not {factor}")
    for i in rows[:3]:
        less = weight * (np.arange(p.rows) != i)
        without = with_caps(p, lambda plane: True, less)
        if without == without:
            ask(without < factor * (1 - 1e-9), f"limit {i} has nothing to do with it")
            seen["limits dropped"] += 1
    for j in planes[:2]:
        without = with_caps(p, lambda plane, j=j: plane != j, weight)
        if without == without:
            ask(without < factor * (1 - 1e-9), f"cap {j} has nothing to do with it")
            seen["caps dropped"] += 1


def with_caps(p, keep, weight):
    """Least factor with the caps of some planes only."""
    discs, p.discs = p.discs, [d for d in p.discs if keep(d[0])]
    try:
        return oc.least_factor(p, weight) if weight.any() else 0.0
    finally:
        p.discs = discs


# ---- all of them ----

def run(program, cases, folder):
    files = []
    for case in cases:
        files.append(folder / f"{case.name}.yaml")
        files[-1].write_text(case.text)
    done = subprocess.run([program, "solve", "--proof", "--format", "json", *files], capture_output=True, text=True,
                          check=False)
    if done.returncode not in (0, 1):
        print(done.stderr)
    return json.loads(done.stdout)


def judge(case, answer):
    if answer["result"] != "solve":
        raise Wrong(str(answer))
    if answer["status"] == "infeasible":
        judge_infeasible(case, answer)
    elif case.objective == op.CONFIDENCE:
        judge_confidence(case, answer)
    else:
        judge_optimal(case, answer)
    seen[op.NAMES[case.objective]] += 1


def main():
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 224
    seed = int(sys.argv[3]) if len(sys.argv) > 3 else 2
    rng = np.random.default_rng(seed)
    cases = [oc.Case(rng, k % 7, f"case-{k}") for k in range(count)]
    failures = 0
    with tempfile.TemporaryDirectory() as folder:
        for case, answer in zip(cases, run(sys.argv[1], cases, Path(folder)), strict=True):
            try:
                judge(case, answer)
            except Wrong as wrong:
                failures += 1
                print(f"{case.name}, {op.NAMES[case.objective]} {case.problem.rows} x {case.problem.planes}: {wrong}")
    print(dict(seen))
    failures += seen["confidence without proof"] > 1 + count // 200
    if failures or seen["compared"] < min(150, count // 2) or seen["infeasible"] < count // 25:
        print(f"{failures} of {count} cases are wrong")
        return 1
    print(f"{count} cases through the program agree with CVXOPT, their proofs with numpy")
    return 0


if __name__ == "__main__":
    sys.exit(main())

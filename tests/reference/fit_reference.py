#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Influence fits against an independent numpy implementation, on random cases.

The reference works the other way round: generalised least squares with the full covariance of readings and priors of
all rows of a speed at once (covariance form), errors as explicit linear maps of all noise. Compared, to 1e-9:
coefficients, base readings, scatter, standard deviations, covariance within and between rows, and the variance of
predicted readings. Then the same posterior by taking in one reading at a time (Kalman form). Which rows are determined
over the allowed masses is decided here by comparing ranks, there by a null space: the two must always agree.

usage: fit_reference.py FIT_DRIVER [cases]      checks: constructed
"""
import subprocess
import sys

import numpy as np
from outside import outside

TOLERANCE = 1e-9


def complex_normal(rng, *shape):
    return (rng.standard_normal(shape) + 1j * rng.standard_normal(shape)) / np.sqrt(2)


# ---- random cases ----

def random_masses(rng, runs, planes, size):
    """As-found, trials removed or left on, several planes at once, repeats of earlier states."""
    masses = np.zeros((runs, planes), complex)
    for k in range(1, runs):
        kind = rng.integers(5)
        if kind == 0:
            masses[k] = masses[rng.integers(k)]
        elif kind == 1:
            masses[k] = masses[k - 1]
        if kind != 0:
            j = rng.integers(planes)
            masses[k, j] += size * complex_normal(rng)
        if kind == 2:
            masses[k] = masses[k] + size * complex_normal(rng, planes) * (rng.random(planes) < 0.5)
    return masses


def random_known(rng, rows, planes, truth, share):
    known = []
    for i in range(rows):
        for j in range(planes):
            if rng.random() < share:
                u = 0 if rng.random() < 0.3 else abs(truth[i, j]) * rng.choice([0.02, 0.2, 1.0])
                common = rng.choice([0, 0, 0.3, 0.7, 1.0]) if u else 0
                known.append((i, j, truth[i, j] + u * complex_normal(rng), u, common))
    return known


def random_case(rng):
    rows, planes, runs = rng.integers(1, 9), rng.integers(1, 6), rng.integers(1, 13)
    size = 10.0 ** rng.uniform(-3, 0)
    masses = random_masses(rng, runs, planes, size)
    truth = complex_normal(rng, rows, planes) / size
    as_found = complex_normal(rng, rows)
    noise = 10.0 ** rng.uniform(-2.5, -1)      # the covariance form of the reference loses (prior/noise)² digits
    readings = as_found[:, None] + truth @ masses.T + noise * complex_normal(rng, rows, runs)
    repeats = (rng.random((rows, runs)) < rng.choice([1.0, 0.7])).astype(int)
    repeats[np.arange(rows), rng.integers(runs, size=rows)] = 1
    repeats *= rng.integers(1, 3, size=repeats.shape)
    spread = np.where(repeats > 1, noise ** 2 * rng.random((rows, runs)), 0)
    declared = np.where(rng.random(rows) < rng.choice([0, 1.0, 0.5]), noise, 0)
    base = masses[rng.integers(runs)] if rng.random() < 0.8 else size * complex_normal(rng, planes)
    return {"rows": rows, "planes": planes, "runs": runs, "masses": masses, "readings": readings,
            "repeats": repeats, "spread": spread, "declared": declared, "floor": np.full(rows, 0.01),
            "block": rng.integers(2, size=rows), "pool": rng.integers(2, size=rows), "base": base,
            "known": random_known(rng, rows, planes, truth, rng.choice([0, 0.3, 0.8])),
            "mass_zero": 1e-9 * max(abs(masses).max(), abs(base).max())}


def random_allowed(rng, case):
    """Held planes and ties; some ties repeat a ratio in which planes were tried together."""
    planes, masses = case["planes"], case["masses"]
    held = (rng.random(planes) < 0.3).astype(int)
    value = np.where(rng.random(planes) < 0.5, case["base"], abs(masses).max() * complex_normal(rng, planes))
    ties, equals = np.zeros((0, planes), complex), np.zeros(0, complex)
    state = masses[rng.integers(len(masses))]
    tied = np.flatnonzero((abs(state) > 0) & (held == 0))
    if len(tied) > 1 and rng.random() < 0.7:
        ties = np.zeros((len(tied) - 1, planes), complex)
        for k in range(len(tied) - 1):
            ties[k, tied[k]], ties[k, tied[k + 1]] = state[tied[k + 1]], -state[tied[k]]
        equals = ties @ case["base"] if rng.random() < 0.7 else ties @ complex_normal(rng, planes)
    return {"held": held, "held_value": value, "ties": ties, "tie_value": equals}


# ---- the C library ----

def flat(z):
    z = np.asarray(z, complex).ravel(order="F")
    return np.column_stack([z.real, z.imag]).ravel()


def text_of(case):
    known = [x for (i, j, v, u, c) in case["known"] for x in (i, j, v.real, v.imag, u, c)]
    numbers = [case["rows"], case["planes"], case["runs"], *case["block"], *case["pool"], *flat(case["masses"]),
               *flat(case["readings"]), *case["repeats"].ravel(order="F"), *case["spread"].ravel(order="F"),
               *case["declared"], *case["floor"], len(case["known"]), *known, *flat(case["base"]), case["mass_zero"]]
    allowed = case["allowed"]
    numbers += [*allowed["held"], *flat(allowed["held_value"]), len(allowed["ties"]), *flat(allowed["ties"]),
                *flat(allowed["tie_value"])]
    return "\n".join(repr(x.item() if hasattr(x, "item") else x) for x in numbers) + "\n"


class Reader:
    def __init__(self, text):
        self.numbers = np.array(text.split(), float)
        self.at = 0

    def reals(self, *shape):
        count = int(np.prod(shape))
        part = self.numbers[self.at:self.at + count]
        self.at += count
        return part.reshape(shape, order="F")

    def complexes(self, *shape):
        part = self.reals(2, *shape)
        return part[0] + 1j * part[1]


def answer_of(reader, case):
    n, m = case["rows"], case["planes"]
    found = {"a": reader.complexes(n, m), "determined": reader.reals(n, m), "std": reader.reals(n, m),
             "y": reader.complexes(n), "scatter": reader.reals(n), "dof": reader.reals(n),
             "factor": reader.complexes(m + 1, m + 1, n)}
    count = int(reader.reals(1)[0])
    found["common"] = reader.complexes(m + 1, count, n)
    found["base_common"] = reader.complexes(m + 1, count, n)
    found["row_determined"] = reader.reals(n)
    found["further_runs"] = int(reader.reals(1)[0])
    return found


# ---- the reference ----

def scaled_pinv(x, tolerance=1e-10):
    norm = np.linalg.norm(x, axis=0)
    norm[norm == 0] = 1
    return np.linalg.pinv(x / norm, rcond=tolerance) / norm[:, None]


def null_space(x):
    norm = np.linalg.norm(x, axis=0)
    norm[norm == 0] = 1
    _, s, vh = np.linalg.svd(x / norm)
    rank = int(np.sum(s > 1e-10 * s[0])) if s.size and s[0] > 0 else 0
    return vh[rank:].conj().T / norm[:, None], rank


class Row:
    """One row: which runs read it, which planes are free, have a prior, are exact."""

    def __init__(self, case, i):
        self.runs = np.flatnonzero(case["repeats"][i])
        known = {j: (v, u, c) for (r, j, v, u, c) in case["known"] if r == i}
        self.exact = [j for j in known if known[j][1] == 0]
        self.prior = [j for j in known if known[j][1] > 0]
        self.free = [j for j in range(case["planes"]) if j not in known]
        self.known = known
        masses = case["masses"][self.runs]
        self.left = case["readings"][i, self.runs] - masses[:, self.exact] @ np.array([known[j][0] for j in self.exact])
        self.x = np.column_stack([np.ones(len(self.runs)), masses[:, self.free]])
        self.m = masses[:, self.prior]
        self.at_base = np.all(abs(masses - case["base"]) <= case["mass_zero"], axis=1)
        self.null, self.rank = null_space(self.x)


def scatter_of(case, rows):
    squares, dof, inside, inside_dof = np.zeros(2), np.zeros(2), np.zeros(2), np.zeros(2)
    for i, row in enumerate(rows):
        design = np.column_stack([np.ones(len(row.runs)), case["masses"][row.runs][:, sorted(row.free + row.prior)]])
        rank = null_space(design)[1]
        residual = row.left - design @ (scaled_pinv(design) @ row.left)
        if len(row.runs) > rank:
            squares[case["pool"][i]] += np.sum(abs(residual) ** 2)
            dof[case["pool"][i]] += len(row.runs) - rank
        inside[case["pool"][i]] += case["spread"][i].sum()
        inside_dof[case["pool"][i]] += np.maximum(case["repeats"][i] - 1, 0).sum()
    sigma, degrees = np.zeros(len(rows)), np.zeros(len(rows))
    for i, row in enumerate(rows):
        p = case["pool"][i]
        if case["declared"][i] > 0:
            sigma[i], degrees[i] = case["declared"][i], np.inf
        elif dof[p]:
            sigma[i], degrees[i] = np.sqrt(squares[p] / dof[p]), dof[p]
        elif inside_dof[p]:
            sigma[i], degrees[i] = np.sqrt(inside[p] / inside_dof[p]), inside_dof[p]
        else:
            sigma[i] = 0.03 * abs(case["readings"][i, row.runs]).mean() + case["floor"][i]
    return sigma, degrees


def prior_covariance(rows, members, index):
    """Joint covariance of all priors of a block; index: (row, plane) -> position."""
    covariance = np.zeros((len(index), len(index)), complex)
    for (i, j), p in index.items():
        for (k, l), q in index.items():
            if j != l:
                continue
            vi, ui, ci = rows[i].known[j]
            vk, uk, ck = rows[k].known[j]
            shared = ui * uk * np.sqrt(ci * ck) * vi / abs(vi) * np.conj(vk / abs(vk))
            covariance[p, q] = ui ** 2 if p == q else shared
    return covariance


def block_matrices(case, rows, members, sigma):
    index = {(i, j): p for p, (i, j) in enumerate((i, j) for i in members for j in rows[i].prior)}
    count = sum(len(rows[i].runs) for i in members)
    free = sum(1 + len(rows[i].free) for i in members)
    x, m = np.zeros((count, free), complex), np.zeros((count, len(index)), complex)
    left, noise, at, column = np.zeros(count, complex), np.zeros(count), {}, {}
    r = c = 0
    for i in members:
        row = rows[i]
        k, n = row.x.shape
        x[r:r + k, c:c + n] = row.x
        for q, j in enumerate(row.prior):
            m[r:r + k, index[i, j]] = row.m[:, q]
        left[r:r + k], noise[r:r + k] = row.left, sigma[i]
        at[i], column[i] = r, c
        r, c = r + k, c + n
    return index, x, m, left, noise, at, column


def reference_block(case, rows, members, sigma):
    """Values and error maps of lines (y, a_1 … a_M) of the block's rows; noise: (prior errors, reading errors)."""
    index, x, m, left, noise, at, column = block_matrices(case, rows, members, sigma)
    p0 = prior_covariance(rows, members, index)
    mean = np.array([rows[i].known[j][0] for (i, j) in index])
    v = np.diag(noise ** 2) + m @ p0 @ m.conj().T
    white = np.linalg.inv(np.linalg.cholesky(v))
    beta_map = scaled_pinv(white @ x) @ white
    gain = p0 @ m.conj().T @ white.conj().T @ white
    alpha_map = gain @ (np.eye(len(left)) - x @ beta_map)
    given = left - m @ mean
    beta, alpha = beta_map @ given, mean + alpha_map @ given
    noise_map = np.hstack([m, np.eye(len(left))])          # of (prior errors, reading errors) into the readings
    beta_error, alpha_error = beta_map @ noise_map, alpha_map @ noise_map
    alpha_error[:, :len(mean)] -= np.eye(len(mean))
    covariance = np.block([[p0, np.zeros((len(mean), len(left)))],
                           [np.zeros((len(left), len(mean))), np.diag(noise ** 2)]])
    lines = {}
    for i in members:
        lines[i] = row_lines(case, rows[i], i, index, column[i], at[i], beta, alpha, beta_error, alpha_error)
    return lines, covariance


def row_lines(case, row, i, index, column, at, beta, alpha, beta_error, alpha_error):
    planes, width = case["planes"], beta_error.shape[1]
    value, error = np.zeros(planes + 1, complex), np.zeros((planes + 1, width), complex)
    value[0], error[0] = beta[column], beta_error[column]
    for q, j in enumerate(row.free):
        value[j + 1], error[j + 1] = beta[column + 1 + q], beta_error[column + 1 + q]
    for j in row.prior:
        value[j + 1], error[j + 1] = alpha[index[i, j]], alpha_error[index[i, j]]
    for j in row.exact:
        value[j + 1] = row.known[j][0]
    if row.at_base.any():
        value[0] = case["readings"][i, row.runs][row.at_base].mean()
        error[0] = 0
        error[0, len(index) + at + np.flatnonzero(row.at_base)] = 1 / row.at_base.sum()
    else:
        value[0] += case["base"] @ value[1:]
        error[0] += case["base"] @ error[1:]
    return value, error


# ---- comparison ----

class Worst:
    def __init__(self):
        self.value = {}

    def see(self, what, found, expected, scale):
        error = np.max(abs(np.asarray(found) - np.asarray(expected)), initial=0) / max(scale, 1e-300)
        self.value[what] = max(self.value.get(what, 0), error)


def open_lines(row, planes):
    """Which coefficients the runs leave open, from the reference's own null space."""
    touched = np.zeros(planes, bool)
    size = 1 / np.maximum(np.linalg.norm(row.x, axis=0), 1e-300)
    for q, j in enumerate(row.free):
        norm = size[1 + q] if size[1 + q] < 1e200 else 1
        touched[j] = np.linalg.norm(row.null[1 + q]) > 1e-8 * norm
    return touched


def told_combination(case, row, rng):
    """Masses z and a line p = (1 or 0, z) that the runs tell."""
    planes = case["planes"]
    p = np.concatenate([[0 if not row.at_base.any() else 1], complex_normal(rng, planes)])
    columns = [j + 1 for j in row.free]
    null = row.null[1:]
    if null.shape[1]:
        q = p[columns]
        p[columns] = q - np.conj(null) @ (scaled_pinv(np.conj(null)) @ q)
        if np.linalg.norm(p[columns]) < 1e-9 * np.linalg.norm(q):
            p[columns] = 0                     # nothing but rounding is left: these planes are told in no combination
    return p


def compare(case, found, rng, worst):
    rows = [Row(case, i) for i in range(case["rows"])]
    sigma, degrees = scatter_of(case, rows)
    worst.see("scatter", found["scatter"] / sigma, 1, 1)
    assert np.array_equal(found["dof"], degrees)
    for block in (0, 1):
        members = [i for i in range(case["rows"]) if case["block"][i] == block]
        if not members:
            continue
        lines, covariance = reference_block(case, rows, members, sigma)
        for i in members:
            compare_row(case, rows[i], i, lines[i], covariance, found, rng, worst)
        compare_pairs(case, rows, members, lines, covariance, found, rng, worst)


def compare_row(case, row, i, lines, covariance, found, rng, worst):
    value, error = lines
    opened = open_lines(row, case["planes"])
    assert np.array_equal(found["determined"][i], ~opened), (i, found["determined"][i], opened)
    size = max(abs(value[1:][~opened]).max(initial=0), 1e-300)
    worst.see("coefficients", found["a"][i][~opened], value[1:][~opened], size)
    exact = error @ covariance @ error.conj().T
    f = found["factor"][:, :, i]
    std = np.sqrt(np.diag(exact).real[1:])
    worst.see("std", found["std"][i][~opened], std[~opened], std[~opened].max(initial=0))
    if row.at_base.any():
        worst.see("y", found["y"][i], value[0], abs(value[0]))
        worst.see("var y", np.linalg.norm(f[0]) ** 2, exact[0, 0].real, exact[0, 0].real)
    p = told_combination(case, row, rng)
    if not p.any():
        return
    expected = (p @ exact @ p.conj()).real
    worst.see("predicted variance", np.linalg.norm(p @ f) ** 2, expected, max(expected, 1e-300))
    told = p[0] * found["y"][i] + p[1:] @ found["a"][i]
    worst.see("predicted", told, p @ value, np.sum(abs(p * value)))


def compare_pairs(case, rows, members, lines, covariance, found, rng, worst):
    for i in members:
        for k in members:
            if i == k:
                continue
            p, q = told_combination(case, rows[i], rng), told_combination(case, rows[k], rng)
            expected = p @ lines[i][1] @ covariance @ (q @ lines[k][1]).conj()
            size = np.linalg.norm(p @ found["factor"][:, :, i]) * np.linalg.norm(q @ found["factor"][:, :, k])
            g, h = found["common"], found["base_common"]
            value = (p @ g[:, :, i]) @ (q @ g[:, :, k]).conj() - (p @ h[:, :, i]) @ (q @ h[:, :, k]).conj()
            worst.see("covariance between rows", value, expected, size)


def rank_of(x):
    norm = np.linalg.norm(x, axis=0)
    norm[norm == 0] = 1
    s = np.linalg.svd(x / norm, compute_uv=False)
    return int(np.sum(s > 1e-10 * s[0])) if s.size and s[0] > 0 else 0


def allowed_set(case):
    """z0 and Z with z = z0 + Z u, by numpy."""
    allowed, planes = case["allowed"], case["planes"]
    free = np.flatnonzero(allowed["held"] == 0)
    x0, z = np.where(allowed["held"] == 1, allowed["held_value"], 0), np.zeros((planes, len(free)), complex)
    ties = allowed["ties"][:, free]
    if len(ties) and len(free):
        rest = allowed["tie_value"] - allowed["ties"] @ x0
        x0[free] = np.linalg.lstsq(ties, rest, rcond=1e-10)[0]
        _, s, vh = np.linalg.svd(ties)
        basis = vh[int(np.sum(s > 1e-10 * s[0])):].conj().T
        z = np.zeros((planes, basis.shape[1]), complex)
        z[free] = basis
    else:
        z[free, np.arange(len(free))] = 1
    z0 = x0 - case["base"]
    z0[abs(z0) < case["mass_zero"]] = 0
    return z0, z


def determined_rows(case, rows):
    """Row by row: does appending (0 Zᵀ), (0 z0ᵀ) and (1 bᵀ) raise the rank of the fit's matrix?"""
    z0, z = allowed_set(case)
    answer = []
    for row in rows:
        columns = row.free + row.prior
        fit = np.column_stack([np.ones(len(row.runs)), case["masses"][row.runs][:, columns]])
        prior = np.zeros((len(row.prior), 1 + len(columns)))
        prior[:, 1 + len(row.free):] = (abs(case["masses"]).max() or 1) * np.eye(len(row.prior))
        fit = np.vstack([fit, prior])
        more = np.zeros((z.shape[1] + 1, 1 + len(columns)), complex)
        more[:-1, 1:], more[-1, 1:] = z.T[:, columns], z0[columns]
        if not row.at_base.any():
            more = np.vstack([more, np.concatenate([[1], case["base"][columns]])])
        answer.append(rank_of(np.vstack([fit, more])) == rank_of(fit))
    return np.array(answer)


def compare_determined(case, found, counts):
    rows = [Row(case, i) for i in range(case["rows"])]
    expected = determined_rows(case, rows)
    assert np.array_equal(found["row_determined"].astype(bool), expected), (found["row_determined"], expected)
    assert (found["further_runs"] > 0) == (not expected.all())
    counts += [expected.sum(), (~expected).sum()]


def kalman(case, found, worst):
    """Rows without free planes are a Gaussian state from the start except for the as-found reading: take the readings
    in one by one, the first as the origin of the as-found reading; the end must be the same."""
    rows = [Row(case, i) for i in range(case["rows"])]
    for i, row in enumerate(rows):
        if row.free or any(c > 0 and u > 0 for (_, u, c) in row.known.values()):
            continue
        s2 = found["scatter"][i] ** 2
        state = np.array([row.left[0]] + [row.known[j][0] for j in row.prior], complex)
        u2 = np.array([row.known[j][1] ** 2 for j in row.prior])
        state[0] -= row.m[0] @ state[1:]
        p = np.diag(np.concatenate([[s2 + np.sum(abs(row.m[0]) ** 2 * u2)], u2])).astype(complex)
        p[0, 1:] = -row.m[0] * u2
        p[1:, 0] = p[0, 1:].conj()
        for k in range(1, len(row.runs)):
            h = np.concatenate([[1], row.m[k]])
            gain = p @ h.conj() / (h @ p @ h.conj() + s2)
            state = state + gain * (row.left[k] - h @ state)
            p = p - np.outer(gain, h @ p)
        size = max(abs(state[1:]).max(initial=0), 1e-300)
        worst.see("run by run", found["a"][i][row.prior], state[1:], size)
        u = np.sqrt(u2)
        worst.see("run by run std", found["std"][i][row.prior] / u, np.sqrt(np.diag(p).real[1:]) / u, 1)


def main():
    driver, count = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 200
    rng = np.random.default_rng(20260301)
    cases = [random_case(rng) for _ in range(count)]
    for case in cases:
        case["allowed"] = random_allowed(rng, case)
    text = "".join(text_of(case) for case in cases)
    output = subprocess.run([driver], input=text, capture_output=True, text=True, check=True).stdout
    reader, worst, counts = Reader(output), Worst(), np.zeros(2, int)
    for case in cases:
        found = answer_of(reader, case)
        compare(case, found, rng, worst)
        compare_determined(case, found, counts)
        kalman(case, found, worst)
    assert reader.at == len(reader.numbers)
    print(f"determined rows {counts[0]}, not determined {counts[1]}: all alike")
    failed = not counts.all()
    for what, value in sorted(worst.value.items()):
        print(f"{what:26s} worst {value:.1e}")
        failed |= not value <= TOLERANCE
    if not failed and count >= 200:
        outside("coefficients, scatter, standard deviations, covariance and predicted variance of random fits, with priors",
                "numpy: generalised least squares in covariance form, and one reading at a time (Kalman form)",
                "reference library", "200 cases to 1e-9; determined rows alike in all")
    sys.exit(failed)


if __name__ == "__main__":
    main()

#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""10,000 perturbed least-squares re-solves at 48 x 12 with numpy, on the triangle, in the vectorised forms known to us.

Compare with bench_resample. The drawing of the errors is inside the time in both.
"""
import time

import numpy as np

M, N, SAMPLES = 48, 12, 10000
rng = np.random.default_rng(3)
full = rng.standard_normal((M, N + 1)) + 1j * rng.standard_normal((M, N + 1))
triangle = np.linalg.qr(full)[1]


def draw():
    error = rng.standard_normal((SAMPLES, N + 1, 2 * (N + 1))).view(complex)
    error *= 0.05 / np.sqrt(2)
    error += triangle
    return error


def by_normal_equations():
    t = draw()
    b, c = t[:, :, :N], t[:, :, N:]
    adjoint = b.conj().transpose(0, 2, 1)
    return np.linalg.solve(adjoint @ b, -(adjoint @ c))


def by_qr():
    q, r = np.linalg.qr(draw())
    return np.linalg.solve(r[:, :N, :N], -r[:, :N, N:])


for name, form in (("normal equations", by_normal_equations), ("QR", by_qr)):
    times = []
    for _ in range(7):
        start = time.perf_counter()
        form()
        times.append(1e3 * (time.perf_counter() - start))
    print(f"numpy, vectorised, {name:42s} {sorted(times)[3]:8.3f} ms")

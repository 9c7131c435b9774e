# SPDX-License-Identifier: MIT
"""All sets of 20 planes at 48 readings: a loop over numpy's lstsq, on a sample and scaled, against the deletion tree.

    /usr/bin/python3 tests/bench/planes_numpy.py BENCH_PLANES PROGRAM

BENCH_PLANES is the program made from planes.c beside this file; it prints the time of the tree.  PROGRAM is timed as a
whole on min-max over all sets of 10 planes.
"""
import os
os.environ["OPENBLAS_NUM_THREADS"] = "1"
import pathlib
import re
import subprocess
import sys
import tempfile
import time
import numpy as np
sys.path.insert(0, str(pathlib.Path(__file__).parents[1] / "reference"))
import test_planes

ROWS, PLANES, SAMPLE = 48, 20, 2000


def loop_time():
    """Seconds of 2^20 - 1 calls, from a sample of random sets."""
    rng = np.random.RandomState(1)
    a = rng.randn(ROWS, PLANES) + 1j * rng.randn(ROWS, PLANES)
    y = rng.randn(ROWS) + 1j * rng.randn(ROWS)
    sets = [np.flatnonzero(rng.randint(0, 2, PLANES)) for _ in range(SAMPLE)]
    start = time.perf_counter()
    for chosen in sets:
        np.linalg.lstsq(a[:, chosen], y, rcond=None)
    return (time.perf_counter() - start) / SAMPLE * (2**PLANES - 1)


def main():
    bench, program = sys.argv[1:3]
    printed = subprocess.run([bench], capture_output=True, text=True, check=True).stdout
    print(printed, end="")
    tree = float(re.search(r"planes 20 +every set .* ([0-9.]+) ms", printed).group(1)) / 1000
    loop = loop_time()
    print(f"loop over lstsq, {SAMPLE} sets scaled to 2^20 - 1: {loop:.1f} s; tree {tree:.3f} s: {loop / tree:.0f} times faster")
    with tempfile.TemporaryDirectory() as name:
        file = pathlib.Path(name) / "case.yaml"
        file.write_text(test_planes.Machine(5, ROWS, 10, "min-max").yaml())
        start = time.perf_counter()
        subprocess.run([program, "planes", "--format", "json", str(file)], capture_output=True, check=True)
        print(f"min-max over all sets of 10 planes at 48 readings, whole process: {time.perf_counter() - start:.2f} s")


if __name__ == "__main__":
    main()

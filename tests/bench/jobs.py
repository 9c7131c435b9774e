# SPDX-License-Identifier: MIT
"""1,000 cases with --jobs 2 against --jobs 1: /usr/bin/python3 tests/bench/jobs.py PROGRAM [PAIRS]

In turns, output to a file; printed is the median of the ratios of PAIRS (9) pairs. Aim: 1.6. Needs two idle cores.
"""
import os
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = str(pathlib.Path(sys.argv[1]).resolve())
PAIRS = int(sys.argv[2]) if len(sys.argv) > 2 else 9


def timed(folder, files, jobs):
    with open(folder / "output", "wb") as output:
        start = time.perf_counter()
        subprocess.run([PROGRAM, "solve", "--jobs", str(jobs), "--format", "json", *files], cwd=folder, stdout=output,
                       stderr=subprocess.DEVNULL, check=True)
        return time.perf_counter() - start


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        text = (ROOT / "cases/demo/turbine-generator.yaml").read_text()
        files = [f"c{k:04d}.yaml" for k in range(1000)]
        for k, file in enumerate(files):  # cases of one size that are not the same
            (folder / file).write_text(text.replace("title: ", f"title: {k} ", 1))
        pairs = [(timed(folder, files, 1), timed(folder, files, 2)) for _ in range(PAIRS)]
    ratios = sorted(one / two for one, two in pairs)
    print(f"1,000 cases of the demonstration machine, {PAIRS} pairs, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    print(f"  --jobs 1   {statistics.median(p[0] for p in pairs):.2f} s")
    print(f"  --jobs 2   {statistics.median(p[1] for p in pairs):.2f} s")
    print(f"  ratio      {statistics.median(ratios):.2f} (from {ratios[0]:.2f} to {ratios[-1]:.2f}; aim 1.6)")


main()

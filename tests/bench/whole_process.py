# SPDX-License-Identifier: MIT
"""Whole-process time of `solve` against a Python script doing the same.

    /usr/bin/python3 tests/bench/whole_process.py PROGRAM [ROUNDS]

The case: 16 sensors, 3 speeds, 12 planes, 576 known coefficients.  Both sides
run one BLAS thread, in turn, and must give the same masses; printed are the
medians of the wall times and their ratio.
"""
import json
import os
import pathlib
import statistics
import sys
import tempfile
import time
import numpy as np

SENSORS, SPEEDS, PLANES = 16, (1500, 1700, 3000), 12
SCRIPT = pathlib.Path(__file__).with_name("python_solver.py")


def phasor(rng, size):
    return f"{size * rng.uniform(0.2, 1):.4g} @ {rng.randint(360)}"


def case_text():
    rng = np.random.RandomState(1)
    lines = ["case: {format: 1, title: benchmark}",
             "conventions: {phase: lag, mass_angle: against-rotation}", "speeds:"]
    lines += [f"  - {{id: v{i}, speed: {v}}}" for i, v in enumerate(SPEEDS)]
    lines += ["sensors:"] + [f"  - {{id: s{i}, limit: 60}}" for i in range(SENSORS)]
    lines += ["planes:"] + [f"  - {{id: P{j}, radius: 300}}" for j in range(PLANES)]
    lines += ["runs:", "  - id: as-found", "    readings:"]
    for v in range(len(SPEEDS)):
        lines.append(f"      v{v}: {{" + ", ".join(f"s{i}: {phasor(rng, 100)}" for i in range(SENSORS)) + "}")
    lines.append("influence:")
    lines += [f"  - {{plane: P{j}, speed: v{v}, sensor: s{i}, value: {phasor(rng, 0.5)}}}"
              for j in range(PLANES) for v in range(len(SPEEDS)) for i in range(SENSORS)]
    return "\n".join(lines) + "\n"


def timed(command, environment, output):
    """Wall time from spawning to the end, standard output into a file: little of the harness in it."""
    to_file = [(os.POSIX_SPAWN_OPEN, 1, output, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)]
    start = time.perf_counter()
    pid = os.posix_spawn(command[0], command, environment, file_actions=to_file)
    _, status = os.waitpid(pid, 0)
    elapsed = time.perf_counter() - start
    if status != 0:
        sys.exit(f"{command[0]} failed")
    return elapsed, json.loads(pathlib.Path(output).read_text())


def masses(tree):
    return np.array([c["mass"] * np.exp(1j * np.radians(c["angle"])) for c in tree["corrections"]])


def main():
    program, rounds = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 40
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    with tempfile.TemporaryDirectory() as folder:
        case = pathlib.Path(folder) / "benchmark.yaml"
        case.write_text(case_text())
        ours = [os.path.abspath(program), "solve", "--format", "json", str(case)]
        theirs = [sys.executable, str(SCRIPT), str(case)]
        output = str(pathlib.Path(folder) / "output")
        fast, slow = [], []
        for k in range(rounds):
            t, a = timed(ours, environment, output)
            fast.append(t)
            if k % 4 == 0:
                t, b = timed(theirs, environment, output)
                slow.append(t)
    if not np.allclose(masses(a), masses(b), rtol=0, atol=1e-9 * np.max(abs(masses(b)))):
        sys.exit("the two sides give different masses")
    f, s = statistics.median(fast), statistics.median(slow)
    print(f"whole process, {SENSORS} sensors x {len(SPEEDS)} speeds x {PLANES} planes, {SENSORS * len(SPEEDS) * PLANES} "
          f"known coefficients, {len(case_text()) // 1000} kB:")
    print(f"  countermass solve   {1e3 * f:7.2f} ms (median of {len(fast)})")
    print(f"  PyYAML C + numpy    {1e3 * s:7.2f} ms (median of {len(slow)})")
    print(f"  ratio               1/{s / f:.1f} (target: at most 1/30)")


main()

# SPDX-License-Identifier: MIT
"""Time of `check` on 96 readings, 24 planes and 40 runs, all questions asked.

    /usr/bin/python3 tests/bench/check.py PROGRAM [ROUNDS]

Medians of processor time (user and system) of whole processes, which other work
on the machine disturbs less than wall time, beside `--version` (the start of
the process alone) and `solve` of the same case, taken in turn in one run.  The
last run hides a mistake, so that its explanations are weighed too.
"""
import os
import pathlib
import statistics
import sys
import tempfile
import numpy as np

SENSORS, SPEEDS, PLANES, RUNS = 24, (1000, 1500, 1700, 3000), 24, 40


def case_text():
    rng = np.random.RandomState(3)
    rows = SENSORS * len(SPEEDS)
    y = 60 * (rng.randn(rows) + 1j * rng.randn(rows))
    a = 0.4 * (rng.randn(rows, PLANES) + 1j * rng.randn(rows, PLANES))
    lines = ["case: {format: 1, title: bench of check}", "conventions: {phase: lead, mass_angle: with-rotation}",
             "speeds:"] + [f"  - {{id: v{i}, speed: {v}}}" for i, v in enumerate(SPEEDS)]
    lines += ["sensors:"] + [f"  - {{id: s{i}, limit: 60, repeatability: 2}}" for i in range(SENSORS)]
    lines += ["planes:"] + [f"  - {{id: P{j}, radius: 300}}" for j in range(PLANES)] + ["runs:"]
    for k in range(RUNS):
        m = np.zeros(PLANES, complex)
        if 0 < k <= PLANES:
            m[k - 1] = 80 * np.exp(2j * np.pi * rng.rand())
        elif k > PLANES:
            m[rng.choice(PLANES, 3, replace=False)] = 60 * np.exp(2j * np.pi * rng.rand(3))
        really = m.copy()
        if k == RUNS - 1:
            really[np.flatnonzero(m)[0]] *= -1
        r = y + a @ really + 1.4 * (rng.randn(rows) + 1j * rng.randn(rows))
        masses = ", ".join(f"{{plane: P{j}, mass: {abs(m[j]):.5f}, angle: {np.degrees(np.angle(m[j])):.4f}}}"
                           for j in np.flatnonzero(m))
        lines += [f"  - id: run {k}", f"    masses: [{masses}]", "    readings:"]
        for v in range(len(SPEEDS)):
            lines.append(f"      v{v}: {{" + ", ".join(
                f"s{s}: {abs(z):.3f} @ {np.degrees(np.angle(z)):.2f}"
                for s, z in enumerate(r[v * SENSORS:(v + 1) * SENSORS])) + "}")
    return "\n".join(lines) + "\n"


def timed(command):
    null = os.open(os.devnull, os.O_WRONLY)
    pid = os.posix_spawn(command[0], command, os.environ, file_actions=[(os.POSIX_SPAWN_DUP2, null, 1),
                                                                         (os.POSIX_SPAWN_DUP2, null, 2)])
    os.close(null)
    used = os.wait4(pid, 0)[2]
    return 1000 * (used.ru_utime + used.ru_stime)


def main():
    program, rounds = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 15
    with tempfile.TemporaryDirectory() as folder:
        case = str(pathlib.Path(folder) / "case.yaml")
        pathlib.Path(case).write_text(case_text())
        commands = {"--version": [program, "--version"], "solve": [program, "solve", "--format", "json", case],
                    "check": [program, "check", "--format", "json", case]}
        times = {name: [] for name in commands}
        for _ in range(rounds):
            for name, command in commands.items():
                times[name].append(timed(command))
    median = {name: statistics.median(t) for name, t in times.items()}
    print("; ".join(f"{name} {m:.1f} ms" for name, m in median.items()))
    print(f"check / solve {median['check'] / median['solve']:.2f}; check less start {median['check'] - median['--version']:.1f} ms")


if __name__ == "__main__":
    main()

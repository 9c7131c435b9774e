#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""What the hardened flags cost: the same commands with a hardened and a plain build, in turn.

usage: hardening.py HARDENED PLAIN [PAIRS]
Medians of the processor time of a whole process, and of the ratio within a pair.
"""
import os
import statistics
import subprocess
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
COMMANDS = {"start only": ["--version"], "solve": ["solve", "cases/demo/turbine-generator.yaml"],
            "trade-off (solver)": ["solve", "--trade-off", "cases/demo/min-max.yaml"],
            "planes": ["planes", "cases/demo/turbine-generator.yaml"]}


def seconds(program, words):
    process = subprocess.Popen([program, *words], cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                               env={**os.environ, "OPENBLAS_NUM_THREADS": "1"})
    used = os.wait4(process.pid, 0)[2]
    return used.ru_utime + used.ru_stime


def main():
    hardened, plain = map(os.path.abspath, sys.argv[1:3])
    pairs = int(sys.argv[3]) if len(sys.argv) > 3 else 101
    print("| command | hardened, ms | plain, ms | ratio |\n| --- | --- | --- | --- |")
    for name, words in COMMANDS.items():
        times = [(seconds(hardened, words), seconds(plain, words)) for _ in range(pairs)]
        print("| %s | %.2f | %.2f | %.2f |" % (name, 1e3 * statistics.median(t[0] for t in times),
                                              1e3 * statistics.median(t[1] for t in times),
                                              statistics.median(a / max(b, 1e-4) for a, b in times)))


main()

# SPDX-License-Identifier: MIT
"""Whole process of `solve` on the demonstration case against what cannot be saved.

    /usr/bin/python3 tests/bench/start_up.py BUILD_FOLDER [ROUNDS]     (configured with -DCM_BENCH=ON)

Aim: at most the start of an empty program with the same linking + 2 x libyaml's bare event loop over the case + 1 ms.
The three are run in turns; printed are medians and, beside them, the least times, which other work on the machine
disturbs least. The copies show what a program costs that was installed: the linker writes a file in small pieces, a copy
lies in large ones in the page cache, which takes a tenth of a millisecond less to map.
"""
import os
import pathlib
import shutil
import statistics
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
BUILD = pathlib.Path(sys.argv[1]).resolve()
ROUNDS = int(sys.argv[2]) if len(sys.argv) > 2 else 200
CASE = str(ROOT / "cases/demo/turbine-generator.yaml")


def process(*command):
    """Wall time in ms of one process, its output thrown away."""
    nowhere = [(os.POSIX_SPAWN_OPEN, 1, "/dev/null", os.O_WRONLY, 0), (os.POSIX_SPAWN_OPEN, 2, "/dev/null", os.O_WRONLY, 0)]
    start = time.perf_counter()
    pid = os.posix_spawn(command[0], command, os.environ, file_actions=nowhere)
    _, status = os.waitpid(pid, 0)
    elapsed = time.perf_counter() - start
    if status != 0:
        sys.exit(f"{command} failed")
    return 1e3 * elapsed


def main():
    bench = BUILD / "tests/bench"
    times = {"empty": [], "events": [], "text": [], "json": [], "copy": [], "empty copy": []}
    folder = tempfile.TemporaryDirectory()
    copies = {name: shutil.copy(path, folder.name) for name, path in (("copy", BUILD / "countermass"), ("empty copy", bench / "start_empty"))}
    for _ in range(ROUNDS):
        times["empty copy"].append(process(copies["empty copy"]))
        times["copy"].append(process(copies["copy"], "solve", CASE))
        times["empty"].append(process(str(bench / "start_empty")))
        times["events"].append(int(subprocess.check_output([bench / "start_events", CASE])) / 1e6)
        times["text"].append(process(str(BUILD / "countermass"), "solve", CASE))
        times["json"].append(process(str(BUILD / "countermass"), "solve", "--format", "json", CASE))
    print(f"{ROUNDS} rounds, ms                     median   least")
    for name, words in (("empty", "empty program, same linking"), ("events", "libyaml's event loop, once"),
                        ("text", "solve, text"), ("json", "solve, JSON"),
                        ("empty copy", "empty program, copied"), ("copy", "solve, text, copied")):
        print(f"{words:28s} {statistics.median(times[name]):10.3f} {min(times[name]):7.3f}")
    aims = [of(times["empty"]) + 2 * of(times["events"]) + 1 for of in (statistics.median, min)]
    print(f"{'aim':28s} {aims[0]:10.3f} {aims[1]:7.3f}")
    print(f"{'aim, copied as an install does':28s} {statistics.median(times['empty copy']) + 2 * statistics.median(times['events']) + 1:8.3f}")
    print("reached" if statistics.median(times["text"]) <= aims[0] else "MISSED")


main()

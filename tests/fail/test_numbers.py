#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Numbers: the same bits every time, in every locale; no NaN whatever stands in the case.

usage: test_numbers.py FAULTS PROGRAM [short|long]

Repeated: every command on small cases that use every key, with different numbers of BLAS threads and different fillings
of fresh memory; the output is compared byte for byte.
Locale: the same commands, and all wrong cases, in a process that has switched to a locale with a decimal comma.
Extremes: numbers of a case, one by one, replaced by huge, tiny, subnormal and odd ones; every command gives an answer
or an error, and neither text nor JSON holds NaN or infinity.
"""
import concurrent.futures
import glob
import json
import os
import re
import resource
import subprocess
import sys
import tempfile

from ground import ROOT, commands, covering_cases, options_of, takes_cases

EXTREMES = ["0", "-0", "5e-324", "1e-310", "2.2250738585072014e-308", "1e-300", "1e-30", "1e-29", "1e-15", "1e15", "1e29",
            "1e30", "1e300", "1.7976931348623157e308", "1e309", "1e-400", "-1", "360", "1e22", "123456789012345678901234567890",
            "0.1000000000000000055511151231257827021181583404541015625"]
NUMBER = re.compile(r"(?<![\w.@\-])[0-9]+(?:\.[0-9]+)?(?:e[-+]?[0-9]+)?(?![\w.])")
ODD = re.compile(r"(?<![\w-])[-+]?(?:nan|inf|infinity)(?![\w-])", re.I)
SURROUNDINGS = [{"OPENBLAS_NUM_THREADS": "1"}, {"OPENBLAS_NUM_THREADS": "2", "MALLOC_PERTURB_": "85"},
                {"OPENBLAS_NUM_THREADS": "7", "MALLOC_PERTURB_": "170"}, {"OMP_NUM_THREADS": "3", "GOTO_NUM_THREADS": "2"}]


def run(words, more=None, text=None):
    kept = {name: value for name, value in os.environ.items() if not name.endswith("_NUM_THREADS")}
    return subprocess.run(words, cwd=ROOT, env={**kept, **(more or {})}, input=text, capture_output=True, timeout=120, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_CPU, (20, 20)))


def seen(result):
    return result.returncode, result.stdout, result.stderr


def lines(program, cases):
    """One command line for each command and case, the form of the result in turn."""
    k = 0
    for command in commands([program]):
        formatted = "--format" in options_of([program], command)
        for case in cases if takes_cases([program], command) else [None]:
            k += 1
            yield [command, *(["--format", ("json", "text", "yaml")[k % 3]] if formatted else []), *([case] if case else [])]


def everywhere(work, jobs):
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        return [found for found in pool.map(work, jobs) if found]


def repeated(program, cases):
    def differs(line):
        runs = [seen(run([program, *line], more)) for more in SURROUNDINGS]
        return None if all(other == runs[0] for other in runs) else "differs from run to run: " + " ".join(line)
    jobs = list(lines(program, cases))
    return len(jobs), everywhere(differs, jobs)


def comma_locale(folder):
    """The environment of a locale that writes 1,5; made here, for machines seldom have one."""
    subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", os.path.join(folder, "de_DE.UTF-8")], check=True,
                   capture_output=True)
    return {"LOCPATH": folder, "LC_ALL": "de_DE.UTF-8", "LANGUAGE": "C"}


# Its note says how much faster than the highest speed the overspeed is: 1.1 times.
FRACTION = b"""case: {format: 1}
conventions: {phase: lag, mass_angle: with-rotation}
speeds: [{id: s, speed: 1500}]
sensors: [{id: A}]
planes: [{id: P1, radius: 200, cap_force: 1 kN}]
runs:
  - {id: a, readings: {s: {A: 8.5 @ 60}}}
  - {id: b, masses: [{plane: P1, mass: 10, angle: 270}], readings: {s: {A: 6 @ 125}}}
"""


def in_locale(faults, program, cases):
    start = [faults, "plain", "0", "0", "-"]
    wrong = [["check", name] for name in sorted(glob.glob("cases/invalid/*.yaml", root_dir=ROOT))]
    jobs = [line for line in lines(program, cases) if line[0] != "schema"] + wrong + [["schema"]]
    with tempfile.TemporaryDirectory() as folder:
        comma = comma_locale(folder)
        sign = run([*start, "decimal-sign"], comma).stdout
        if sign != b",\n":
            return 0, ["the locale with a decimal comma is not in force: %r" % sign]
        def differs(line):
            here, there = seen(run([*start, *line], {"LC_ALL": "C"})), seen(run([*start, *line], comma))
            return None if here == there else "another locale changes: " + " ".join(line)
        found = everywhere(differs, jobs)
        if b"1.1 times" not in run([*start, "solve", "-"], comma, FRACTION).stderr:
            found.append("a number in a message has no decimal point")
        return len(jobs) + 1, found


def complaint(line, result):
    if result.returncode not in (0, 1, 2):
        return "exit status %d: %s" % (result.returncode, result.stderr.decode(errors="replace")[-300:])
    text = result.stdout.decode()
    if result.returncode == 2 and not result.stderr:
        return "no message"
    if "json" in line and text:
        json.loads(text, parse_constant=lambda name: 1 / 0)
    found = ODD.search(re.sub(r"<script>.*?</script>", "", text, flags=re.S))
    return "the result holds " + found[0] if found else None


def extremes(program, names, step):
    jobs, commands_on_input = [], list(lines(program, ["-"]))
    for name in names:
        with open(os.path.join(ROOT, name), encoding="utf-8") as file:
            text = file.read()
        places = [place for place in NUMBER.finditer(text) if "#" not in text[text.rfind("\n", 0, place.start()) + 1:place.start()]]
        jobs += [(text, place.span(), number, line) for place in places[1:] for number in EXTREMES
                 for line in commands_on_input if line[-1] == "-"]

    def ends_badly(job):
        text, (start, end), number, line = job
        changed = text[:start] + number + text[end:]
        try:
            what = complaint(line, run([program, *line], None, changed.encode()))
        except (ValueError, ZeroDivisionError, subprocess.TimeoutExpired) as error:
            what = repr(error)
        return "%s instead of %s in line %d, %s: %s" % (number, text[start:end], text.count("\n", 0, start) + 1,
                                                       " ".join(line), what) if what else None
    chosen = jobs[len(jobs) % step::step]
    return len(chosen), everywhere(ends_badly, chosen)


def main():
    faults, program, mode = sys.argv[1], os.path.abspath(sys.argv[2]), sys.argv[3] if len(sys.argv) > 3 else "short"
    cases = covering_cases()
    some = cases if mode == "long" else cases[::3]
    small = ["cases/demo/exhaust-fan.yaml", "cases/published/turbine-two-planes.yaml", "cases/published/permissible-turbine-rotor.yaml"]
    failed = 0
    for name, (count, found) in (("repeated", repeated(program, some)), ("locale", in_locale(faults, program, some)),
                                 ("extremes", extremes(program, small, 3 if mode == "long" else 131))):
        print("%s: %d command lines, %d findings" % (name, count, len(found)))
        print("\n".join(found[:12]))
        failed += len(found) + (count == 0)
    sys.exit(failed > 0)


main()

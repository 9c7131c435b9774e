#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Many cases in one call: usage test_fleet.py PROGRAM

A fleet of 1,000 cases, some of them wrong, infeasible or undetermined: --jobs changes not a byte of standard output,
standard error or the exit status; every case alone says the same; GNU parallel gives the same table.
"""
import json
import pathlib
import random
import subprocess
import sys
import tempfile

PROGRAM = str(pathlib.Path(sys.argv[1]).resolve())
ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
COUNT = 1000
faults = []
CASE = """case: {{format: 1, title: fan {n}}}
conventions: {{phase: lag, mass_angle: against-rotation}}
speeds: [{{id: running, speed: 1480}}]
sensors: [{{id: drive end, limit: 40, repeatability: 2}}, {{id: fan end, limit: 40, repeatability: 2}}]
planes: [{{id: disc, radius: 400, cap: {cap}}}]
runs:
  - id: as-found
    readings: {{running: {{drive end: {a:.1f} @ {b:.0f}, fan end: {c:.1f} @ {d:.0f}}}}}
  - id: trial
    masses: [{{plane: disc, mass: {mass}, angle: 0}}]
    readings: {{running: {{drive end: {e:.1f} @ {f:.0f}, fan end: {g:.1f} @ {h:.0f}}}}}
objective: {{minimise: least-squares, within_limits: {within}}}
expected:
  source: constructed
  corrections: [{{plane: disc, mass: 90, angle: 180, tolerance: {{mass: 70 %, angle: 120}}}}]
"""


def check(good, what):
    if not good:
        faults.append(what)


def write_cases(folder):
    rng = random.Random(12)
    for n in range(COUNT):
        u = rng.uniform
        text = CASE.format(n=n, cap=rng.choice([60, 2000]), mass=rng.choice([80] * 9 + [0]), within=rng.choice(["false"] * 4 + ["true"]),
                           a=u(50, 90), b=u(0, 360), c=u(50, 90), d=u(0, 360), e=u(30, 90), f=u(0, 360), g=u(30, 90),
                           h=u(0, 360))
        if n % 97 == 5:
            text = text.replace("limit: 40", "limit: forty")
        (folder / f"c{n:04d}.yaml").write_text(text)
    return [f"c{n:04d}.yaml" for n in range(COUNT)]


def run(folder, *arguments, text=None):
    done = subprocess.run([PROGRAM, *arguments], cwd=folder, input=text, capture_output=True, text=True)
    return done.returncode, done.stdout, done.stderr


def same_with_jobs(folder, command, form, files, several=("2",)):
    one = run(folder, command, "--format", form, *files)
    for jobs in several:
        check(run(folder, command, "--format", form, "--jobs", jobs, *files) == one, f"{command} --format {form} --jobs {jobs}")
    return one


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        files = write_cases(folder)
        status, output, messages = same_with_jobs(folder, "solve", "json", files)
        results = json.loads(output)
        kinds = [r.get("status", r["result"]) for r in results]
        check(status == 2 and len(results) == COUNT, "one entry a case, the greatest exit status")
        for kind in ("optimal", "infeasible", "undetermined", "error"):
            check(kind in kinds, f"the fleet has a case that is {kind}")
        check([m.split(":")[0] for m in messages.splitlines() if "forty" in m][::2]
              == [f for f, k in zip(files, kinds) if k == "error"], "messages in the order of the cases")

        table = same_with_jobs(folder, "solve", "text", ["--table", *files])[1].splitlines()
        wrong = [(line, kind) for line, kind in zip(table[1:], kinds) if line.split()[0] != kind]
        check(not wrong, f"a line a case, in order: {wrong[:3]}")
        check([line.split()[-1] for line in table[1:]] == files, "its file")
        rows = json.loads(run(folder, "solve", "--table", "--format", "json", "--jobs", "2", *files)[1])
        for row, result in zip(rows, results):
            if result.get("status") == "optimal":
                worst = max(p["after"]["amplitude"] / p["limit"] for p in result["predicted"])
                check(abs(row["worst_after"] - worst) < 1e-12 and row["value"] == result["objective"]["value"],
                      f"row of {row['file']}")

        some = files[:60]
        for command in ("check", "verify", "planes"):
            for form in ("text", "json", "yaml"):
                same_with_jobs(folder, command, form, some, ("2", "7"))
            same_with_jobs(folder, command, "text", ["--table", *some])
        examples = sorted(str(p) for p in (ROOT / "cases").glob("[dp]*/*.yaml"))  # with and without readings
        for command in ("check", "verify", "solve"):
            check(0 <= same_with_jobs(folder, command, "text", examples)[0] <= 2, f"{command} of all examples")
        for n in (0, 5, 17, 41):
            alone = run(folder, "solve", "--format", "json", files[n])
            check(kinds[n] == "error" and alone[1] == "" or json.loads(alone[1]) == results[n], f"{files[n]} alone")
        twice = [run(folder, "solve", "--jobs", jobs, "-", "-", files[0], text=(folder / files[1]).read_text()) for jobs in "13"]
        check(twice[0] == twice[1], "standard input twice")

        shell = f"printf '%s\\n' c*.yaml | parallel --will-cite --keep-order --jobs 2 -n 250 '{PROGRAM} solve --table' 2>/dev/null"
        spread = subprocess.run(["bash", "-c", shell], cwd=folder, capture_output=True, text=True).stdout.splitlines()
        check([line for i, line in enumerate(spread) if i == 0 or line != spread[0]] == table, "GNU parallel")
    print("\n".join(faults) if faults else
          f"{COUNT} cases: {', '.join(f'{kinds.count(k)} {k}' for k in sorted(set(kinds)))}; --jobs changes nothing")
    return 1 if faults else 0


sys.exit(main())

# SPDX-License-Identifier: MIT
"""The cases of the tutorial are what make_tutorial.py writes, its record is what the program writes, and each step
follows from the one before: the masses mounted are those that were advised, rounded. What a reader is told to type runs,
in the copy that the reader is told to make, and is what the page shows the output of.

    /usr/bin/python3 tests/reference/test_tutorial.py PROGRAM
"""
import json
import pathlib
import re
import subprocess
import sys
import tempfile

import yaml

import make_tutorial as tutorial

FOLDER = pathlib.Path(__file__).parents[2] / "cases" / "tutorial"
failures = []


def check(holds, what):
    if not holds:
        failures.append(what)


def run(program, *arguments):
    return subprocess.run([program, *arguments], capture_output=True, text=True, cwd=FOLDER)


def advised(program, name):
    """What to add to the rotor as it stands, and what is then on it: grams as complex numbers."""
    answer = json.loads(run(program, "solve", "--format", "json", name).stdout)
    return ({c["plane"]: tutorial.phasor(c["change"]["mass"], c["change"]["angle"]) for c in answer["corrections"]},
            {c["plane"]: tutorial.phasor(c["mass"], c["angle"]) for c in answer["corrections"]})


def same(a, b):
    """Alike but for the last digits, which belong to the processor that the linear algebra was tuned for."""
    if isinstance(a, dict) and isinstance(b, dict):
        return list(a) == list(b) and all(same(a[key], b[key]) for key in a)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(map(same, a, b))
    if isinstance(a, (int, float)) and isinstance(b, (int, float)):
        return abs(a - b) <= 1e-9 * max(abs(a), abs(b))
    if isinstance(a, str) and isinstance(b, str) and " @ " in a and " @ " in b:
        return same([float(part) for part in a.split(" @ ")], [float(part) for part in b.split(" @ ")])
    return a == b


def text_is_made(program):
    for name, text in tutorial.files().items():
        check((FOLDER / name).read_text() == text, f"{name} is not what make_tutorial.py writes")
    with tempfile.TemporaryDirectory() as folder:
        record = pathlib.Path(folder) / "record.yaml"
        run(program, "influence", "--record", str(record), "5-whole.yaml")
        check(same(yaml.safe_load(record.read_text()), yaml.safe_load((FOLDER / "exhauster-record.yaml").read_text())),
              "exhauster-record.yaml is not the record of step 5")


def no_name_twice():
    """A reader who does every step keeps every file."""
    text = (FOLDER.parents[1] / "docs" / "tutorial.md").read_text()
    made = re.findall(r"countermass new > (\S+)", text) + re.findall(r"--(?:record|output|plot) (\S+)", text)
    check(len(made) >= 2 and len(set(made)) == len(made), f"files made twice: {made}")
    check(not set(made) & set(re.findall(r"cases/tutorial/(\d\S+?\.yaml)", text)), f"a case of the tutorial is overwritten: {made}")


def typed_lines_run(program):
    """As a reader: the lines that stand indented, one shell, a home of its own; the clone stays as it is."""
    text = (FOLDER.parents[1] / "docs" / "tutorial.md").read_text()
    typed = [line.strip() for line in re.findall(r"^    (?:mkdir|PATH=|cd|countermass) ?.*$", text, re.M)]
    shown = [re.split(" ## | -->", line)[0] for line in re.findall(r"^<!-- output of: (.*)$", text, re.M)]
    for line in shown:
        check("countermass " + line.replace("cases/tutorial/", "") in typed, f"shown but not typed: {line}")
    check(len(shown) > 5, f"outputs: {shown}")
    before = {file.name: file.read_bytes() for file in FOLDER.iterdir()}
    with tempfile.TemporaryDirectory() as name:
        top, home = pathlib.Path(name) / "top", pathlib.Path(name) / "home"
        for folder in (top / "build", home):
            folder.mkdir(parents=True)
        (top / "cases").symlink_to(FOLDER.parent)
        (top / "build" / "countermass").symlink_to(program)
        script = "\n".join(f"{line} || [ $? -eq 1 ] || echo >&2 'fails: {line}'" for line in typed)
        done = subprocess.run(["sh", "-c", script], cwd=top, env={"HOME": str(home), "PATH": "/usr/bin:/bin", "LC_ALL": "C.UTF-8"},
                              capture_output=True, text=True)
        check("fails: " not in done.stderr and "not found" not in done.stderr, f"typed lines: {done.stderr[-500:]}")
        check((home / "job/tutorial/exhauster.yaml").exists() and done.stdout.count("SUMMARY") > 3, "typed lines made nothing")
    check(before == {file.name: file.read_bytes() for file in FOLDER.iterdir()}, "the typed lines change cases/tutorial")


def steps_follow(program):
    whole = advised(program, "3-second-trial.yaml")[1]
    for plane, mass, angle in tutorial.HALF:
        check(abs(tutorial.phasor(mass, angle) - whole[plane] / 2) < 0.1, f"half on {plane}: {whole[plane] / 2}")
    rest = advised(program, "4-half.yaml")[0]
    for plane, mass, angle in tutorial.REST:
        check(abs(tutorial.phasor(mass, angle) - rest[plane]) < 0.12, f"rest on {plane}: {rest[plane]}")


def story_holds(program):
    page = run(program, "solve", "5-whole.yaml").stdout
    check("nothing more has to" in page, "step 5 does not say that the job is done")
    for name in ("1-as-found.yaml", "2-first-trial.yaml", "3-second-trial.yaml", "4-half.yaml", "6-a-year-later.yaml"):
        check("nothing more has to" not in run(program, "solve", name).stdout, f"{name} says that the job is done")
    check(run(program, "solve", "2-first-trial.yaml").returncode == 1, "step 2 should be undetermined")


def main():
    program = str(pathlib.Path(sys.argv[1]).resolve())
    no_name_twice()
    for part in (text_is_made, typed_lines_run, steps_follow, story_holds):
        part(program)
    print("\n".join(failures) if failures else "the tutorial: every step follows from the one before")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())

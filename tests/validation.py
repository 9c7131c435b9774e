# SPDX-License-Identifier: MIT
"""Every check against the outside in one table: docs/validation.md.

    /usr/bin/python3 tests/validation.py PROGRAM OUTPUT ... [--write]

OUTPUT are files with what the tests of one run printed; their lines that begin
with `outside |` are the checks that held (tests/reference/outside.py and
outside() of tests/unit/suite.c print them).  The worked examples are run here by
PROGRAM.  Without --write the document must be what this run would make.
"""
import json
import math
import pathlib
import re
import subprocess
import sys

TOP = pathlib.Path(__file__).resolve().parents[1]
DOCUMENT = TOP / "docs" / "validation.md"
MARKS = ["READ", "value from memory", "computed", "constructed", "reference library", "common practice"]

HEAD = """\
# Validation

Every number of ours that was held against a number from outside, and what came of it. This page is made by the test run
(`sh tests/run.sh`); it fails when a check fails or when this page is not what the run would write.

The mark says how the outside number is known:

| mark | meaning |
| --- | --- |
| READ | read in the named source |
| value from memory | typed from memory of the named source, the page not seen |
| computed | our arithmetic, by hand or by other code, from the source's inputs or formula |
| constructed | exact by construction; the derivation stands in the test |
| reference library | found by a general-purpose library (numpy, scipy, CVXOPT, GLPK) from the same inputs |
| common practice | a rule of the trade without a source |

Studies too long for each test run are in [performance.md](performance.md), [reliability.md](reliability.md) and the
pages of [theory/](theory/).
"""


def worked_examples(program):
    files = sorted(str(p.relative_to(TOP)) for p in (TOP / "cases/published").glob("*.yaml"))
    done = subprocess.run([program, "verify", "--format", "json", *files], capture_output=True, text=True, cwd=TOP)
    if done.returncode != 0:
        sys.exit(f"verify exits {done.returncode}: {done.stderr}")
    return json.loads(done.stdout)["cases"]


def figure(value, tolerance=None):
    """At least six digits, and one more than the first of the tolerance."""
    if not isinstance(value, (int, float)) or isinstance(value, bool):
        return "-" if value is None else str(value)
    digits = 6
    if tolerance and value:
        digits = max(digits, min(12, 2 + math.floor(math.log10(abs(value))) - math.floor(math.log10(tolerance))))
    return f"{value:.{digits}g}"


def share(check):
    """How much of its tolerance the difference takes, in words that do not change from machine to machine."""
    found, expected, tolerance = check["found"], check["expected"], check["tolerance"]
    if not isinstance(found, (int, float)) or not tolerance:
        return "equal"
    off = abs(found - expected)
    if "angle" in check["what"] or "phase" in check["what"]:
        off = abs((found - expected + 180) % 360 - 180)
    return "below 1 %" if off < 0.01 * tolerance else f"{100 * off / tolerance:.0f} %"


def cell(text):
    return " ".join(str(text).split()).replace("|", "/")


def example(case):
    lines = [f"### {pathlib.Path(case['file']).stem}", "", f"Source: {cell(case['source'])}.", "",
             "| what | expected | found | tolerance | of it used |", "| --- | --- | --- | --- | --- |"]
    for check in case["checks"]:
        found = check["found"]
        if isinstance(found, float) and abs(found) < check["tolerance"] and check["expected"] == 0:
            found = 0.0                      # rounding noise is no figure to keep in a document
        lines.append(f"| {cell(check['what'])} | {figure(check['expected'], check['tolerance'])} | "
                     f"{figure(found, check['tolerance'])} | "
                     f"{figure(check['tolerance'])} | {share(check)} |")
    return lines + [""]


def gathered(files):
    rows = set()
    for file in files:
        for line in pathlib.Path(file).read_text(errors="replace").splitlines():
            if line.startswith("outside | "):
                parts = [part.strip() for part in line.split("|")][1:]
                if len(parts) != 4 or not any(parts[2].startswith(mark) for mark in MARKS):
                    sys.exit(f"{file}: not a check with a known mark: {line}")
                rows.add(tuple(parts))
    return sorted(rows, key=lambda row: [re.sub(r"\W", "", part).lower() for part in row])


def document(cases, rows):
    checks = sum(len(case["checks"]) for case in cases)
    text = [HEAD, "## Checks of the tests", "", f"{len(rows)} checks, all held.", "",
            "| what | held against | mark | result |", "| --- | --- | --- | --- |"]
    text += [f"| {' | '.join(row)} |" for row in rows]
    text += ["", "## Worked examples", "",
             f"{len(cases)} cases in `cases/published/`, {checks} numbers, all within tolerance: "
             "`countermass verify cases/published/*.yaml`.", ""]
    for case in cases:
        text += example(case)
    return "\n".join(text).rstrip() + "\n"


def main():
    write = "--write" in sys.argv
    program, *files = [a for a in sys.argv[1:] if a != "--write"]
    rows = gathered(files)
    if len(rows) < 10:
        sys.exit(f"only {len(rows)} checks told of themselves; give the outputs of a whole test run")
    new = document(worked_examples(str(pathlib.Path(program).resolve())), rows)
    old = DOCUMENT.read_text() if DOCUMENT.exists() else ""
    if write:
        DOCUMENT.write_text(new)
    elif new != old:
        gone, come = set(old.splitlines()) - set(new.splitlines()), set(new.splitlines()) - set(old.splitlines())
        print("\n".join([f"- {line}" for line in sorted(gone)[:10]] + [f"+ {line}" for line in sorted(come)[:10]]))
        sys.exit("docs/validation.md is not what this run shows; run: VALIDATION=--write sh tests/run.sh")
    print(f"validation: {len(rows)} checks of the tests and the worked examples stand in docs/validation.md")


if __name__ == "__main__":
    main()

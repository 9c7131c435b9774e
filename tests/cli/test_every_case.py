#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Every command on every right case, in every form: usage test_every_case.py PROGRAM

Nothing ends otherwise than with an answer, a no or a message; JSON and YAML say the same; pages keep to 80 columns.
"""
import json
import pathlib
import re
import subprocess
import sys
import yaml

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
PROGRAM = str(pathlib.Path(sys.argv[1]).resolve())
NUMBER = re.compile(r"^[-+]?(?:\d+\.?\d*(?:[eE][-+]?\d+)?)$")
OPTIONS = {"solve": ["--trade-off"], "planes": ["--at-most", "2"]}
faults = []


def check(good, what):
    if not good:
        faults.append(what)


def run(*arguments):
    done = subprocess.run([PROGRAM, *arguments], cwd=ROOT, capture_output=True, text=True)
    check(0 <= done.returncode <= 2, f"{arguments[:4]}: exit {done.returncode} {done.stderr[-200:]}")
    return done.stdout


def commands():
    overview = run("--help").split("countermass COMMAND --help")[0]
    for command in re.findall(r"^  ([a-z]+) +\S", overview, re.M):
        text = run(command, "--help")
        if "CASE ..." in text.splitlines()[0]:
            yield command, text


def plain(tree):
    """Numbers as texts: PyYAML reads 1e-05 as a text."""
    if isinstance(tree, dict):
        return {k: plain(v) for k, v in tree.items()}
    if isinstance(tree, list):
        return [plain(v) for v in tree]
    if isinstance(tree, (int, float)) and not isinstance(tree, bool) or isinstance(tree, str) and NUMBER.match(tree):
        return float(tree)
    return tree


def same_in_both(command, options, files):
    for text, document, file in zip(json.loads(run(command, "--format", "json", *options, *files)),
                                    yaml.load_all(run(command, "--format", "yaml", *options, *files), yaml.CSafeLoader),
                                    files):
        check(plain(text) == plain(document), f"{command} {file}: JSON and YAML differ")


def main():
    cases = [str(p.relative_to(ROOT)) for p in sorted((ROOT / "cases").glob("*/*.yaml"))
             if p.parent.name != "invalid" and not p.read_text().startswith("record:")]
    # of the many examples of one kind a few are enough
    files = [c for k, c in enumerate(cases) if "published" not in c or k % 5 == 0]
    tried = 0
    for command, text in commands():
        if command == "place":  # searches take their time
            own = [c for c in files if "sites" in (ROOT / c).read_text() or "groove" in (ROOT / c).read_text()]
            run(command, "--time", "5", *own)
            continue
        options = OPTIONS.get(command, [])
        tried += 1
        for line in run(command, *options, *files).splitlines():
            if "--output" not in line and not line.lstrip().startswith("<") and command != "report":
                check(len(line) <= 80 or " " not in line.strip(), f"{command}: a line of {len(line)}: {line[:60]}")
        if "--format" in text and command != "verify":
            same_in_both(command, options, files)
        if "--proof" in text:
            run(command, "--proof", "--format", "json", *files)
    check(tried >= 7, f"only {tried} commands")
    print("\n".join(faults[:40]) if faults else f"{tried} commands on {len(files)} cases")
    return 1 if faults else 0


sys.exit(main())

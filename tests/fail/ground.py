# SPDX-License-Identifier: MIT
"""What tests run over: the commands that the program lists itself, and few small cases that use every key."""
import glob
import os
import re
import subprocess

import yaml

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))


def features(node, path=""):
    """Every key with where it stands, and every word that chooses an objective or a standard."""
    found = set()
    if isinstance(node, dict):
        for key, value in node.items():
            known = re.fullmatch(r"[a-z_]+", str(key)) is not None
            place = path + "/" + (str(key) if known else "*")
            found.add(place)
            if key in ("minimise", "action") and isinstance(value, str):
                found.add(place + "=" + value)
            found |= features(value, place)
    elif isinstance(node, list):
        for value in node:
            found |= features(value, path)
    return found


def covering_cases():
    files = [name for folder in ("published", "demo", "tutorial", "examples") for name in
             glob.glob(os.path.join(ROOT, "cases", folder, "*.yaml"))]
    cases = []
    for name in files:
        with open(name, encoding="utf-8") as text:
            case = yaml.load(text, yaml.BaseLoader)
        if isinstance(case, dict) and "case" in case:
            cases.append((os.path.getsize(name), os.path.relpath(name, ROOT), features(case)))
    chosen, missing = [], set().union(*(case[2] for case in cases))
    while missing:
        size, name, _ = best = max(sorted(cases), key=lambda case: len(case[2] & missing) / (300 + case[0]))
        chosen.append((size, name))
        missing -= best[2]
    return [name for _, name in sorted(chosen)]


def help_of(program, *words):
    return subprocess.run([*program, *words], capture_output=True, text=True, timeout=60).stdout


def commands(program):
    """`program`: the words that start it."""
    return [name for name in re.findall(r"^  ([a-z]+) +\S", help_of(program, "--help"), re.M) if name != "countermass"]


def options_of(program, command):
    return set(re.findall(r"^  (--[a-z-]+)", help_of(program, command, "--help"), re.M))


def takes_cases(program, command):
    return "CASE" in help_of(program, command, "--help").split("\n")[0]

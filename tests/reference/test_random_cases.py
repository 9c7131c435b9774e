# SPDX-License-Identifier: MIT
"""The program against the second implementation, on random cases.

    /usr/bin/python3 tests/reference/test_random_cases.py PROGRAM [COUNT]

Compared to 1e-9 of the largest of its kind: influence coefficients, masses,
changes, readings before and after, value of the objective, condition numbers;
exactly: status, undetermined readings; and that dropping the readings the
program says to drop makes the case solvable.
"""
import json
import pathlib
import subprocess
import sys
import tempfile
import numpy as np
import oracle
import random_cases
from outside import outside

TOLERANCE = 1e-9
CALL = 50                      # cases per process


def run(program, command, files):
    """Results of one command over many files, in few processes."""
    results = []
    for k in range(0, len(files), CALL):
        part = files[k:k + CALL]
        done = subprocess.run([program, command, "--format", "json", *part], capture_output=True, text=True)
        if done.returncode not in (0, 1):
            print(f"exit {done.returncode}: {done.stderr[:2000]}")
        tree = json.loads(done.stdout)
        results += tree if isinstance(tree, list) else [tree]
    return results


class Comparison:
    """Collects what differs in one case."""

    def __init__(self, answer):
        self.answer, self.case, self.wrong = answer, answer["case"], []

    def near(self, what, found, expected, scale):
        if found is None or not abs(found - expected) <= TOLERANCE * scale:
            self.wrong.append(f"{what}: found {found}, expected {expected}")

    def reading(self, polar):
        if polar is None:
            return None
        sign = self.case.phase_sign
        return polar["amplitude"] * np.exp(1j * sign * np.radians(polar["phase"] or 0))

    def mass(self, entry, j):
        grams = entry["mass"] * oracle.MASS[self.case.mass_unit]
        return grams * self.case.turn(entry["angle"], j)

    def solve(self, tree):
        if tree.get("status") != self.answer["status"]:
            self.wrong.append(f"status {tree.get('status')}, expected {self.answer['status']} {tree.get('messages', '')}")
        elif tree["status"] == "optimal":
            self.masses(tree)
            self.predicted(tree)
            value = self.answer["value"]
            scale = np.linalg.norm(self.answer["weights"] * self.answer["y"])
            self.near("value", tree["objective"]["value"], value, max(value, scale))
            if tree["objective"]["gap"] > 1e-8:
                self.wrong.append(f"gap {tree['objective']['gap']}")
            self.conditions(tree["condition"])
        else:
            self.undetermined(tree)
        return self.wrong

    def masses(self, tree):
        case, x = self.case, self.answer["x"]
        scale = max(np.max(abs(x)), np.max(abs(self.answer["change"])))
        for j, (plane, entry) in enumerate(zip(case.planes, tree["corrections"], strict=True)):
            if entry["plane"] != plane:
                self.wrong.append(f"plane {entry['plane']} where {plane} is due")
            self.near(f"mass on {plane}", self.mass(entry, j), x[j], scale)
            self.near(f"change on {plane}", self.mass(entry["change"], j), self.answer["change"][j], scale)

    def predicted(self, tree):
        answer = self.answer
        for i, (row, entry) in enumerate(zip(self.case.rows, tree["predicted"], strict=True)):
            if (entry["speed"], entry["sensor"]) != row:
                self.wrong.append(f"row {entry['speed']} {entry['sensor']} where {row} is due")
            if not answer["told"][i]:
                if entry["after"] is not None:
                    self.wrong.append(f"{row}: a prediction where nothing is known")
                continue
            scale = max(abs(answer["before"][i]), abs(answer["after"][i]), abs(answer["y"][i]))
            scale = max(scale, np.max(abs(answer["fit"].a[i] * answer["x"])))
            self.near(f"{row} before", self.reading(entry["before"]), answer["before"][i], scale)
            self.near(f"{row} after", self.reading(entry["after"]), answer["after"][i], scale)

    def condition(self, what, found, expected):
        if expected is None or expected > 1e10:
            if found is not None and found < 1e10:
                self.wrong.append(f"{what}: found {found}, expected {expected}")
        else:
            self.near(what, found, expected, expected * max(1, expected / 1e4))

    def conditions(self, tree):
        self.condition("condition", tree["overall"], self.answer["condition"])
        for entry in tree["by_speed"]:
            expected = self.answer["by_speed"][entry["speed"]]
            self.condition(f"condition at {entry['speed']}", entry["value"], expected)

    def undetermined(self, tree):
        answer = self.answer
        expected = {self.case.rows[i] for i in range(len(self.case.rows))
                    if answer["weights"][i] > 0 and not answer["told"][i]}
        found = {(e["speed"], e["sensor"]) for e in tree["undetermined"]}
        if found != expected:
            self.wrong.append(f"undetermined {sorted(found)}, expected {sorted(expected)}")
        left = np.any((answer["weights"] > 0) & answer["told"])
        if bool(tree["drop_rows"]) != bool(left):
            self.wrong.append(f"drop_rows {tree['drop_rows']} although something would be left: {left}")
        dropped = {(d[1], d[0]) for d in tree["drop_rows"]}
        if left and not expected <= dropped:
            self.wrong.append(f"drop_rows {tree['drop_rows']} does not hold {sorted(expected - dropped)}")

    def influence(self, tree):
        case, fit = self.case, self.answer["fit"]
        by_place = {(e["speed"], e["sensor"], e["plane"]): e for e in tree["coefficients"]}
        for i, row in enumerate(case.rows):
            scale = np.max(abs(fit.a[i]))
            for j, plane in enumerate(case.planes):
                entry = by_place.get((*row, plane))
                if entry is None:
                    self.wrong.append(f"no coefficient {row} {plane}")
                elif not self.answer["known"][i, j]:
                    if entry["value"] is not None:
                        self.wrong.append(f"{row} {plane}: a coefficient that nothing tells")
                else:
                    value = self.reading(entry["value"])
                    if value is not None:
                        value = value / oracle.MASS[case.mass_unit] / case.turn(0, j)
                    self.near(f"coefficient {row} {plane}", value, fit.a[i, j], scale)
        return self.wrong


def main():
    program, count = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 300
    texts = [random_cases.make(seed) for seed in range(count)]
    with tempfile.TemporaryDirectory() as folder:
        files = []
        for seed, text in enumerate(texts):
            files.append(str(pathlib.Path(folder) / f"{seed}.yaml"))
            pathlib.Path(files[-1]).write_text(text)
        solved, told = run(program, "solve", files), run(program, "influence", files)
    failed = 0
    for seed, text in enumerate(texts):
        answer = oracle.solve(text)
        wrong = Comparison(answer).solve(solved[seed]) + Comparison(answer).influence(told[seed])
        if wrong:
            failed += 1
            print(f"seed {seed} ({random_cases.Maker(seed).plan}): " + "\n    ".join(wrong[:6]))
    print(f"random cases against numpy: {count - failed} passed, {failed} failed")
    if failed == 0 and count == 300:
        outside("influence, masses, changes, readings before and after, value, condition of random case files",
                "second implementation by numpy, written from the definition of the case file", "reference library",
                "300 cases in all conventions to 1e-9; status and undetermined readings alike")
    return 1 if failed or count < 200 else 0


if __name__ == "__main__":
    sys.exit(main())

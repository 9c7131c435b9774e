# SPDX-License-Identifier: MIT
"""Influence records as a user meets them. Constructed cases.  usage: test_records.py [PROGRAM]"""
import json
import os
import subprocess
import sys
import tempfile
import unittest

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.path.join(ROOT, "build", "countermass")
PARTS = """case: {format: 1}
conventions: {phase: %s, mass_angle: %s}
units: {mass: %s, length: %s, vibration: %s}
speeds: [{id: s, speed: 3000}]
sensors: [{id: A, repeatability: 1 um pp}, {id: B, repeatability: 1 um pp}]
planes: [{id: P1, radius: 260 mm}, {id: P2, radius: %s mm, zero: %s}]
runs:
  - {id: r0, readings: {s: {A: 82 um pp @ %s, B: 61 um pp @ %s}}}
"""
TRIALS = """  - {id: r1, masses: [{plane: P1, mass: 80 g, angle: 0}], readings: {s: {A: 50 um pp @ 100, B: 50 um pp @ 200}}}
  - {id: r2, masses: [{plane: P2, mass: 80 g, angle: 0}], readings: {s: {A: 70 um pp @ 160, B: 90 um pp @ 250}}}
"""


def parts(lag=True, against=True, units=("g", "mm", "um pp"), radius="260"):
    turn = 1 if lag else -1
    return PARTS % ("lag" if lag else "lead", "against-rotation" if against else "with-rotation", *units, radius,
                    30 if against else -30, turn * 143, turn * 220)


class Records(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.write("a.yaml", parts() + TRIALS)
        self.run_program("influence", "--record", self.path("r.yaml"), self.path("a.yaml"))

    def path(self, name):
        return os.path.join(self.folder.name, name)

    def write(self, name, text):
        os.makedirs(os.path.dirname(self.path(name)), exist_ok=True)
        with open(self.path(name), "w", encoding="utf-8") as file:
            file.write(text)

    def run_program(self, *words, status=0):
        done = subprocess.run([PROGRAM, *words], capture_output=True, text=True, check=False)
        self.assertEqual(done.returncode, status, done.stderr)
        return done.stdout if status == 0 else done.stderr

    def read(self, name):
        with open(self.path(name), encoding="utf-8") as file:
            return file.read()

    def masses(self, text):
        self.write("b.yaml", text)
        answer = json.loads(self.run_program("solve", "--format", "json", self.path("b.yaml")))
        return [(c["mass"], c["angle"]) for c in answer["corrections"]]

    def test_no_trial_run_in_any_convention_and_unit(self):
        want = self.masses(parts() + "influence: [{record: r.yaml}]\n")
        for lag in (True, False):
            for against in (True, False):
                for units, factor in ((("g", "mm", "um pp"), 1), (("oz", "in", "mil pp"), 28.349523125)):
                    got = self.masses(parts(lag, against, units) + "influence: [{record: r.yaml}]\n")
                    for (m, a), (n, b) in zip(got, want):
                        self.assertAlmostEqual(m * factor / n, 1, delta=1e-12)
                        off = (a - (b if against else -b) + 180) % 360 - 180
                        self.assertAlmostEqual(off, 0, delta=1e-10)

    def test_radius_is_converted(self):
        near = self.masses(parts() + "influence: [{record: r.yaml}]\n")
        far = self.masses(parts(radius="520") + "influence: [{record: r.yaml}]\n")
        self.assertAlmostEqual(far[1][0] * 2 / near[1][0], 1, delta=1e-12)
        self.assertAlmostEqual(far[0][0] / near[0][0], 1, delta=1e-12)

    def test_same_bytes_again(self):
        before = self.read("r.yaml")
        self.run_program("influence", "--record", self.path("r.yaml"), self.path("a.yaml"))
        self.assertEqual(self.read("r.yaml"), before)

    def test_outside_only_by_the_command_line(self):
        self.write("sub/b.yaml", parts() + "influence: [{record: r.yaml}]\n")
        os.symlink(self.path("r.yaml"), self.path("sub/r.yaml"))
        self.assertIn("outside the folder", self.run_program("solve", self.path("sub/b.yaml"), status=2))
        os.remove(self.path("sub/r.yaml"))
        self.run_program("solve", "--record-from", self.path("r.yaml"), self.path("sub/b.yaml"))

    def test_nonsense_by_hand(self):
        good = self.read("r.yaml")
        changes = [("uncertainty: 0.01767766952966369", "uncertainty: 0.5", "one of them was changed"),
                   ("uncertainty: 0.01767766952966369", "uncertainty: -1", "above 0"),
                   ("uncertainty: 0.01767766952966369", "uncertainty: .nan", "finite"),
                   ("    uncertainty: 0.01767766952966369\n", "", "has no 'uncertainty'"),
                   ("  - plane: P2", "  - plane: P1", "already given"),
                   ("record: {format: 1}\n", "", "'record' is missing"),
                   ("radius: 260, zero: 0", "zero: 0", "has no radius"),
                   ("unit: um pp", "unit: mm/s rms", "never converted")]
        for old, new, words in changes:
            self.assertIn(old, good)
            self.write("r.yaml", good.replace(old, new, 1))
            self.write("b.yaml", parts() + "influence: [{record: r.yaml}]\n")
            said = self.run_program("solve", self.path("b.yaml"), status=2)
            self.assertIn(words, said)
            self.assertRegex(said, r"r\.yaml:\d+:\d+: ")

    def test_failed_write_leaves_the_old_file(self):
        self.run_program("influence", "--record", self.path("no/such/r.yaml"), self.path("a.yaml"), status=3)
        before = self.read("r.yaml")
        self.write("bad.yaml", "case: {format: 1}\n")
        self.run_program("influence", "--record", self.path("r.yaml"), self.path("bad.yaml"), status=2)
        self.assertEqual(self.read("r.yaml"), before)
        self.assertEqual(sorted(os.listdir(self.folder.name)), ["a.yaml", "bad.yaml", "r.yaml"])


if __name__ == "__main__":
    if len(sys.argv) > 1:
        PROGRAM = os.path.abspath(sys.argv.pop(1))
    unittest.main()

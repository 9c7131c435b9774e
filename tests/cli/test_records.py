# SPDX-License-Identifier: MIT
"""Influence records as a user meets them. Constructed cases.  usage: test_records.py [PROGRAM]"""
import cmath
import json
import math
import os
import re
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
        own = re.search(r"uncertainty: \S+", good)[0]  # the last digits belong to the processor
        changes = [(own, "uncertainty: 0.5", "one of them was changed"),
                   (own, "uncertainty: -1", "above 0"),
                   (own, "uncertainty: .nan", "finite"),
                   (f"    {own}\n", "", "has no 'uncertainty'"),
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

    def test_record_of_another_machine(self):
        """What differs between record and case is refused at its line of the record, with both figures."""
        case = parts().replace("{id: A, repe", "{id: A, kind: housing, angle: 0, repe").replace(
            "against-rotation}", "against-rotation, rotation: clockwise, seen_from: drive end}")
        self.write("a.yaml", case + TRIALS)
        self.run_program("influence", "--record", self.path("r.yaml"), self.path("a.yaml"))
        naming = case + "influence: [{record: r.yaml}]\n"
        good = self.read("r.yaml")
        own, speed = re.search(r"uncertainty: \S+", good)[0], re.search(r"speed: [0-9.]+", good)[0]
        # which file is changed, how; where the message points; what it says
        table = [("record", "rotation: clockwise", "rotation: counter-clockwise", r"r\.yaml:1:1", "a rotor that turns the other way"),
                 ("record", speed, "speed: 3040", r"r\.yaml:5:10", "is 3040 rpm, the case's is 3000 rpm: they differ by "
                  "more than 1 %"),
                 ("record", "kind: housing", "kind: shaft-absolute", r"r\.yaml:6:11", "'A' is of another kind than the case's"),
                 ("record", "angle: 0, kind", "angle: 2, kind", r"r\.yaml:6:11", "'A' sits at another angle than the case's"),
                 ("case", "{id: P1, radius: 260 mm}", "{id: P1}", r"r\.yaml:7:10", "has a radius of 260 mm, the case's has none; give the "
                  "case's plane its radius"),
                 ("case", "influence: [{record: r.yaml}]", "influence: [{record: r.yaml}, {record: r.yaml}]", r"b\.yaml:\d+:\d+",
                  "is already named at line 9; it would count twice"),
                 ("record", "id: s,", "id: t,", r"b\.yaml:9:\d+", "has no coefficient for a plane, speed and sensor of this case"),
                 ("record", f"speeds: [{{id: s, {speed}}}]", "speeds: [{id: s}]", r"r\.yaml:5:10", "the key 'speed' is missing"),
                 ("record", f"    {own}\n", f"    {own}\n    exact: true\n",
                  r"r\.yaml:\d+:\d+", "is said to be exact; keep one of them"),
                 ("record", "      P1: [", "      P1: [1 @ 0, 1 @ 0, ", r"r\.yaml:\d+:\d+", "a line of the factor has 1 to 3 entries, not 4"),
                 ("record", '      P1: ["', '      P3: ["', r"r\.yaml:\d+:\d+", "P3"),
                 ("record", "covariance:\n", "covariance:\n  - {speed: s, sensor: A, factor: {P1: [0.017677669529663695 @ 0]}}\n",
                  r"r\.yaml:\d+:\d+", "the covariance of this speed and sensor is already given at line"),
                 ("record", "covariance:\n", "covariance:\n  - {speed: s, sensor: C, factor: {P1: [1 @ 0]}}\n", r"r\.yaml:\d+:\d+", "C")]
        for which, old, new, place, message in table:
            text = {"record": good, "case": naming}
            self.assertIn(old, text[which])
            # an id is another one everywhere in the file
            text[which] = text[which].replace(old, new, 1).replace("speed: s\n", "speed: t\n" if "id: t" in new else "speed: s\n")
            self.write("r.yaml", text["record"])
            self.write("b.yaml", text["case"])
            said = self.run_program("solve", self.path("b.yaml"), status=2)
            self.assertRegex(said, f"{place}: ", new)
            self.assertIn(message, said)
        self.write("r.yaml", good)
        # seen from elsewhere, the same rotor turns the other way; a degree is no other place
        for old, new in (("rotation: clockwise, seen_from: drive end", "rotation: counter-clockwise, seen_from: free end"),
                         ("angle: 0, kind", "angle: 359.5, kind")):
            self.write("r.yaml", good.replace(old, new, 1))
            self.write("b.yaml", naming)
            self.run_program("solve", self.path("b.yaml"))

    def test_part_of_a_record(self):
        """A case may have fewer planes, sensors and speeds: what it lacks is named, what it has is used."""
        case = parts().replace(", {id: P2, radius: 260 mm, zero: 30}", "").replace(", {id: B, repeatability: 1 um pp}", "")
        case = case.replace(", B: 61 um pp @ 220", "") + "influence: [{record: r.yaml}]\n"
        self.write("b.yaml", case)
        done = subprocess.run([PROGRAM, "solve", "--format", "json", self.path("b.yaml")], capture_output=True, text=True, check=True)
        self.assertIn("the case does not have these sensors of the record: B", done.stderr)
        self.assertIn("the case does not have these planes of the record: P2", done.stderr)
        # 82 @ 143 against what 80 g at 0 did, 50 @ 100 - 82 @ 143: one plane quiets one reading
        change = cmath.rect(50, math.radians(100)) - cmath.rect(82, math.radians(143))
        mass = -cmath.rect(82, math.radians(143)) / (change / 80)
        found = json.loads(done.stdout)["corrections"][0]
        self.assertAlmostEqual(found["mass"], abs(mass), places=9)
        # phases are lags and masses count against rotation: both turn the same way
        self.assertAlmostEqual((found["angle"] - math.degrees(cmath.phase(mass)) + 180) % 360 - 180, 0, places=9)

    def test_exact_and_shared_coefficients(self):
        known = ("influence: [{plane: P1, speed: s, sensor: A, value: 0.7 @ 10}, {plane: P1, speed: s, sensor: B, value: 1.4 @ 20}, "
                 "{plane: P2, speed: s, sensor: A, value: 0.3 @ 30, uncertainty: {size: 10 %, phase: 0, common: 0.7}}, "
                 "{plane: P2, speed: s, sensor: B, value: 1.7 @ 40, uncertainty: {size: 10 %, phase: 0, common: 0.7}}]\n")
        self.write("a.yaml", parts() + known)
        self.run_program("influence", "--record", self.path("r.yaml"), self.path("a.yaml"))
        record = self.read("r.yaml")
        self.assertEqual((record.count("exact: true"), len(re.findall(r"common: 0\.(7|6999)", record))), (2, 2))
        for told, given in zip(self.masses(parts() + "influence: [{record: r.yaml}]\n"), self.masses(parts() + known)):
            for a, b in zip(told, given):
                self.assertAlmostEqual(a / b, 1, delta=1e-12)

    def test_records_of_sets(self):
        """A set of the record serves when the case's has the same planes in the same ratios; units may differ."""
        sets = "sets: [{id: pair, of: {P1: 1 @ 0, P2: 1 @ 180}}]\n"
        trial = ("  - {id: r1, masses: [{plane: pair, mass: 60 g, angle: 20}], readings: {s: {A: 50 um pp @ 100, "
                 "B: 50 um pp @ 200}}}\nnow: {masses: []}\n")
        objective = "objective: {use_planes: [pair]}\n"
        self.write("a.yaml", parts().replace("runs:", sets + "runs:") + trial)
        self.run_program("influence", "--record", self.path("r.yaml"), self.path("a.yaml"))

        def solved(of, status=0):
            text = parts().replace("runs:", f"sets: [{{id: pair, of: {of}}}]\nruns:") + "influence: [{record: r.yaml}]\n" + objective
            self.write("b.yaml", text)
            done = self.run_program("solve", "--format", "json", self.path("b.yaml"), status=status)
            return [c["mass"] for c in json.loads(done)["corrections"]] if status == 0 else done
        same = solved("{P1: 1 @ 0, P2: 1 @ 180}")
        for a, b in zip(solved("{P1: 2 @ 30, P2: 2 @ 210}"), same):  # the same pattern in other units
            self.assertAlmostEqual(a / b, 1, delta=1e-9)
        for other in ("{P1: 1 @ 0, P2: 1 @ 0}", "{P1: 1 @ 0, P2: 2 @ 180}", "{P1: 1 @ 0}"):
            self.assertIn("has no coefficient for a plane, speed and sensor of this case", solved(other, 2))

    def test_planes_without_radius(self):
        """Where neither names a radius the masses are taken as they are."""
        def bare(text):
            return text.replace(", radius: 260 mm", "").replace("radius: 260 mm, ", "")
        self.write("a.yaml", bare(parts() + TRIALS))
        self.run_program("influence", "--record", self.path("r.yaml"), self.path("a.yaml"))
        with_trials = self.masses(bare(parts() + TRIALS) + "now: {masses: []}\nobjective: {base: r0}\n")
        for told, given in zip(self.masses(bare(parts()) + "influence: [{record: r.yaml}]\n"), with_trials):
            for a, b in zip(told, given):
                self.assertAlmostEqual(a / b, 1, delta=1e-9)

    def test_several_records_are_pooled(self):
        """Random effects (DerSimonian & Laird) by hand over what the records say, for every coefficient."""
        told, names = [], ("r1.yaml", "r2.yaml", "r3.yaml")
        for name, change in zip(names, ("A: 50 um pp @ 100", "A: 51 um pp @ 101", "A: 40 um pp @ 90")):
            self.write("a.yaml", parts() + TRIALS.replace("A: 50 um pp @ 100", change))
            self.run_program("influence", "--record", self.path(name), self.path("a.yaml"))
            entries = re.findall(r"- plane: (\S+)\n +speed: s\n +sensor: (\S+)\n +value: \"(\S+) @ (\S+)\"\n +uncertainty: (\S+)", self.read(name))
            told.append({(plane, sensor): (cmath.rect(float(a), math.radians(float(t))), float(u))
                         for plane, sensor, a, t, u in entries})
        for use in (names[:2], names):
            self.write("b.yaml", parts() + "influence: [" + ", ".join(f"{{record: {n}}}" for n in use) + "]\n")
            found = json.loads(self.run_program("influence", "--format", "json", self.path("b.yaml")))["coefficients"]
            self.assertEqual(len(found), 4)
            self.assertIn("2 planes, 4 known coefficients", self.run_program("check", self.path("b.yaml")))
            for c in found:
                values = [record[c["plane"], c["sensor"]] for record in told[:len(use)]]
                w = [1 / u**2 for _, u in values]
                mean = sum(a * y for a, (y, _) in zip(w, values)) / sum(w)
                q = sum(a * abs(y - mean)**2 for a, (y, _) in zip(w, values))
                between = max(0, (q - (len(w) - 1)) / (sum(w) - sum(a * a for a in w) / sum(w)))
                w = [1 / (u**2 + between) for _, u in values]
                mean = sum(a * y for a, (y, _) in zip(w, values)) / sum(w)
                got = cmath.rect(c["value"]["amplitude"], math.radians(c["value"]["phase"]))
                self.assertAlmostEqual(abs(got - mean) / abs(mean), 0, delta=1e-12)
                self.assertAlmostEqual(c["std"] / math.sqrt(between + 1 / sum(w)), 1, delta=1e-9)

    def test_nothing_to_record(self):
        self.write("a.yaml", parts())
        before = self.read("r.yaml")
        said = self.run_program("influence", "--record", self.path("r.yaml"), self.path("a.yaml"), status=2)
        self.assertRegex(said, r"a\.yaml:1:1: the runs determine no coefficient by itself: there is nothing to record")
        self.assertEqual(self.read("r.yaml"), before)

    def test_rounding_is_written_as_nothing(self):
        """Masses at right angles leave crumbs of 1e-35 in the factor, priors in common crumbs of 1e-47 in the shares; they
        are no numbers that a case may hold."""
        factor = """case: {format: 1}
conventions: {phase: lag, mass_angle: against-rotation}
speeds: [{id: s, speed: 1490}]
sensors: [{id: A, repeatability: 0.06}, {id: B, repeatability: 2}]
planes: [{id: P0}, {id: P1}, {id: P2}, {id: P3}, {id: P4}]
runs:
"""
        reading = "readings: {s: {A: 5.5 @ 90, B: 71 @ 10}}}\n"
        shared = factor.replace("runs:", "influence:\n" + "".join(
            f"  - {{plane: P{j}, speed: s, sensor: {s}, value: {1 + j / 7} @ {50 * j}, uncertainty: {{size: 30 %, phase: 10, "
            "common: 0.7}}\n" for j in range(5) for s in "AB") + "runs:")
        tried = 0
        for head in (factor, shared):
            for k in range(40):
                masses = [(20 + 10 * ((k * 7 + j * 3) % 9), (0, 90, 180, 270, 30, 45)[(k * 5 + j * k) % 6]) for j in range(4)]
                text = head + "  - {id: r, " + reading + "".join(
                    f"  - {{id: r{j}, masses: [{{plane: P{j}, mass: {m}, angle: {a}}}], {reading}" for j, (m, a) in enumerate(masses))
                self.write("a.yaml", text)
                self.run_program("influence", "--record", self.path("r.yaml"), self.path("a.yaml"))
                tried += 1
        self.assertEqual(tried, 80)

    def test_the_page_comes_though_the_record_fails(self):
        """A spread of 1e-29 / 80 is no number that a record may hold; the coefficients themselves are."""
        self.write("a.yaml", (parts() + TRIALS).replace("repeatability: 1 um", "repeatability: 1e-29 um"))
        before = self.read("r.yaml")
        page = subprocess.run([PROGRAM, "influence", self.path("a.yaml")], capture_output=True, text=True, check=True).stdout
        for more in ([], ["--output", self.path("page")]):
            done = subprocess.run([PROGRAM, "influence", "--record", self.path("r.yaml"), *more, self.path("a.yaml")],
                                  capture_output=True, text=True)
            self.assertEqual(done.returncode, 3)
            self.assertIn("the record could not be read back", done.stderr)
            self.assertEqual(self.read("page") if more else done.stdout, page)
            self.assertEqual(self.read("r.yaml"), before)

    def test_a_record_replaces_records_only(self):
        case = self.read("a.yaml")
        self.write("other.yaml", case)
        for name, text in (("other.yaml", case), ("notes", "what was there before\n"), ("bytes", "\x01record:")):
            self.write(name, text)
            said = self.run_program("influence", "--record", self.path(name), self.path("a.yaml"), status=2)
            self.assertEqual(said, f"{self.path(name)}: already exists and is not a record: --record would overwrite it; choose "
                             "another name\n")
            self.assertEqual(self.read(name), text)
        record = self.read("r.yaml")
        for text in ("", "# of the spring\n" + record, record):  # nothing to lose; a record
            self.write("r.yaml", text)
            self.run_program("influence", "--record", self.path("r.yaml"), self.path("a.yaml"))
            self.assertEqual(self.read("r.yaml"), record)

    def test_one_case_a_record(self):
        said = self.run_program("influence", "--record", self.path("r.yaml"), self.path("a.yaml"), self.path("a.yaml"), status=2)
        self.assertIn("--record takes one CASE, not 2", said)

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

# SPDX-License-Identifier: MIT
"""What a page says in cases that are rare. Each row: what is asked, of which case, its exit status and its words;
figures in the words are worked out beside the row.  usage: test_rare.py [PROGRAM]
"""
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

HEAD = "case: {format: 1, title: t}\nconventions: {phase: lag, mass_angle: against-rotation}\n"
SPEED = "speeds: [{id: s, speed: 3000}]\n"
SENSORS = "sensors: [{id: A, repeatability: 1}, {id: B, repeatability: 1}]\n"
PLANES = "planes: [{id: P1, radius: 200}, {id: P2, radius: 200}]\n"
FOUND = "  - {id: r0, readings: {s: {A: 40 @ 0, B: 30 @ 90}}}\n"
# P1 moves A by 0.2 a gram, P2 moves B by 0.2 a gram, at the same angle; neither moves the other
FIRST = "  - {id: r1, masses: [{plane: P1, mass: 50, angle: 0}], readings: {s: {A: 50 @ 0, B: 30 @ 90}}}\n"
SECOND = "  - {id: r2, masses: [{plane: P2, mass: 50, angle: 0}], readings: {s: {A: 40 @ 0, B: 31.6227766 @ 71.5650512}}}\n"
TRIALS = "runs:\n" + FOUND + FIRST + SECOND
KNOWN = ("influence:\n" + "".join(f"  - {{plane: {p}, speed: s, sensor: {s}, value: {v} @ 0, uncertainty: 0.01}}\n"
                                  for p, s, v in (("P1", "A", 0.2), ("P1", "B", 0.02), ("P2", "A", 0.02), ("P2", "B", 0.2))))


TINY = """case: {format: 1, title: tiny masses}
conventions: {phase: lead, mass_angle: with-rotation}
units: {mass: oz, vibration: um pp}
speeds:
  - {id: v0, speed: 1000, load: 9 MW}
  - {id: v1, speed: 1500, weight: 1.052947019428043}
  - {id: v2, speed: 1000, coefficients_of: v0, load: 3 MW, weight: 0.14840083378527602}
sensors:
  - {id: S0, limit: 526293740.49145085, repeatability: 12113016.918668715}
planes:
  - {id: P0, radius: 200, cap: 2.943381745920699e-10}
  - {id: P1, radius: 210}
  - {id: P2, radius: 220, cap: 2.5913354638282904e-08}
  - {id: P3, radius: 230, change_cap: 7.543862930048841e-08}
runs:
  - {id: r0, masses: [], readings: {v0: {S0: 325469671.3006355 @ 165.44096219302915}, v1: {S0: 61762961.407814465 @ -77.41715004130897}, v2: {S0: [462944120.82552725 @ -24.777755582410858, 462921048.6399406 @ -24.78063219239533]}}}
  - {id: r1, masses: [{plane: P0, mass: 9.609178132927775e-11, angle: -168.9690523249886}, {plane: P1, mass: 2.6657642100793084e-08, angle: 11.030947675011383}], readings: {v0: {S0: 152856671.6234857 @ 125.99042622611833}}}
  - {id: r2, masses: [{plane: P0, mass: 2.7959103336479315e-10, angle: -38.099533909634616}, {plane: P3, mass: 6.023721762285562e-08, angle: -38.099533909634616}], readings: {v0: {S0: 476970390.51262814 @ 135.29776128078657}, v1: {S0: 97487138.04348995 @ 18.848692020408414}, v2: {S0: 400925307.72860974 @ 8.563827566861509}}}
  - {id: r3, masses: [{plane: P2, mass: 1.1480750578316405e-08, angle: 151.25695982897076}, {plane: P3, mass: 2.1254698971120731e-07, angle: 151.25695982897076}], readings: {v0: {S0: 1031422125.4434388 @ -157.86160969209857}, v1: {S0: 475918945.3226185 @ 109.41493160927979}, v2: {S0: 699991202.1873769 @ -108.31629431453752}}}
  - {id: r4, masses: [{plane: P1, mass: 5.597040407296644e-08, angle: -27.439002790875417}, {plane: P2, mass: 9.39160747115848e-09, angle: -27.439002790875417}], readings: {v0: {S0: 569348996.7703875 @ 133.8256809978604}, v1: {S0: 494080597.99200475 @ -170.9124261996522}, v2: {S0: 366816683.02699715 @ 21.575229138708213}}}
  - {id: r5, masses: [{plane: P2, mass: 1.1480750578316405e-08, angle: 151.25695982897076}, {plane: P3, mass: 2.1254698971120731e-07, angle: 151.25695982897076}], readings: {v1: {S0: 475901088.6513056 @ 109.41886421450457}, v2: {S0: 699965552.3476812 @ -108.31695378560579}}}
  - {id: r6, masses: [{plane: P0, mass: 9.609178132927775e-11, angle: -168.9690523249886}, {plane: P1, mass: 2.6657642100793084e-08, angle: 11.030947675011383}], readings: {v0: {S0: 152910502.95523036 @ 125.98168631681821}, v1: {S0: 210923955.29792908 @ -125.61924601841805}, v2: {S0: 663280540.6127127 @ -13.257286055563055}}}
objective:
  minimise: least-squares
  use_planes: [P0, P2, P3]
  fixed: {P2: 4.032358498884088e-09 @ -83.01893066252545}
  ties: [{terms: {P0: 1 @ 0, P3: 0.004641499796941298 @ 0.0}, equals: 0 @ 0}]
  drift: linear
"""


def words(text):
    return " ".join(text.split())


class Rare(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)

    def test_masses_of_micrograms_leave_nothing_open(self):
        """Masses of 1e-11 to 1e-7 oz and a speed read in six runs, with drift: numpy's least singular value of their design,
        columns of norm 1, is 0.028 of the largest, so that every coefficient of v1 is told; rounding once said otherwise."""
        told = [c["plane"] for c in json.loads(self.run_on("influence", TINY, "--format", "json").stdout)["coefficients"]
                if c["speed"] == "v1" and c["value"]]
        self.assertEqual(told, ["P0", "P1", "P2", "P3"])

    def run_on(self, command, text, *options):
        path = os.path.join(self.folder.name, "case.yaml")
        with open(path, "w", encoding="utf-8") as out:
            out.write(text)
        return subprocess.run([PROGRAM, command, *options, path], capture_output=True, text=True, timeout=60)

    def write_sweep(self, speeds):
        """up.csv: sensor A of run r0 over one mode at 1800 r/min with a damping ratio of 0.05."""
        lines = ["run,speed,sensor,amplitude,phase"]
        for rpm in speeds:
            value = 20 * rpm**2 / complex(1800**2 - rpm**2, 2 * 0.05 * 1800 * rpm)
            lines.append(f"r0,{rpm},A,{abs(value)!r},{-math.degrees(math.atan2(value.imag, value.real))!r}")
        with open(os.path.join(self.folder.name, "up.csv"), "w", encoding="utf-8") as table:
            table.write("\n".join(lines) + "\n")

    def says(self, command, text, status, *phrases, without=()):
        asked = command.split()
        done = self.run_on(asked[0], text, *asked[1:])
        self.assertEqual(done.returncode, status, f"{command}: {done.stderr}\n{done.stdout[:3000]}\n{text}")
        page = words(done.stdout)
        for phrase in phrases:
            self.assertIn(phrase, page)
        for phrase in without:
            self.assertNotIn(phrase, page)
        return done.stdout


class Check(Rare):
    def test_run_so_far(self):
        # the run's masses are known to make -20 of A: 40 - 20 = 20
        good = "  - {id: r1, masses: [{plane: P1, mass: 100, angle: 180}], readings: {s: {A: 20.5 @ 0, B: 28.2 @ 94}}}\n"
        text = HEAD + SPEED + SENSORS + PLANES + "runs:\n" + FOUND + good + KNOWN
        self.says("check --so-far", text, 0, "The run on its way up: go on.", "Go on: what r1 has read so far is what "
                  "the masses let expect (2 readings; chance ", without=("Stop:",))
        self.says("check --so-far", text[:text.index("influence:")], 1, "The runs before do not tell what r1 should read "
                  "at these speeds: no verdict.", "The run on its way up: no verdict, the runs before do not tell it.")
        self.says("check --so-far", text.replace("A: 20.5 @ 0", "A: 60 @ 0"), 1, "STOP, see below", "Stop: what r1 has read")

    def test_left_out_and_so_far(self):
        # nothing is left to judge; the reason is the case's own, on the page and in the result
        text = HEAD + SPEED + SENSORS + PLANES + "runs:\n" + FOUND.replace("{id: r0", "{id: r0, leave_out: {because: wrong cable}")
        self.says("check", text, 0, "All its readings are left out, so there is no evidence to judge.",
                  "all-left-out (run r0): All that was read in run r0 is left out (wrong cable)", "2 left out",
                  without=("no readings yet",))
        done = self.run_on("solve", text)
        self.assertEqual((done.returncode, done.stdout), (2, ""))
        self.assertIn(":7:5: no reading is left to work with: 'leave_out' takes away all that run 'r0' read (wrong cable)",
                      done.stderr)
        last = "  - {id: up, leave_out: {because: probe loose}, masses: [{plane: P1, mass: 10, angle: 0}], readings: {s: {A: 1 @ 0}}}\n"
        text = HEAD + SPEED + SENSORS + PLANES + TRIALS
        self.says("check --so-far", text + last, 0, "The run on its way up: no verdict, its readings are left out: probe loose.",
                  "No verdict on up: its readings are left out: probe loose.", without=("The runs before do not tell",))
        for run, why in ((last, "its readings are left out: probe loose"),
                         (last.replace("leave_out: {because: probe loose}", "weight: 0"), "its weight is 0, so its readings are not used"),
                         ("  - {id: up, masses: []}\n", "it has no readings yet")):
            tree = json.loads(self.run_on("check", text + run, "--so-far", "--format", "json").stdout)
            self.assertEqual((tree["so_far"]["verdict"], tree["so_far"]["why_untold"]), ("untold", why))

    def test_masses_that_stay(self):
        weld = "  - {id: t1, masses: [{plane: P1, mass: 25, angle: 0, stays: true}], readings: {s: {A: 50 @ 0, B: 30 @ 90}}}\n"
        head = HEAD + SPEED + SENSORS + PLANES + "runs:\n" + FOUND + weld
        missing = "staying-mass-missing (run t2, P1): 25 g stays on P1 since run t1, but run t2 does not list it"

        def later(masses, more=""):
            return head + f"  - {{id: t2, {masses}readings: {{s: {{A: 41 @ 0, B: 31 @ 90}}}}}}\n" + more
        entry = "{plane: P1, mass: 25, angle: 0}"
        for masses in ("", "masses: [], ", "masses: [{plane: P2, mass: 25, angle: 0}], ", "masses: [{plane: P1, mass: 25, angle: 9}], "):
            self.says("check", later(masses), self.run_on("check", later(masses)).returncode, missing)
        for masses in ("after: t1, ", "added: [{plane: P2, mass: 9, angle: 0}], ", f"masses: [{entry}], ",
                       f"masses: [{{plane: P1, mass: 40, angle: 70}}, {entry}], ",  # the same mass is still listed
                       "masses: [{plane: P1, mass: 10, angle: 0}, {plane: P1, mass: 15, angle: 0}], ",  # 10 + 15 = 25
                       "after: t1, added: [{plane: P1, mass: -25, angle: 0}], "):  # taken off, and said so
            tree = json.loads(self.run_on("check", later(masses), "--format", "json").stdout)
            self.assertNotIn("staying-mass-missing", [f["code"] for f in tree["findings"]], masses)
        text = later("after: t1, ", "now: {masses: []}\n")
        tree = json.loads(self.run_on("check", text, "--format", "json").stdout)
        told = [f for f in tree["findings"] if f["code"] == "staying-mass-missing"]
        self.assertEqual([(f.get("run"), f["plane"], f["severity"]) for f in told], [(None, "P1", "warning")])
        self.assertIn("but `now` does not list it", told[0]["message"])

    def test_drift_and_groups_that_take_up_a_run(self):
        # two runs tell one plane; a slope or a level more than that needs a third
        text = HEAD + SPEED + SENSORS + "planes: [{id: P1, radius: 200}]\nruns:\n" + FOUND + FIRST
        drift = text + "objective: {drift: linear}\n"
        group = text.replace("{id: r1", "{id: r1, group: hot")
        self.says("solve", text, 0)
        self.says("solve", drift, 1, "2 sensors at s (A, B): the runs do not tell how they answer to P1, because the drift takes up a run; "
                  "with objective: {drift: none} they would.", "1 more run would settle it")
        self.says("check", drift, 1, "how A at s answers to P1. The drift takes up a run: with `objective: {drift: none}` they would")
        self.says("solve", group, 1, "because every `group` takes up a run for its own reference level",
                  without=("because the drift",))
        # of a drift and a level more, either alone is one too many for two runs, and of three runs both together are
        both = "objective: {drift: linear}\n"
        self.says("solve", group + both, 1, "because the drift and every `group` take up a run each; without them they would")
        third = group + "  - {id: r2, group: hot, readings: {s: {A: 41 @ 0, B: 31 @ 90}}}\n"
        self.says("solve", third, 0)
        self.says("solve", third + both, 1, "because the drift takes up a run", without=("`group` take",))
        two = HEAD + SPEED + SENSORS + PLANES + "runs:\n" + FOUND + FIRST + "objective: {drift: linear}\n"
        self.says("solve", two, 1, "how they answer to P1 and P2.", without=("because",))  # P2 was never tried

    def drifting(self, times, drift="linear"):
        """P1 as found, tried and taken off, read again: everything creeps by 6 on A from the first run to the last. `times`
        are what the runs say of themselves."""
        runs = ((0, 40, ""), (50, 52, "{plane: P1, mass: 50, angle: 0}"), (0, 46, ""))
        return (HEAD + SPEED + SENSORS + "planes: [{id: P1, radius: 200}]\nobjective: {drift: " + drift + "}\nruns:\n" + "".join(
            f"  - {{id: r{k}, {f'at: {at!r}, ' if at else ''}masses: [{masses}], readings: {{s: {{A: {a} @ 0, B: 30 @ 90}}}}}}\n"
            for k, ((_, a, masses), at) in enumerate(zip(runs, times))))

    def test_drift_in_time_or_by_order(self):
        # the trial at the share q of the time between reads 40 + 6 q + 50 a = 52 on A: a = (12 - 6 q)/50 um pp/g
        def coefficient(times):
            done = self.run_on("influence", self.drifting(times), "--format", "json")
            return json.loads(done.stdout)["coefficients"][0]["value"]["amplitude"]

        def notes(times, drift="linear", code="drift-by-order"):
            tree = json.loads(self.run_on("solve", self.drifting(times, drift), "--format", "json").stdout)
            return tree["drift"]["by"], [w for w in tree["warnings"] if w["code"] == code]
        timed = ("2026-02-28 23:00", "2026-03-01T00:00:00", "2026-03-01 03:00")  # no leap year: 1 of 4 hours
        leap = ("2024-02-28 23:00", "2024-03-01T00:00:00", "2024-03-01 03:00")  # 25 of 28 hours
        self.assertAlmostEqual(coefficient(timed), (12 - 6 / 4) / 50, delta=1e-12)
        self.assertAlmostEqual(coefficient(leap), (12 - 6 * 25 / 28) / 50, delta=1e-12)
        self.assertEqual(notes(timed), ("time", []))
        self.says("solve", self.drifting(timed), 0, "drift evenly in time (`at`), from the first run to the last.")
        for times, run, why in (
                ((None, None, None), None, None),
                ((timed[0], None, timed[2]), "r1", "run r1 does not say `at`"),
                ((timed[0], "14.3.2026 02:40", timed[2]), "r1", "`at` of run r1, '14.3.2026 02:40', is not written as"),
                ((timed[0], timed[1], "2026-03-02"), "r2", "`at` of run r2, '2026-03-02', gives the day only"),
                ((timed[0],) * 3, None, "all runs have the same time")):
            self.assertAlmostEqual(coefficient(times), (12 - 6 / 2) / 50, delta=1e-12)
            by, told = notes(times)
            self.assertEqual((by, len(told)), ("order", why is not None), times)
            page = self.says("solve", self.drifting(times), 0, "drift evenly from run to run, from the first run to the last.",
                             without=("no state was made again",))
            if why:
                self.assertIn(why, told[0]["message"])
                self.assertEqual((told[0].get("run"), told[0]["severity"]), (run, "note"))
                self.assertIn(why, words(page))
            self.assertEqual(notes(times, "none"), ("order", []))  # nobody asked

    def test_times_out_of_order(self):
        def told(*times):
            tree = json.loads(self.run_on("check", self.drifting(times, "none"), "--format", "json").stdout)
            return [f["run"] for f in tree["findings"] if f["code"] == "times-out-of-order"]
        self.assertEqual(told("2026-03-14 02:40", "2026-03-14 02:39", "2026-03-14 02:41"), ["r1"])
        self.assertEqual(told("2026-03-14 02:40", "soon after", "2026-03-14 02:39:59"), ["r2"])
        self.assertEqual(told("2026-03-14 02:40", "2026-03-14", "2026-03-13"), ["r2"])  # by day where no time is given
        self.assertEqual(told("2026-03-14 02:40", "2026-03-14 02:40", "2026-03-15"), [])
        self.assertEqual(told("2027-03-14 02:40", "2026-03-14 02:50", "2026-03-14 03:40"), ["r1"])  # one wrong year is told once

    def test_long_names_of_mistakes(self):
        # P1's mass was put on the opposite side: A reads 40 - 10
        name = "\u00c4" * 199
        text = (HEAD + SPEED + SENSORS + PLANES + TRIALS).replace("P1", name)
        text += f"  - {{id: r3, masses: [{{plane: {name}, mass: 50, angle: 0}}], readings: {{s: {{A: 30 @ 0, B: 30 @ 90}}}}}}\n"
        tree = json.loads(self.run_on("check", text, "--format", "json").stdout)  # read strictly as UTF-8
        told = [f["message"] for f in tree["findings"] if f["code"] == "mounted-differently"]
        self.assertIn(f"the mass on {name} sits on the opposite side (180 degrees) (", told[0])

    def test_mistakes_that_come_to_the_same(self):
        """On 24 positions counted from the plane's zero, a mirrored angle and numbers counted the other way put the mass at
        the same place: no reading can prefer either."""
        planes = PLANES.replace("{id: P1, radius: 200}", "{id: P1, radius: 200, zero: 30, sites: {count: 24, first_angle: %s}}")
        run = "  - {id: r3, masses: [{plane: P1, mass: 50, angle: %d}, {plane: P2, mass: 50, angle: 90}], " \
            "readings: {s: {A: %.9f @ %.9f, B: 40 @ 90}}}\n"  # P2 rightly: a mirrored angle has two places to be

        def shares(first, stated, real):
            # lag and against rotation: both angles turn alike, so a gram at an angle moves A by 0.2 um at the same angle;
            # `zero` turns what both the trial at 0 and this run put there
            x, y = 40 + 10 * math.cos(math.radians(real)), 10 * math.sin(math.radians(real))
            text = HEAD + SPEED + SENSORS + planes % first + TRIALS + run % (stated, math.hypot(x, y), math.degrees(math.atan2(y, x)))
            tree = json.loads(self.run_on("check", text, "--format", "json").stdout)
            told = [f for f in tree["findings"] if f["code"] == "mounted-differently"]
            return {e["kind"]: e["likelihood"] for e in told[0]["explanations"]}, told[0]["message"]
        both, message = shares(0, 45, -45)
        self.assertAlmostEqual(both["angle-mirrored"], both["numbered-the-other-way"], delta=1e-9)
        self.assertGreater(both["angle-mirrored"], 0.4)
        self.assertIn("count the angle on the rotor again, in the direction the case states; compare the numbering", message)
        one, message = shares(15, 45, -15)  # from the position at 15 on, the other way: 45 is at -15
        self.assertGreater(one["numbered-the-other-way"], 20 * one.get("angle-mirrored", 0))
        self.assertNotIn("count the angle on the rotor again", message)
        sides, _ = shares(0, 90, -90)  # mirrored, renumbered and opposite, all in one
        self.assertAlmostEqual(sides["angle-mirrored"], sides["opposite-side"], delta=1e-9)
        self.assertAlmostEqual(sides["numbered-the-other-way"], sides["opposite-side"], delta=1e-9)

    def test_one_plane_is_not_split(self):
        text = (HEAD + SPEED + SENSORS.replace("repeatability: 1", "repeatability: 15") + "planes: [{id: P1, radius: 200}]\nruns:\n"
                + FOUND + FIRST)
        self.says("check", text, 1, "ill-conditioned", "the mass on P1 is not. Repeat the runs, try a larger mass there",
                  without=("the split between", "Tie them"))


SHOP = ("planes:\n"
        "  - {id: P1, radius: 200, pieces: [{mass: 30, stock: 3}], groove: {piece_length: 30, blocked: [[350, 370]]}}\n"
        "  - {id: P2, radius: 200, action: remove, sites: {count: 12, called: hole, most: 2},\n"
        "     drill: {diameter: 12, density: 7850 kg/m3, greatest_depth: 40, step: 20}}\n")


class Place(Rare):
    CASE = HEAD + SPEED + SENSORS + SHOP + "runs:\n" + FOUND + KNOWN.replace("0.2 @ 0", "0.7 @ 0")

    def test_groove_and_drilled_holes(self):
        page = self.says("place --time 2", self.CASE, 0,
                         "A groove: pieces of 30 mm along it slide to any free angle, here to the angle of their middle.",
                         "No room from 350.0 on to 10.0 degrees.", "12 holes, 30 degrees apart.", "No other choice of these pieces and positions does better")
        holes = re.findall(r"hole (\d+): diameter 12 mm, ([\d.]+) mm down to the tip of the point \(118 degrees\), of this "
                           r"([\d.]+) mm at full diameter; takes ([\d.]+) g\.", words(page))
        self.assertTrue(holes)
        for _, depth, full, mass in holes:
            depth, full, mass = float(depth), float(full), float(mass)
            tip = min(depth, 6 / math.tan(math.radians(59)))  # a cone of 118 degrees under a cylinder of 12 mm
            at_tip = tip * math.tan(math.radians(59))
            self.assertAlmostEqual(full, depth - tip, delta=1e-3)
            self.assertAlmostEqual(mass, 7.85e-3 * math.pi * at_tip**2 * (depth - tip + tip / 3), delta=1e-3)

    def test_mistakes_where_no_limit_is_given(self):
        tree = json.loads(self.run_on("place", self.CASE, "--time", "2", "--format", "json").stdout)
        most = max(p["after"]["amplitude"] for p in tree["predicted"])
        page = self.says("place --time 2", self.CASE, 0, "where none has a limit, limits count as 1")
        listed = float(re.search(r"as listed it is (\S+)\.", words(page))[1])
        self.assertAlmostEqual(listed, most, delta=0.006 * most)

    def test_drawing_of_a_groove(self):
        path = os.path.join(self.folder.name, "plot.svg")
        self.run_on("place", self.CASE, "--time", "2", "--plot", path, "--output", os.path.join(self.folder.name, "page"))
        tree = json.loads(self.run_on("place", self.CASE, "--time", "2", "--format", "json").stdout)
        with open(path, encoding="utf-8") as drawing:
            first = drawing.read().split("<g transform")[1]
        marks = [(float(x), float(y)) for x, y in re.findall(r'class="mass" cx="([\d.]+)" cy="([\d.]+)" r="7"', first)]
        # 84 around (140, 126), angle 0 up; angles against rotation grow clockwise on a rotor drawn to turn the other way
        angles = [math.radians(p["angle"]) for p in tree["placements"] if p["plane"] == "P1"]
        self.assertEqual(len(marks), len(angles))
        for (x, y), (u, v) in zip(sorted(marks), sorted((140 + 84 * math.sin(t), 126 - 84 * math.cos(t)) for t in angles)):
            self.assertAlmostEqual(x, u, delta=0.02)
            self.assertAlmostEqual(y, v, delta=0.02)

    def test_not_told(self):
        text = self.CASE[:self.CASE.index("influence:")]
        page = self.says("place", text, 1, "No masses: the runs do not tell what these readings would do.",
                         "BEFORE ANYTHING TURNS")
        self.assertNotIn("FIT LIST", page)
        tree = json.loads(self.run_on("place", text, "--format", "json").stdout)
        self.assertEqual((tree["status"], tree["placements"], tree["predicted"]), ("undetermined", [], []))
        self.assertEqual([u["planes"] for u in tree["undetermined"]], [["P1", "P2"], ["P1", "P2"]])

    def test_splitting_by_hand(self):
        # the law of sines: 10 sin(50)/sin(30) and 10 sin(-20)/sin(30)
        text = (HEAD + SPEED + SENSORS + "planes: [{id: P1, radius: 200}, {id: P2, radius: 200, sites: {count: 12}, "
                "pieces: [{mass: 30, stock: 2}]}]\nruns:\n" + FOUND + KNOWN)
        done = self.run_on("place", text, "--split", "P2: 10 @ 40 between 60 and 90")
        self.assertIn("10.00 g @ 40.0 is the same as 15.32 g at 60.0 degrees and -6.84 g at 90.0 degrees (negative: take it "
                      "away, or put it on the opposite side).", words(done.stdout))
        for option, wish, message in (("--split", "P1: 10 @ 40", "names no plane in use that has 'sites'"),
                                      ("--split", "10 @ 40 between 60", "cannot be read"),
                                      ("--split", "10 g 40", "cannot be read"), ("--split", "P2: ten @ 40", "cannot be read"),
                                      ("--merge", "P2: 10 @ 40 + ", "cannot be read"),
                                      ("--merge", "10 @ 40 and 5", "cannot be read")):
            done = self.run_on("place", text, option, wish)
            self.assertEqual((done.returncode, done.stdout), (2, ""), wish)
            self.assertIn(message, done.stderr)
            self.assertIn(wish, done.stderr)


class TradeOff(Rare):
    def test_readings_that_can_be_brought_to_nothing(self):
        """Two planes tell two sensors apart: the curve ends where next to nothing is left, every point proven."""
        text = HEAD + SPEED + SENSORS.replace("id: A,", "id: A, limit: 40,").replace("id: B,", "id: B, limit: 40,") + PLANES + TRIALS
        tree = json.loads(self.run_on("solve", text, "--trade-off", "--format", "json").stdout)
        ratios = [point["largest_ratio"] for point in tree["trade_off"]]
        self.assertEqual(ratios, sorted(ratios, reverse=True))
        self.assertGreaterEqual(len(ratios), 20)
        self.assertLess(ratios[-1], 2e-6 * ratios[0])
        self.assertTrue(all(point["proven"] for point in tree["trade_off"]))


class Trial(Rare):
    SETS = "sets: [{id: couple, of: {P1: 1 @ 0, P2: 2 @ 180}}]\n"

    def test_set_with_its_angle(self):
        # the set answers with 0.4 um at 0 a unit on both; readings of 40 at 0: its masses go opposite, to 180 and 0
        text = (HEAD + SPEED + "sensors: [{id: A, repeatability: 1, alarm: 60}, {id: B, repeatability: 1, alarm: 60}]\n" + PLANES +
                self.SETS + "rotor: {mass: 500 kg, service_speed: 3000, grade: G6.3}\nruns:\n" + FOUND.replace("B: 30 @ 90", "B: 40 @ 0") +
                "influence: [{plane: couple, speed: s, sensor: A, value: 0.4 @ 0, uncertainty: 0.001}, "
                "{plane: couple, speed: s, sensor: B, value: 0.4 @ 0, uncertainty: 0.001}]\n")
        page = words(self.says("trial", text, 0, "TRIAL MASSES ON THE SET couple", "Put on together, opposite the estimated heavy spot"))
        one, two = (float(re.search(rf"{p}: ([\d.]+) g at {angle} degrees", page)[1]) for p, angle in (("P1", "180.0"), ("P2", "0.0")))
        self.assertAlmostEqual(two / one, 2, delta=0.02)

    def test_untold_reading_pieces_and_unloaded_bearing(self):
        text = (HEAD + SPEED + "sensors: [{id: A, repeatability: 1, alarm: 60}, {id: B, repeatability: 1, alarm: 60}]\n"
                "planes: [{id: P1, radius: 200, position: 100, pieces: [{mass: 500}]}]\n"
                "rotor: {mass: 500 kg, service_speed: 3000, bearings: [{id: D, position: 0, static_load: 1 N}, "
                "{id: N, position: 1000, static_load: 4900 N}]}\nruns:\n" + FOUND +
                "influence: [{plane: P1, speed: s, sensor: A, value: 0.4 @ 0, uncertainty: 0.001}]\n")
        self.says("trial", text, 0, "1 reading has of unknown influence", "No choice of up to four of the pieces listed",
                  "The bearing nearest to P1 carries next to nothing")


class Tolerance(Rare):
    ROTOR = "rotor: {mass: 1000 kg, service_speed: 3000, grade: G2.5, bearings: [%s]}\n"

    def page(self, bearings, *phrases):
        loads = ", ".join(f"{{id: B{k}, position: {1000 * k}{load and f', static_load: {load} N'}}}" for k, load in enumerate(bearings))
        return self.says("tolerance", HEAD + SPEED + self.ROTOR % loads + "planes: [{id: P1, position: 500, radius: 200}]\n", 0, *phrases)

    def test_three_bearings(self):
        # 2.5 mm/s over 314.16 rad/s: 7.958 um, times 1000 kg; shares follow 2000, 4000 and 3806.65 N
        page = self.page(["2000", "4000", "3806.65"], "With 3 bearings the shares follow the static loads")
        rows = re.findall(r"^ *B\d +(\d+) +([\d.]+)", page, re.M)
        self.assertEqual([share for _, share in rows], ["0.204", "0.408", "0.388"])
        self.assertEqual([value for value, _ in rows], [f"{1e6 * 2.5e-3 / (100 * math.pi) * 1e3 * load / 9806.65:.0f}"
                                                        for load in (2000, 4000, 3806.65)])
        self.page(["2000", "", "4000"], "With 3 bearings statics do not tell the shares, and not every bearing has a `static_load`")

    def test_loads_that_are_not_the_weight(self):
        self.page(["6000", "6000"], "The static loads add up to 1.22 times the weight of the rotor.")  # 12000/9806.65


class Planes(Rare):
    def test_left_out_sensor_without_limits(self):
        text = HEAD + SPEED + SENSORS + PLANES + "runs:\n" + FOUND + KNOWN
        tree = json.loads(self.run_on("planes", text, "--format", "json").stdout)
        x = {e["sensor"]: e["largest_ratio"] for e in tree["without"]}
        # without A both masses quiet B, by least norm: B = 30i + 0.02 p + 0.2 q, A = 40 + 0.2 p + 0.02 q
        step = -30j / (0.02**2 + 0.2**2)
        self.assertAlmostEqual(x["A"], abs(40 + step * (0.2 * 0.02 + 0.02 * 0.2)), places=6)


class Turned(Rare):
    """Parts that can be refitted in steps."""
    TWO = "planes: [{id: P1, radius: 200, turns_by: 90}, {id: P2, radius: 200, turns_by: 90}]\n"
    ONE = "planes: [{id: P1, radius: 200, turns_by: 90}, {id: P2, radius: 200}]\n"

    @staticmethod
    def turned(parts, readings):
        return f"  - {{id: r3, turned: {{{parts}}}, readings: {{s: {{{readings}}}}}}}\nnow: {{masses: []}}\n"

    def test_what_is_not_explained(self):
        # both readings change by 10; a part at P1 moves A only: 1/sqrt(2) of the change is something else
        text = HEAD + SPEED + SENSORS + self.ONE + TRIALS + self.turned("P1: 90", "A: 50 @ 0, B: 40 @ 90")
        self.says("planes", text, 0, "71 % of the change of the readings is not explained by an unbalance at these planes")
        text = text.replace("B: 40 @ 90", "B: 30 @ 90")
        self.says("planes", text, 0, "PARTS THAT CAN BE TURNED", without=("is not explained",))

    def test_parts_that_are_not_told(self):
        text = HEAD + SPEED + SENSORS + self.TWO + TRIALS
        self.says("planes", text + "now: {masses: []}\n", 0, "Part at P1: not told, it stays as found here: no run was made "
                  "with it turned.", "Part at P2: not told, it stays as found here: no run was made with it turned.")
        one = "\n".join(line for line in text.splitlines() if "id: r2" not in line) + "\n"
        self.says("planes", one + self.turned("P2: 90", "A: 50 @ 0, B: 40 @ 90"), 0, "Part at P2: not told, it stays as found "
                  "here: the runs do not tell what a mass at its plane does to every reading that counts.")
        alike = text.replace(", B: 31.6227766 @ 71.5650512", "").replace(", B: 30 @ 90", "").replace("{A: 40 @ 0}}}\nnow", "")
        alike = alike.replace(SECOND.replace(", B: 31.6227766 @ 71.5650512", ""), SECOND.replace("A: 40 @ 0, B: 31.6227766 @ 71.5650512", "A: 45 @ 0"))
        alike = alike.replace(", {id: B, repeatability: 1}", "")
        self.says("planes", alike + self.turned("P1: 90, P2: 90", "A: 50 @ 0"), 0, "Part at P1: not told, it stays as found here: "
                  "the runs with parts turned do not tell its unbalance from that of the others.")

    def test_too_many_positions(self):
        text = HEAD + SPEED + SENSORS + self.TWO.replace("90", "1") + TRIALS + self.turned("P1: 90, P2: 90", "A: 50 @ 0, B: 40 @ 90")
        done = self.run_on("planes", text)
        self.assertEqual((done.returncode, done.stdout), (2, ""))
        self.assertIn("have 129600 positions together; at most 4096 can be compared", done.stderr)


class Report(Rare):
    def section(self, text, title):
        path = os.path.join(self.folder.name, "r.html")
        text = text.replace("mass_angle: against-rotation}", "mass_angle: against-rotation, rotation: clockwise, seen_from: drive end}")
        done = self.run_on("report", text, "--output", path)
        self.assertIn(done.returncode, (0, 1), done.stderr)
        with open(path, encoding="utf-8") as page:
            whole = page.read()
        self.assertIn(title, whole)
        return whole

    def test_header_of_lists(self):
        head = HEAD.replace("title: t}", "title: t, instruments: [probe 7, analyser], notes: [first note, second note], "
                            "by: N. N., date: 2026-03-14}")
        text = head + SPEED + SENSORS + PLANES + TRIALS
        page = self.section(text, "first note")
        for phrase in ("analyser", "second note", "N. N."):
            self.assertIn(phrase, page)

    def test_readings_over_speed(self):
        """The drawing of a sweep: heights in proportion, phases and speeds where the axes say, the resonance of the formula."""
        lines, points = ["run,speed,sensor,amplitude,phase"], []
        for k in range(40):
            rpm = 900 + 45 * k
            value = 20 * rpm**2 / complex(1800**2 - rpm**2, 2 * 0.05 * 1800 * rpm)  # one mode, phase lead
            lag = -math.degrees(math.atan2(value.imag, value.real)) % 360
            points.append((rpm, abs(value), lag))
            lines.append(f"r0,{rpm},A,{abs(value)!r},{lag!r}")
        with open(os.path.join(self.folder.name, "up.csv"), "w", encoding="utf-8") as table:
            table.write("\n".join(lines) + "\n")
        text = HEAD + SPEED + SENSORS + PLANES + TRIALS + "sweep: [{run: r0, csv: up.csv}]\n"
        whole = self.section(text, "A over speed in run r0")
        self.assertNotIn("B over speed", whole)
        drawing = whole[whole.index("A over speed in run r0"):]
        drawing = drawing[:drawing.index("</svg>")]
        heights = re.findall(r'class="after-mark" cx="([\d.]+)" cy="([\d.]+)"', drawing)
        phases = re.findall(r'class="cloud" cx="([\d.]+)" cy="([\d.]+)"', drawing)
        self.assertEqual((len(heights), len(phases)), (40, 40))
        ticks = [(float(y) - 3.5, float(v)) for y, v in re.findall(r'x="47" y="([\d.]+)" text-anchor="end">(\d+)<', drawing)]
        split = next(k for k in range(1, len(ticks)) if ticks[k][0] > ticks[k - 1][0])  # the lower axis begins again at 0

        def on(axis, y):
            (a, u), (b, v) = axis[0], axis[-1]
            return u + (v - u) * (y - a) / (b - a)

        for (x, y), (_, below), (rpm, size, lag) in zip(heights, phases, points):
            self.assertAlmostEqual(float(x), 52 + (366 - 52) * (rpm - 900) / (2655 - 900), delta=0.02)
            self.assertAlmostEqual(on(ticks[:split], float(y)), size, delta=0.1)
            self.assertAlmostEqual(on(ticks[split:], float(below)), lag, delta=0.1)
        self.assertIn("phase lag, degrees", drawing)
        self.assertRegex(drawing, r'class="small strong halo"[^>]*>1800<')


class Drift(Rare):
    def test_what_the_other_setting_would_say(self):
        # r0, a trial on each plane, nothing made again: drift and influence cannot be told apart
        text = HEAD + SPEED + SENSORS + PLANES + TRIALS
        self.says("check", text, 0, "Readings are taken not to drift.", "The runs cannot tell: no state was made again",
                  "With objective: {drift: linear} there would be no answer: the runs do not tell enough.")


class Limits(Rare):
    """Which readings a limit is on, and whether anything is left to do."""

    def test_overall_levels(self):
        # 41 in all, 40 once per turn: the rest is sqrt(41² - 40²) = 9
        text = (HEAD + SPEED + "sensors: [{id: A, repeatability: 1, limit: 50, limit_is: overall}, {id: B, repeatability: 1, limit: 50}]\n" +
                PLANES + "runs:\n" + FOUND.replace("A: 40 @ 0", "A: {amplitude: 40, phase: 0, overall: 41}") + KNOWN)
        page = self.says("solve", text, 0, "OVERALL LEVELS", "Squares add for rms levels; for peak and peak-to-peak levels this is an "
                         "approximation.")
        self.assertRegex(page, r"(?m)^ *s +A +µm pp +overall +9\.0 +41\.0 +9\.0 +0\.18$")
        rms = text.replace("HEAD", "").replace("speeds:", "units: {vibration: mm/s rms}\nspeeds:", 1)
        self.says("solve", rms, 0, "OVERALL LEVELS", without=("Squares add",))
        self.says("check", text.replace("limit: 50, limit_is", "limit: 8, limit_is"), 0,
                  "Of A at s, 9 µm pp is not once per turn; that alone is over the limit of 8 µm pp on the overall level.")

    def test_readings_as_read(self):
        text = (HEAD + SPEED + SENSORS.replace("{id: A,", "{id: A, judge: as-read, limit: 50,").replace("{id: B,", "{id: B, limit: 50,") +
                PLANES + "runs:\n" + FOUND + "slow_roll: {A: 5 @ 90}\n" + KNOWN)
        page = self.says("solve", text, 0, "LIMITS ON READINGS AS READ", "as the instrument shows it", without=("OVERALL LEVELS",))
        row = re.search(r"(?m)^ *s +A +µm pp +as read +- +- +- +([\d.]+)$", page)
        self.assertTrue(row, page)

    def test_nothing_more_to_mount(self):
        done = "  - {id: r3, masses: [{plane: P1, mass: 200, angle: 180}], readings: {s: {A: 1 @ 0, B: 1 @ 90}}}\n"
        text = HEAD + SPEED + SENSORS.replace("repe", "limit: 20, repe") + PLANES + TRIALS + done
        said = "With the masses that are on now every counted reading was within its limit: nothing more has to be mounted."
        self.says("solve", text, 0, said, "The change on P1 and P2 is no larger than its own uncertainty: mounting it may do nothing.")
        self.says("solve", text.replace("A: 1 @ 0, B: 1 @ 90", "A: 21 @ 0, B: 1 @ 90"), 0, without=(said,))
        self.says("solve", text.replace("A: 1 @ 0, B: 1 @ 90", "A: 1 @ 0"), 0, without=(said,))

    def test_orbits_count_among_what_is_left_to_do(self):
        # both probes read 15 in phase: a line between them, 15 sqrt(2) = 21.2 long
        sensors = "sensors: [{id: A, angle: 45, limit: 20, repeatability: 1}, {id: B, angle: 135, limit: 20, repeatability: 1}]\n"
        text = HEAD + SPEED + sensors + "pairs: [{id: o, sensors: [A, B], limit: %s}]\n" + PLANES + TRIALS + (
            "  - {id: r3, masses: [{plane: P1, mass: 125, angle: 180}], readings: {s: {A: 15 @ 0, B: 15 @ 0}}}\n")
        said = "nothing more has to be mounted"
        self.says("solve", text % 22, 0, said)
        self.says("solve", text % 21, 0, without=(said,))
        self.says("solve", (text % 22).replace("A: 15 @ 0, B: 15 @ 0", "A: 15 @ 0"), 0, without=(said,))

    def test_orbit_in_conflict(self):
        # one plane moves both probes alike and cannot shorten a line across them
        sensors = "sensors: [{id: A, angle: 45}, {id: B, angle: 135}]\npairs: [{id: o, sensors: [A, B], limit: 10}]\n"
        known = "influence: [{plane: P1, speed: s, sensor: A, value: 0.2 @ 0}, {plane: P1, speed: s, sensor: B, value: 0.2 @ 0}]\n"
        text = HEAD + SPEED + sensors + "planes: [{id: P1, radius: 200}]\nruns:\n" + FOUND.replace("B: 30 @ 90", "B: 40 @ 180") + known
        self.says("solve", text + "objective: {minimise: least-mass}\n", 1, "No masses on these planes keep every counted reading",
                  "the limit of 10 µm pp on o")


    def test_orbits_beside_sensors_without_limits(self):
        """Min-max would weigh readings in their unit against orbits in shares of a limit: refused. What does not weigh them
        against each other is as before, and the unit changes no mass."""
        def text(sensors, objective, unit="um pp", size=1.0):
            known = "influence:\n" + "".join(f"  - {{plane: P, speed: s, sensor: {s}, value: {size} @ {a}}}\n"
                                             for s, a in (("x", 315), ("y", 225), ("z", 0)))
            return (f"case: {{format: 1}}\nconventions: {{phase: lead, mass_angle: with-rotation}}\nunits: {{vibration: {unit}}}\n" + SPEED +
                    f"sensors: [{{id: x, angle: 45{sensors}}}, {{id: y, angle: 135{sensors}}}, {{id: z{sensors}}}]\n"
                    f"pairs: [{{id: b, sensors: [x, y], rows: [forward], limit: {60 * size}}}]\nplanes: [{{id: P}}]\n{known}"
                    f"runs: [{{id: r0, readings: {{s: {{x: {50 * size} @ 315, y: {50 * size} @ 225, z: {30 * size} @ 180}}}}}}]\n"
                    f"objective: {objective}\n")
        refused = "the sensor 'x' has no limit, but the pair 'b' has one, and min-max weighs both by their limits"
        for objective in ("{minimise: min-max}", "{then: {minimise: min-max, within: 5 %}}"):
            done = self.run_on("solve", text("", objective))
            self.assertEqual(done.returncode, 2)
            self.assertIn(refused, done.stderr)
        for sensors, objective in (("", "{minimise: least-squares}"), ("", "{minimise: least-mass}"), ("", "{within_limits: true}"),
                                   (", weight: 0", "{minimise: min-max}"), (", limit: SIZE", "{minimise: min-max}")):
            masses = []
            for unit, size in (("um pp", 1.0), ("mm pp", 1e-3)):
                done = self.run_on("solve", text(sensors.replace("SIZE", repr(60 * size)), objective, unit, size), "--format", "json")
                self.assertEqual(done.returncode, 0, done.stderr)
                masses.append(json.loads(done.stdout)["corrections"][0]["mass"])
            self.assertAlmostEqual(masses[1], masses[0], delta=1e-6 * max(masses[0], 1), msg=(sensors, objective))


class Runs(Rare):
    def test_circumstances(self):
        run = FOUND.replace("{id: r0,", "{id: r0, group: hot, at: 2026-03-14 02:40, taken: holding, load: 300 MW, notes: [first, second], "
                            "leave_out: {sensors: [B], because: cable},")
        self.says("check", HEAD + SPEED + SENSORS + PLANES + "runs:\n" + run + KNOWN, 0, "On the rotor: no masses; group hot; "
                  "2026-03-14 02:40; taken while holding; load 300 MW; 1 reading left out: cable; first; second.")

    def test_run_of_unknown_phase(self):
        shifted = "  - {id: r1, masses: [{plane: P1, mass: 50, angle: 90}], phase_shift: unknown, readings: {s: {A: 50 @ 0, B: 30 @ 90}}}\n"
        self.says("check", HEAD + SPEED + SENSORS + PLANES + "runs:\n" + FOUND + shifted + KNOWN, 0,
                  "None of its readings is used: nothing tells by how much its phases are shifted")

    def test_what_load_does(self):
        # the same masses at 100 and 200 MW: A moves by 10; the trial at 200 MW
        loaded = [FOUND.replace("{id: r0,", "{id: r0, load: 100 MW,"),
                  FOUND.replace("{id: r0,", "{id: again, load: 200 MW,").replace("A: 40 @ 0", "A: 50 @ 0"),
                  FIRST.replace("{id: r1,", "{id: r1, load: 200 MW,").replace("A: 50 @ 0", "A: 60 @ 0"), SECOND.replace("{id: r2,", "{id: r2, load: 200 MW,")]
        self.says("check", HEAD + SPEED + SENSORS + PLANES + "runs:\n" + "".join(loaded), 0, "Runs r0 and again, with the same masses, "
                  "tell what load does: A at s changes by 10 µm pp over this range, 10 standard deviations of one reading.")


class Evidence(Rare):
    def test_trip_where_no_alarm_is_given(self):
        text = HEAD + SPEED + SENSORS.replace("{id: A,", "{id: A, trip: 48,") + PLANES + TRIALS
        self.says("check", text, 0, "its trip")
        card = json.loads(self.run_on("check", text, "--format", "json").stdout)["card"]
        self.assertEqual({r["sensor"]: r["abort_from"] for r in card}, {"A": "spread", "B": "spread"})
        text = text.replace("trip: 48", "trip: 2, alarm: 3").replace("A: 40 @ 0", "A: 1 @ 0").replace("A: 50 @ 0", "A: 1.5 @ 0")
        card = json.loads(self.run_on("check", text, "--format", "json").stdout)["card"]
        self.assertEqual([(r["abort"], r["abort_from"]) for r in card if r["sensor"] == "A"], [(2, "trip")])

    def test_no_reading_counts(self):
        self.says("check", HEAD + SPEED + SENSORS.replace("repe", "weight: 0, repe") + PLANES + TRIALS, 0,
                  "No reading counts: every weight is 0, so nothing tells which masses are better.")

    def test_not_read_in_the_reference_run(self):
        # A is not read with the mass on P2 that stays, and nothing tells what that mass does to it
        runs = "runs:\n" + FOUND + FIRST + SECOND.replace("A: 40 @ 0, ", "")
        self.says("check", HEAD + SPEED + SENSORS + PLANES + runs + "objective: {use_planes: [P1]}\n", 1, "undetermined")

    def test_survey(self):
        def survey(entry):
            return HEAD + SPEED + SENSORS + PLANES + TRIALS + f"survey: [{{bearing: D, speed: s, {entry}}}]\n"
        self.says("check", survey("horizontal: {overall: 7.1 mm/s rms}"), 0, "D at s: nothing can be told.")
        # 5.7 of 7.1 is 0.803 of the whole; axial overall 4 of 7.1
        self.says("check", survey("horizontal: {overall: 7.1 mm/s rms, once: 6.8 mm/s rms @ 40}, axial: {overall: 1.42 mm/s rms}"), 0,
                  "unbalance may well be the cause", ": 0.2, for unbalance")
        self.says("check", survey("vertical: {overall: 10 mm/s rms, once: 7.5 mm/s rms @ 40}"), 0, "nothing speaks clearly", ": 0.75, neither")


class Influence(Rare):
    def test_sets_and_planes_hardly_known(self):
        text = HEAD + SPEED + SENSORS + PLANES + "sets: [{id: both, of: {P1: 1 @ 0, P2: 1 @ 0}}]\nruns:\n" + FOUND + FIRST
        page = self.says("influence", text, 0, "INFLUENCE OF SETS")
        self.assertRegex(page, r"s +A +µm pp/g +not told")
        weak = FIRST.replace("A: 50 @ 0", "A: 40.5 @ 0")  # moves A by half of its scatter
        self.says("influence", HEAD + SPEED + SENSORS + PLANES + "runs:\n" + FOUND + weak + SECOND, 0,
                  "P1 is hardly seen: no reading answers to it by more than its own uncertainty.", without=("P2 is hardly seen",))


class Verify(Rare):
    def test_items_that_only_need_to_be_there(self):
        text = HEAD + SPEED + SENSORS + PLANES + TRIALS + "expected: {source: made, corrections: [{plane: P1}], influence: [%s]}\n"
        self.says("verify", text % "{plane: P1, speed: s, sensor: A}", 0, "listed")
        tree = json.loads(self.run_on("verify", text % "{plane: P1, speed: s, sensor: A}", "--format", "json").stdout)
        self.assertEqual([(c["expected"], c["found"], c["pass"]) for c in tree["cases"][0]["checks"]], [("listed", "listed", True)] * 2)
        done = self.run_on("verify", text.replace("speed: 3000}", "speed: 3000}, {id: never, speed: 1500}") %
                           "{plane: P1, speed: never, sensor: A}", "--format", "json")
        self.assertEqual(done.returncode, 1, done.stderr)
        self.assertEqual([(c["found"], c["pass"]) for c in json.loads(done.stdout)["cases"][0]["checks"]], [("listed", True), (None, False)])


class WrongCases(Rare):
    """A mark › stands before what is wrong: there the message must point, and say what."""
    PARTS = {"sensors": "[{id: A, angle: 45}, {id: B, angle: 135}]", "planes": "[{id: P1, radius: 200}, {id: P2, radius: 200}]",
             "runs": "[{id: r0, readings: {s: {A: 40 @ 0, B: 30 @ 90}}}]", "speeds": "[{id: s, speed: 3000}]"}
    # part of the case, what stands there, what the message says
    TABLE = [
        ("pairs", "[{id: o, sensors: [A, B], rows: ›forward}]", "rows must be a list"),
        ("pairs", "[{id: o, sensors: [A, B], rows: [forward, ›forward]}]", "'forward' stands in this list twice"),
        ("pairs", "[{id: o, sensors: [A, B], rows: ›[]}]", "this pair asks for nothing; name forward, major-axis or both"),
        ("pairs", "[{id: o, sensors: [A, B], rows: [›backward]}]", "rows cannot be 'backward'; choose forward or major-axis"),
        ("rotor", "{mass: 100 kg, grade: ›[G1]}", "a balance quality grade, such as G2.5"),
        ("rotor", "{mass: 100 kg, grade: ›G3.6}", "unknown balance quality grade 'G3.6'"),
        ("units", "{vibration: ›[um]}", "the name of a unit"),
        ("runs", "[{id: r0}, {id: r1, after: ›[r0], added: []}]", "an id is needed here, not a list"),
        ("runs", "[{id: r0, readings: ›5}]", "readings must be a map of keys"),
        ("runs", "[{id: r0, readings: {s: ›5}}]", "the readings of a speed must be a map of keys"),
        ("runs", "[{id: r0, readings: {csv: ›[t.csv]}}]", "the name of a file"),
        ("runs", "[{id: r0, readings: {csv: t.csv, s: {A: ›1 @ 2}}}]", "'A' at 's' is read twice in this run: in a file and in the case"),
        ("runs", "[{id: r0, slow_roll: ›5}]", "slow_roll must be a map of keys"),
        ("runs", "[{id: r0, turned: ›5}]", "turned must be a map of keys"),
        ("runs", "[{id: r0, notes: [first, ›[second]]}]", "a text is needed here, not a "),
        ("slow_roll", "›5", "slow_roll must be a map of keys"),
        ("planes", "[{id: P1, radius: 200, sites: ›{count: 10001}}]", "a plane has at most 10000 positions"),
        ("planes", "[{id: P1, radius: 200, sites: {count: ›4.5}}]", "count must be a whole number"),
        ("planes", "[{id: P1, radius: 200, sites: {angles: ›5}}]", "angles must be a list"),
        ("planes", "[{id: P1, radius: 200, sites: {count: 4, blocked: ›2}}]", "blocked must be a list"),
        ("planes", "[{id: P1, radius: 200, sites: {count: 4, blocked: [›1.5]}}]", "blocked must be a whole number"),
        ("planes", "[{id: P1, radius: 200, groove: {piece_length: 30, blocked: ›5}}]", "blocked must be a list"),
        ("planes", "[{id: P1, radius: 200, groove: {piece_length: 30, blocked: [›5]}}]", "blocked must be a list"),
        ("planes", "[{id: P1, radius: 200, groove: {piece_length: 30, blocked: [›[1, 2, 3]]}}]", "a pair [from, to] of angles"),
        ("planes", "[›{id: P1, radius: 200, groove: {piece_length: 30}, pieces: [{mass: 20, replaces: 5}]}]", "pieces in a groove replace nothing"),
        ("planes", "[›{id: P1, radius: 200, sites: {count: 4}, drill: {diameter: 9, density: 7850, greatest_depth: 9, point_angle: 181}}]",
         "the point angle of a drill is at most 180 degrees"),
        ("sets", "[{id: both, of: ›5}]", "of must be a map of keys"),
        ("sets", "[{id: both, of: ›{}}]", "this set has no planes; name at least one"),
        ("sets", "[{id: both, of: {P1: ›0 @ 0}}]", "the ratio of 'P1' is 0; leave the plane out of the set"),
        ("survey", "[{bearing: ›[D], horizontal: {overall: 1 mm/s rms}}]", "a text is needed here, not a list"),
        ("influence", "[{record: ›[r.yaml]}]", "the name of a record file is needed here, not a list"),
        ("objective", "{then: ›5}", "then must be a map of keys"),
        ("objective", "{use_planes: ›P1}", "use_planes must be a list"),
        ("objective", "{fixed: ›5}", "fixed must be a map of keys"),
        ("objective", "{ties: [{terms: ›5}]}", "terms must be a map of keys"),
        ("objective", "{drop_rows: ›5}", "drop_rows must be a list"),
        ("objective", "{minimise: worst-case, influence_error: ›[5]}", "a plain number, or text such as 5 % each"),
        ("objective", "{minimise: worst-case, influence_error: ›5 % of all}", "'5 % each'"),
        ("case", "{format: 1, instruments: [probe, ›{a: b}]}", "a text is needed here, not a "),
        ("case", '{format: 1, ›"a\\0b": 1}', "a key must not contain the character with code 0"),
    ]

    def test_each(self):
        with open(os.path.join(self.folder.name, "t.csv"), "w", encoding="utf-8") as table:
            table.write("run,speed,sensor,amplitude,phase\nr0,s,A,1,2\n")
        for part, value, message in self.TABLE:
            parts = {"case": "{format: 1}", "conventions": "{phase: lag, mass_angle: against-rotation}", **self.PARTS, part: value}
            text = "\n".join(f"{key}: {entry}" for key, entry in parts.items()) + "\n"
            line = text[:text.index("›")].count("\n")
            column = text.splitlines()[line].index("›")
            done = self.run_on("check", text.replace("›", ""))
            said = [m for m in done.stderr.splitlines() if f"case.yaml:{line + 1}:{column + 1}: " in m and message in m]
            with self.subTest(value):
                self.assertEqual((done.returncode, done.stdout), (2, ""))
                self.assertTrue(said, f"wanted {line + 1}:{column + 1}: {message}\n{done.stderr}")

    def test_table_with_a_zero_byte(self):
        with open(os.path.join(self.folder.name, "t.csv"), "wb") as table:
            table.write(b"run,speed,sensor,amplitude,phase\nr0,s,A,1,\x002\n")
        done = self.run_on("check", HEAD + SPEED + SENSORS + PLANES + "runs: [{id: r0, readings: {csv: t.csv}}]\n")
        self.assertEqual((done.returncode, done.stdout), (2, ""))
        self.assertRegex(done.stderr, r"t\.csv:1:1: the file contains a zero byte; it is not text")

    def test_what_a_command_needs(self):
        """What only one command needs is asked for by that command, at the part that lacks it."""
        grooved = "planes: [{id: P1, groove: {piece_length: 30}, pieces: [{mass: 20}]}]\n"
        known = "influence: [{plane: P1, speed: s, sensor: A, value: 0.2 @ 0}, {plane: P1, speed: s, sensor: B, value: 0.3 @ 0}]\n"
        done = self.run_on("place", HEAD + SPEED + SENSORS + grooved + "runs:\n" + FOUND + known)
        self.assertEqual((done.returncode, done.stdout), (2, ""))
        self.assertRegex(done.stderr, r"case\.yaml:5:10: the plane 'P1' has a groove but no 'radius'")
        done = self.run_on("solve", HEAD + "speeds: [{id: s}]\n" + SENSORS + PLANES + "runs:\n" + FOUND + KNOWN)
        self.assertEqual((done.returncode, done.stdout), (2, ""))
        self.assertRegex(done.stderr, r"case\.yaml:3:10: the speed 's' has no 'speed'; write, for example, speed: 3000")
        done = self.run_on("solve", HEAD + SPEED + SENSORS + "planes: [{id: P1, cap_force: 4 kN}]\nruns:\n" + FOUND + known)
        self.assertEqual(done.returncode, 0)
        self.assertRegex(done.stderr, r"case\.yaml:5:10: note: the plane 'P1' has no radius: its cap_force is left out")


class Sets(Rare):
    """Pages of `planes` that few cases show."""

    def test_more_sets_than_can_be_listed(self):
        # 13 planes: 8191 sets; plane j moves sensor j % 4 alone
        names = [f"P{j}" for j in range(13)]
        sensors = "sensors: [" + ", ".join(f"{{id: S{i}, repeatability: 1}}" for i in range(4)) + "]\n"
        planes = "planes: [" + ", ".join(f"{{id: {p}, radius: 200}}" for p in names) + "]\n"
        read = "runs: [{id: r0, readings: {s: {" + ", ".join(f"S{i}: {10 * (i + 1)} @ 0" for i in range(4)) + "}}}]\ninfluence:\n"
        known = "".join(f"  - {{plane: {p}, speed: s, sensor: S{i}, value: {1 + 0.1 * j if j % 4 == i else 0.001} @ {20 * j + 7 * i}}}\n"
                        for j, p in enumerate(names) for i in range(4))
        self.says("planes --best 2", HEAD + SPEED + sensors + planes + read + known, 0, "8191 sets:", "listed are the best 2 of each size.")

    def test_plane_that_all_others_make_together(self):
        # five sensors; E does 1 on each of four and 0.05 on the fifth, where A to D do nothing: 0.05/sqrt(4.0025) is its own
        sensors = "sensors: [" + ", ".join(f"{{id: S{i}, repeatability: 1}}" for i in range(5)) + "]\n"
        planes = "planes: [" + ", ".join(f"{{id: {p}, radius: 200}}" for p in "ABCDE") + "]\n"
        read = "runs: [{id: r0, readings: {s: {" + ", ".join(f"S{i}: 10 @ {30 * i}" for i in range(5)) + "}}}]\ninfluence:\n"

        def value(plane, sensor):
            return {"E": [1, 1, 1, 1, 0.05][sensor]}.get(plane, float("ABCD".find(plane) == sensor))
        known = "".join(f"  - {{plane: {p}, speed: s, sensor: S{i}, value: {value(p, i)} @ 0}}\n" for p in "ABCDE" for i in range(5))
        self.says("planes", HEAD + SPEED + sensors + planes + read + known, 0,
                  "E: all other planes together make all but 2.5 % of its effect.")

    def test_sensor_without_which_there_is_no_answer(self):
        # A cannot come below 40: P1 and P2 move B alone
        known = "".join(f"  - {{plane: {p}, speed: s, sensor: {s}, value: {v} @ 0}}\n"
                        for p, s, v in (("P1", "A", 0), ("P1", "B", 0.2), ("P2", "A", 0), ("P2", "B", 0.3)))
        text = (HEAD + SPEED + SENSORS.replace("repe", "limit: 35, repe") + PLANES + "runs:\n" + FOUND + "influence:\n" + known +
                "objective: {minimise: least-mass}\n")
        self.says("planes", text, 1, "No set of planes has an answer")


class Pieces(Rare):
    """`place` when there is little to place."""
    SITES = "planes: [{id: P1, radius: 200, sites: {count: 4%s}, pieces: [{mass: 30%s}]}]\n"
    ONE = "influence: [{plane: P1, speed: s, sensor: A, value: 0.5 @ 0}, {plane: P1, speed: s, sensor: B, value: 0.3 @ 0}]\n"

    def test_nothing_fits(self):
        blocked = self.SITES % (", blocked: [1, 2, 3, 4]", "")
        self.says("place", HEAD + SPEED + SENSORS + blocked + "runs:\n" + FOUND + self.ONE, 1, "Nothing can be placed: every position is "
                  "blocked", "The readings below are predicted for the rotor as it is now.")

    def test_limits_that_cannot_be_kept(self):
        text = (HEAD + SPEED + SENSORS.replace("repe", "limit: 5, repe") + self.SITES % ("", ", stock: 1") + "runs:\n" + FOUND + self.ONE +
                "objective: {within_limits: true}\n")
        self.says("place", text, 1, "No choice of these pieces and positions keeps the greatest masses of the planes and the limits.")

    def test_better_as_it_is(self):
        # a piece of 300 g moves A by 150: worse at any position
        text = HEAD + SPEED + SENSORS + (self.SITES % ("", "")).replace("mass: 30", "mass: 300") + "runs:\n" + FOUND + self.ONE
        self.says("place", text, 0, "Leave everything as it is: no choice of these pieces improves on it.", "Nothing to fit here.")

    def test_mass_right_at_a_position(self):
        # as wanted: B = 0, A = 40 at 0 wants 80 g at 180, the third of four positions
        text = (HEAD + SPEED + "sensors: [{id: A, repeatability: 1}]\n" + self.SITES % ("", "") + "runs: [{id: r0, readings: {s: {A: 40 @ 0}}}]\n" +
                "influence: [{plane: P1, speed: s, sensor: A, value: 0.5 @ 0}]\n")
        self.says("place", text, 0, "P1: 80.00 g @ 180.0 needs no splitting: 80.00 g at position 3 (180.0 degrees).")

    def test_nothing_to_improve(self):
        """A value of exactly zero before anything is placed: no reading counts, or all read nothing."""
        for sensors, found in ((SENSORS.replace("repe", "weight: 0, repe"), FOUND),
                               (SENSORS, FOUND.replace("A: 40 @ 0, B: 30 @ 90", "A: 0 @ 0, B: 0 @ 0"))):
            text = HEAD + SPEED + sensors + self.SITES % ("", "") + "runs:\n" + found + self.ONE
            self.says("place", text, 0, "Leave everything as it is: no choice of these pieces improves on it.", "the best possible")


class Orbits(Rare):
    def test_pairs_of_several_units(self):
        sensors = ("sensors: [{id: A, angle: 45, limit: 50}, {id: B, angle: 135, limit: 50}, {id: C, angle: 45, unit: mil pp, limit: 2}, "
                   "{id: D, angle: 135, unit: mil pp, limit: 2}]\n"
                   "pairs: [{id: one, sensors: [A, B]}, {id: two, sensors: [C, D]}]\n")
        runs = "runs: [{id: r0, readings: {s: {A: 30 @ 0, B: 30 @ 90, C: 2 @ 0, D: 2 @ 90}}}]\ninfluence:\n" + "".join(
            f"  - {{plane: {p}, speed: s, sensor: {s}, value: {v} @ {t}, uncertainty: 5 %}}\n" for p, s, v, t in
            (("P1", "A", 0.2, 0), ("P1", "B", 0.2, 80), ("P1", "C", 0.01, 0), ("P1", "D", 0.01, 80), ("P2", "A", 0.1, 90),
             ("P2", "B", 0.1, 180), ("P2", "C", 0.02, 40), ("P2", "D", 0.02, 100)))
        # lag 0 and 90 at 45 and 135 degrees: a circle of 30, one of 2
        page = self.says("solve", HEAD + SPEED + sensors + PLANES + runs + "objective: {minimise: least-squares, use_planes: []}\n", 0,
                         "PREDICTED ORBITS")
        self.assertRegex(page, r"(?m)^ *one +s +major-axis +- +30\.0 +30\.0")
        self.assertRegex(page, r"(?m)^ *two +s +major-axis +- +2\.0 +2\.0")


class Further(Rare):
    def test_card_from_slow_to_fast(self):
        runs = "runs:\n" + "".join(f"  - {{id: r{k}, {masses}readings: {{high: {{A: {high} @ 0}}, low: {{A: {low} @ 0}}}}}}\n" for k, masses, high, low in
                                   ((0, "", 40, 10), (1, "masses: [{plane: P1, mass: 50, angle: 0}], ", 60, 20)))
        text = (HEAD + "speeds: [{id: high, speed: 3000}, {id: low, speed: 1500}]\nsensors: [{id: A, repeatability: 1}]\n"
                "planes: [{id: P1, radius: 200}]\n" + runs)
        card = json.loads(self.run_on("check", text, "--format", "json").stdout)["card"]
        self.assertEqual([r["speed"] for r in card], ["low", "high"])
        page = self.says("check", text, 0)
        self.assertLess(page.index("At low, 1500 r/min"), page.index("At high, 3000 r/min"))

    def test_reading_missing_from_the_run_that_misses(self):
        """A run in which one of two exchanged cables was not read cannot be explained by the exchange."""
        sensors = "sensors: [{id: A, repeatability: 1}, {id: B, repeatability: 1}, {id: C, repeatability: 1}]\n"
        known = "influence:\n" + "".join(f"  - {{plane: P1, speed: s, sensor: {s}, value: {v} @ {t}, uncertainty: 0.001}}\n"
                                          for s, v, t in (("A", 0.4, 0), ("B", 0.3, 120), ("C", 0.5, 200)))
        r1 = "  - {id: r1, masses: [{plane: P1, mass: 100, angle: 0}], readings: {s: {%s}}}\n"
        # as-found 40 @ 0, 60 @ 90, 50 @ 180; with the mass A 80 @ 0, B 45 - 34i..., here A and B are exchanged
        b = complex(0, -60) + 30 * complex(math.cos(math.radians(120)), -math.sin(math.radians(120)))
        b = f"{abs(b)!r} @ {-math.degrees(math.atan2(b.imag, b.real))!r}"
        head = HEAD + SPEED + sensors + "planes: [{id: P1, radius: 200}]\nruns:\n  - {id: r0, readings: {s: {A: 40 @ 0, B: 60 @ 90, C: 50 @ 180}}}\n"

        def kinds(readings):
            tree = json.loads(self.run_on("check", head + r1 % readings + known, "--format", "json").stdout)
            found = [f["explanations"] for f in tree["findings"] if f["code"] == "mounted-differently"]
            return [e["kind"] for e in found[0]] if found else []
        self.assertEqual(kinds(f"A: {b}, B: 80 @ 0")[0], "cables-swapped")
        self.assertNotIn("cables-swapped", kinds(f"A: {b}")[:1])

    def test_resonance_outside_the_sweep(self):
        self.write_sweep(range(2000, 3000, 20))
        page = self.says("check", HEAD + SPEED + SENSORS + PLANES + TRIALS + "sweep: [{run: r0, csv: up.csv}]\n", 0, "RESONANCES")
        self.assertIn("1 of them is no clear resonance, outside the speeds of the sweep", " ".join(page.split()))

    def test_residual_resting_on_assumed_scatter(self):
        text = (HEAD + "rotor: {mass: 2000 kg, service_speed: 1500, grade: G6.3, mass_centre: 1000, first_resonance: 9000, "
                "bearings: [{id: D, position: 0}, {id: N, position: 2000}]}\nspeeds: [{id: s, speed: 1500}]\n%s"
                "planes: [{id: P1, position: 300, radius: 200}, {id: P2, position: 1600, radius: 260}]\nruns:\n" + FOUND + KNOWN)
        said = "The error rests on an assumed scatter of the readings."
        self.says("tolerance", text % "sensors: [{id: A}, {id: B}]\n", 0, said)
        self.says("tolerance", text % SENSORS, 0, without=(said,))

    def test_confidence_without_promise(self):
        # caps of 10 g leave 38 of A and 28 of B; limits of a standard deviation or less above that promise nothing for two readings
        text = (HEAD + SPEED + "sensors: [{id: A, repeatability: 1, limit: 38.5}, {id: B, repeatability: 1, limit: 28.5}]\n" +
                PLANES.replace("200}", "200, cap: 10}") + TRIALS + "objective: {minimise: confidence}\n")
        self.says("solve", text, 0, "no promise")


class Confidence(Rare):
    """The report's data for trying masses: its spread blocks make the deviations that solve tells."""

    def test_spread_blocks(self):
        for phase, angle, zero in (("lag", "against-rotation", 0), ("lead", "against-rotation", 40), ("lag", "with-rotation", 70)):
            head = f"case: {{format: 1, title: t}}\nconventions: {{phase: {phase}, mass_angle: {angle}, rotation: clockwise, seen_from: drive end}}\n"
            text = (head + SPEED + "sensors: [{id: A, angle: 45, repeatability: 1, limit: 60}, {id: B, angle: 135, repeatability: 1, limit: 50}]\n"
                    "pairs: [{id: o, sensors: [A, B], rows: [forward, major-axis], limit: 70}]\n"
                    f"planes: [{{id: P1, radius: 200, cap: 80}}, {{id: P2, radius: 200, cap: 80, zero: {zero}}}]\n" + TRIALS +
                    "objective: {minimise: confidence}\n")
            told = json.loads(self.run_on("solve", text, "--format", "json").stdout)["predicted"]
            path = os.path.join(self.folder.name, "r.html")
            self.assertEqual(self.run_on("report", text, "--output", path).returncode, 0)
            with open(path, encoding="utf-8") as page:
                data = next(json.loads(d) for d in re.findall(r'<script type="application/json"[^>]*>(.*?)</script>', page.read(), re.S)
                            if '"spread"' in d)
            move = [1] + [complex(*p["best"]) - complex(*p["base"]) for p in data["planes"]]

            def deviation(block):
                lines = [[complex(*z) for z in line] for line in block]
                return math.sqrt(sum(abs(sum(line[k] * m for line, m in zip(lines, move)))**2 for k in range(len(lines[0]))))
            radius = math.sqrt(math.log(10))  # of a known scatter, 9 of 10
            for row, p in zip(data["rows"], told):
                self.assertAlmostEqual(deviation(row["spread"]) / (p["spread90"] / radius), 1, delta=1e-9)
            orbits = {p["row"]: p["spread90"] / radius for p in told if "pair" in p}
            parts = [deviation(part["spread"]) for pair in data["pairs"] for part in pair["parts"]]
            self.assertAlmostEqual(parts[0] / orbits["forward"], 1, delta=1e-9)
            self.assertAlmostEqual(sum(parts[-2:]) / orbits["major-axis"], 1, delta=1e-9)


class Tolerance(Rare):
    def test_why_nothing_is_judged(self):
        """The true reason, in words and as a code; what speaks of two bearings is no source where there are more."""
        bearings = [f"{{id: B{k}, position: {1000 * k}, static_load: 500 N}}" for k in range(4)]

        def case(count=2, resonance=", first_resonance: 9000", planes="position: 100, radius: 200", runs=TRIALS, speed=SPEED):
            told = planes.replace("100", "900")
            return (HEAD + speed + SENSORS + f"rotor: {{mass: 200 kg, grade: G6.3, service_speed: 3000, mass_centre: 500{resonance}, "
                    f"bearings: [{', '.join(bearings[:count])}]}}\nplanes: [{{id: P1, {planes}}}, {{id: P2, {told}}}]\n" + runs)
        known = "PERMISSIBLE"
        for text, code, phrases in (
                (case(), None, ("AT THE CORRECTION PLANES All planes together", "Verdict: ")),
                (case(4), "not-two-bearings", ("AT THE CORRECTION PLANES Not told: the values of planes follow by statics from those of two "
                 "bearings, and the case names 4 bearings.", "Not judged: what two planes hold is shared out by statics between two "
                 "bearings, and the case names 4 bearings.", "each is judged by itself")),
                (case(0), "not-two-bearings", ("and the case names none.",)),
                (case(resonance=""), "behaviour-unknown", ("the case does not tell where that is.",)),
                (case(planes="position: 100"), "no-two-planes", ("no two correction planes have a `position` and a `radius`.",)),
                (case(resonance=", first_resonance: 4000"), "no-speed", ("Not judged: no speed below 0.7 of the lowest resonance",)),
                (case(runs=""), "no-readings", ("Not judged: the case holds no readings.",))):
            self.says("tolerance", text, 0 if code else 1, known, *phrases)  # what is judged is over the permissible value
            tree = json.loads(self.run_on("tolerance", text, "--format", "json").stdout)
            self.assertEqual((tree["not_judged"], tree["reached"] is None), (code, code is not None))
        for count, used in ((2, {"lever-rule", "inboard-limits", "correction-planes"}), (4, {"load-shares"}), (0, set())):
            tree = json.loads(self.run_on("tolerance", case(count), "--format", "json").stdout)
            keys = {source["key"] for source in tree["sources"]}
            self.assertEqual(keys & {"lever-rule", "inboard-limits", "outboard-limits", "correction-planes", "load-shares"}, used)


class Then(Rare):
    def test_second_objective_behind_nothing_left(self):
        """Min-max reaches zero with an orbit that counts; of all masses that do, the least: by hand for three planes and two probes."""
        sensors = "sensors: [{id: A, angle: 45, limit: 50}, {id: B, angle: 135, limit: 50}]\npairs: [{id: o, sensors: [A, B], limit: 60}]\n"
        known = "influence:\n" + "".join(f"  - {{plane: {p}, speed: s, sensor: {s}, value: {v} @ 0}}\n" for p, s, v in
                                          (("P1", "A", 1), ("P1", "B", 0), ("P2", "A", 0), ("P2", "B", 1), ("P3", "A", 1), ("P3", "B", 1)))
        planes = "planes: [{id: P1, radius: 200}, {id: P2, radius: 200}, {id: P3, radius: 200}]\n"
        # A = 40 + x + z, B = 40 + y + z: z alone, 40 at 180, takes 40 g; x and y alone 80 g
        text = (HEAD + SPEED + sensors + planes + "runs:\n" + FOUND.replace("B: 30 @ 90", "B: 40 @ 0") + known +
                "objective: {minimise: min-max, then: {minimise: least-mass, within: 1 %}}\n")
        tree = json.loads(self.run_on("solve", text, "--format", "json").stdout)
        masses = {c["plane"]: (c["mass"], c["angle"]) for c in tree["corrections"]}
        self.assertAlmostEqual(masses["P3"][0], 40, places=6)
        self.assertAlmostEqual(masses["P3"][1], 180, places=6)
        self.assertLess(masses["P1"][0] + masses["P2"][0], 1e-6)
        self.assertLess(max(p["after"]["amplitude"] for p in tree["predicted"]), 1e-6)


class SetsAndTies(Rare):
    def test_planes_of_sets_under_a_tie(self):
        # the couple moves A and B oppositely by 0.2 a unit; the tie makes P1 and P2 equal and opposite: the same two planes
        sets = "sets: [{id: couple, of: {P1: 1 @ 0, P2: 1 @ 180}}]\n"
        text = (HEAD + SPEED + SENSORS + PLANES + sets + "runs:\n" + FOUND + KNOWN +
                "objective: {use_planes: [P1, P2, couple], ties: [{terms: {P1: 1 @ 0, P2: 1 @ 0}, equals: 0 @ 0}]}\n")
        tree = json.loads(self.run_on("planes", text, "--format", "json").stdout)
        value = {tuple(sorted(s["planes"])): s["value"] for s in tree["sets"] if s["value"] is not None}
        # column of the couple: 0.2 - 0.02 on A, 0.02 - 0.2 on B; least squares of 40 and -30i (lag 90) along (1, -1)
        c, y = (0.18, -0.18), (40, -30j)
        u = -sum(a * b for a, b in zip(c, y)) / sum(a * a for a in c)
        best = math.sqrt(sum(abs(b + a * u)**2 for a, b in zip(c, y)))
        self.assertTrue(any("couple" in planes for planes in value), value)
        for planes, v in value.items():
            # one plane alone cannot move under the tie: 40 and 30 stay
            self.assertAlmostEqual(v, 50 if planes in (("P1",), ("P2",)) else best, places=9, msg=planes)


class Still(Rare):
    """What stays as it is, or is not known."""

    def test_no_plane_moves_the_states(self):
        # hot and cold read 40 and 20 in one sensor that no plane in use moves: up to 40 stays, over the limit of 35
        text = (HEAD + "speeds: [{id: cold, speed: 3000}, {id: hot, speed: 3000, coefficients_of: cold}]\n"
                "sensors: [{id: A, repeatability: 1, limit: 35}]\nplanes: [{id: P1, radius: 200}]\n"
                "runs: [{id: r0, readings: {cold: {A: 20 @ 0}, hot: {A: 40 @ 0}}}]\n"
                "influence: [{plane: P1, speed: cold, sensor: A, value: 0.2 @ 0}]\nobjective: {use_planes: []}\n")
        self.says("solve", text, 0, "A stays at up to 40 µm pp: no plane in use moves it; its limit is 35 µm pp.")
        # with the plane the two states can be brought no nearer than half their difference
        self.says("solve", text.replace("objective: {use_planes: []}\n", ""), 0, "A cannot be below 10 µm pp, whatever the masses")

    def test_sweep_whose_scatter_nothing_tells(self):
        self.write_sweep(range(900, 2700, 45))
        text = HEAD + SPEED + SENSORS.replace(", repeatability: 1", "") + PLANES + TRIALS + "sweep: [{run: r0, csv: up.csv}]\n"
        found = json.loads(self.run_on("check", text, "--format", "json").stdout)["sweeps"][0]["resonances"]
        self.assertEqual(len(found), 1)
        self.assertAlmostEqual(found[0]["speed"] / 1800, 1, delta=1e-6)
        self.assertAlmostEqual(found[0]["damping_ratio"] / 0.05, 1, delta=1e-6)

    def test_positions_of_no_known_radius(self):
        text = (HEAD + SPEED + SENSORS + "planes: [{id: P1, sites: {count: 4}, pieces: [{mass: 30}]}]\nruns:\n" + FOUND + Pieces.ONE)
        self.says("place", text, 0, "Radius not given: forces and rim speeds are not known. Work them out before anything turns.")

    def test_set_in_use_under_a_tie(self):
        # P1 = u, P2 = -u by the set, P3 = P1 by the tie: one unknown; its column on A, B is 0.2 - 0.02 + 0.1 and 0.02 - 0.2 + 0.3
        known = KNOWN + ("  - {plane: P3, speed: s, sensor: A, value: 0.1 @ 0, uncertainty: 0.01}\n"
                         "  - {plane: P3, speed: s, sensor: B, value: 0.3 @ 0, uncertainty: 0.01}\n")
        text = (HEAD + SPEED + SENSORS + PLANES.replace("}]", "}, {id: P3, radius: 200}]") + "sets: [{id: couple, of: {P1: 1 @ 0, P2: 1 @ 180}}]\n"
                "runs:\n" + FOUND + known + "objective: {use_planes: [couple, P3], ties: [{terms: {P1: 1 @ 0, P3: 1 @ 180}}]}\n")
        tree = json.loads(self.run_on("solve", text, "--format", "json").stdout)
        c, y = (0.28, 0.12), (40, -30j)
        u = -sum(a * b for a, b in zip(c, y)) / sum(a * a for a in c)
        self.assertAlmostEqual(tree["objective"]["value"], math.sqrt(sum(abs(b + a * u)**2 for a, b in zip(c, y))), places=9)
        masses = {m["plane"]: m for m in tree["corrections"]}
        self.assertEqual([round(masses[p]["mass"] / abs(u), 9) for p in ("P1", "P2", "P3")], [1, 1, 1])
        # phases are lags, masses count against rotation: both negate, so angles are those of u as it stands, negated
        angle = -math.degrees(math.atan2(u.imag, u.real))
        for p, turn in (("P1", 0), ("P2", 180), ("P3", 0)):
            self.assertAlmostEqual((masses[p]["angle"] - angle - turn + 180) % 360, 180, places=6)


if __name__ == "__main__":
    if len(sys.argv) > 1:
        PROGRAM = os.path.abspath(sys.argv.pop(1))
    unittest.main()

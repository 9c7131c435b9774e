# SPDX-License-Identifier: MIT
"""Go or no-go card and evidence where instruments, limits and weights differ: small cases, figures worked out here.

    /usr/bin/python3 tests/reference/test_card.py PROGRAM
"""
import cmath
import json
import math
import pathlib
import subprocess
import sys
import unittest

import numpy as np

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
HEAD = """case: {format: 1, title: card}
conventions: {phase: lag, mass_angle: against-rotation}
speeds: [{id: low, speed: 1500}, {id: s, speed: 3000}]
planes: [{id: P1, radius: 200}]
"""


def check(text, *options):
    done = subprocess.run([PROGRAM, "check", "--format", "json", *options, "-"], input=HEAD + text, capture_output=True,
                          text=True)
    assert done.returncode in (0, 1), done.stderr
    return json.loads(done.stdout), done.returncode


def codes(result, severity=None):
    return [f["code"] for f in result["findings"] if severity in (None, f["severity"])]


def phasor(value):
    return f"{abs(value):.12f} @ {-math.degrees(cmath.phase(value)) % 360:.10f}"


def polar(amplitude, lag):
    return cmath.rect(amplitude, -math.radians(lag))


def row(result, sensor, speed="s"):
    return next(r for r in result["card"] if r["sensor"] == sensor and r["speed"] == speed)


class AlarmAndTrip(unittest.TestCase):
    """What has been read is held against alarm and trip, whatever the runs before tell."""

    def test_a_reading_that_nothing_tells(self):
        result, status = check("""sensors:
  - {id: A, limit: 60, alarm: 100, trip: 150, repeatability: 1}
  - {id: B, limit: 60, alarm: 100, trip: 150, repeatability: 1}
runs:
  - {id: r0, readings: {low: {A: 20 @ 0}, s: {A: 80 @ 10, B: 60 @ 50}}}
  - {id: t1, masses: [{plane: P1, mass: 50, angle: 0}], readings: {low: {A: 16 @ 30}, s: {A: 60 @ 30, B: 70 @ 90}}}
  - {id: up, masses: [{plane: P1, mass: 50, angle: 0}], readings: {low: {A: 16 @ 30, B: 200 @ 10}}}
""", "--so-far")
        self.assertEqual((status, result["so_far"]["verdict"]), (1, "stop"))
        self.assertIn("over-trip", codes(result, "fault"))
        told = row(result, "B", "low")
        self.assertEqual((told["predicted"], told["spread90"], told["abort"], told["over"]), (None, None, 100, "trip"))

    def test_the_only_run(self):
        result, status = check("""sensors: [{id: A, limit: 60, trip: 90}]
runs: [{id: r0, readings: {s: {A: 120 @ 10}}}]
""", "--so-far")
        self.assertEqual((status, result["so_far"]["verdict"]), (1, "stop"))

    def test_as_read_and_overall(self):
        text = """sensors:
  - {id: A, limit: 60, alarm: 70, trip: 90, repeatability: 20, judge: as-read}
  - {id: B, limit: 60, alarm: 70, trip: 90, repeatability: 20, limit_is: overall}
slow_roll: {A: 30 @ 0}
runs:
  - {id: r0, readings: {s: {A: 60 @ 10, B: {amplitude: 50, phase: 20, overall: 52}}}}
  - {id: t1, masses: [{plane: P1, mass: 50, angle: 0}],
     readings: {s: {A: 40 @ 10, B: {amplitude: 40, phase: 40, overall: 42}}}}
  - {id: up, masses: [{plane: P1, mass: 50, angle: 0}],
     readings: {s: {A: %g @ 10, B: {amplitude: 40, phase: 40, overall: %g}}}}
"""
        for a, b, expected in ((69, 69, [None, None]), (71, 42, ["alarm", None]), (91, 42, ["trip", None]),
                               (40, 71, [None, "alarm"]), (40, 91, [None, "trip"])):
            result, _ = check(text % (a, b), "--so-far")
            self.assertEqual([row(result, s)["over"] for s in "AB"], expected, (a, b))
            self.assertEqual(result["so_far"]["verdict"] == "stop", expected != [None, None], (a, b))


class AsTheInstrumentShows(unittest.TestCase):
    def test_slow_roll(self):
        """Expected, spread and alarm on the amplitude shown: along the expected phase the reading without roll is the alarm."""
        roll, readings = polar(30, 0), [polar(60, 10), polar(50, 40)]
        result, _ = check(f"""sensors: [{{id: C, limit: 60, alarm: 70, repeatability: %s}}]
slow_roll: {{C: {phasor(roll)}}}
runs:
  - {{id: r0, readings: {{s: {{C: {phasor(readings[0])}}}}}}}
  - {{id: t1, masses: [{{plane: P1, mass: 50, angle: 0}}], readings: {{s: {{C: {phasor(readings[1])}}}}}}}
  - {{id: up, masses: [{{plane: P1, mass: 50, angle: 0}}], readings: {{s: {{C: {phasor(readings[1])}}}}}}}
""" % 30, "--so-far")
        card = row(result, "C")
        self.assertAlmostEqual(card["predicted"]["amplitude"], abs(readings[1] - roll), 9)
        self.assertAlmostEqual(card["shown"]["amplitude"], 50, 9)
        self.assertAlmostEqual(card["shown"]["phase"], 40, 9)
        self.assertEqual(card["abort_from"], "alarm")
        at_abort = cmath.rect(card["abort"], cmath.phase(readings[1]))
        self.assertAlmostEqual(abs(at_abort - roll), 70, 9)

    def test_own_slow_roll_turns_with_the_phase_reference(self):
        """A run with a roll of its own and a reference moved by 90: a further 25 degrees are found as such."""
        rotor = {"A": (polar(80, 10), polar(60, 30)), "B": (polar(60, 50), polar(70, 90)), "C": (polar(30, 200), polar(50, 230))}
        roll = polar(20, 0)
        runs = []
        for name, which, turn, extra in (("r0", 0, 0, ""), ("t1", 1, 0, "masses: [{plane: P1, mass: 50, angle: 0}], "),
                                         ("again", 0, 115, "phase_shift: 90, ")):
            turned = polar(1, turn)
            read = ", ".join(f"{s}: {phasor((values[which] + roll) * turned)}" for s, values in rotor.items())
            own = ", ".join(f"{s}: {phasor(roll * polar(1, 90 if turn else 0))}" for s in rotor)
            runs.append(f"  - {{id: {name}, {extra}slow_roll: {{{own}}}, readings: {{s: {{{read}}}}}}}")
        result, _ = check("sensors: [" + ", ".join(f"{{id: {s}, limit: 60, repeatability: 0.2}}" for s in rotor) + "]\nruns:\n" +
                          "\n".join(runs) + "\n")
        first = next(f for f in result["findings"] if f["code"] == "mounted-differently")
        self.assertIn("phase reference moved (by 25 degrees) (100 %)", first["message"])

    def test_degrees_of_freedom_are_those_of_the_runs_before(self):
        """r0, r0 again, t1: one degree of freedom. A complex Student variable: P(|e| > k s) = (1 + k²/f)^-f."""
        r0, again, t1 = polar(80, 10), polar(82, 12), polar(60, 30)
        result, _ = check(f"""sensors: [{{id: A, limit: 600}}]
runs:
  - {{id: r0, readings: {{s: {{A: {phasor(r0)}}}}}}}
  - {{id: r0b, readings: {{s: {{A: {phasor(again)}}}}}}}
  - {{id: t1, masses: [{{plane: P1, mass: 50, angle: 0}}], readings: {{s: {{A: {phasor(t1)}}}}}}}
  - {{id: up, masses: [{{plane: P1, mass: 50, angle: 0}}], readings: {{s: {{A: {phasor(t1 + 1)}}}}}}}
""", "--so-far")
        scatter = abs(again - r0) / math.sqrt(2)
        std = scatter * math.sqrt(1 + 1)          # of t1's one reading, and of the next
        card = row(result, "A")
        self.assertAlmostEqual(card["spread90"], std * math.sqrt(1 / 0.1 - 1), 8)
        self.assertAlmostEqual(card["abort"], 60 + std * math.sqrt(1 / 0.01 - 1), 8)


class LastRun(unittest.TestCase):
    """A coefficient of 0.4 at 90 degrees lag a gram; the correction of 100 g at 30 degrees sits at -30."""
    TEXT = """sensors: [{id: A, limit: 60, repeatability: 0.2}, {id: B, limit: 60, repeatability: 0.2}]
runs:
  - {id: r0, readings: {low: {A: %s}, s: {A: %s, B: %s}}}
  - {id: t1, masses: [{plane: P1, mass: %g, angle: 0}], readings: {low: {A: %s}, s: {A: %s, B: %s}}}
  - {id: correction, masses: [{plane: P1, mass: 100, angle: 30}], readings: {%s}}
"""

    def case(self, angle, trial=50, upto="s"):
        own = {"low": (polar(20, 0), polar(0.1, 80)), "A": (polar(80, 10), polar(0.4, 90)), "B": (polar(60, 50), polar(0.5, 200))}
        with_mass = lambda key, mass: phasor(own[key][0] + own[key][1] * mass)
        on = polar(100, angle)
        read = f"low: {{A: {with_mass('low', on)}}}"
        if upto == "s":
            read += f", s: {{A: {with_mass('A', on)}, B: {with_mass('B', on)}}}"
        return self.TEXT % (*(with_mass(k, 0) for k in own), trial, *(with_mass(k, trial) for k in own), read)

    def solve(self, angle):
        done = subprocess.run([PROGRAM, "solve", "-"], input=HEAD + self.case(angle), capture_output=True, text=True)
        self.assertIn(done.returncode, (0, 1), done.stderr)
        return " ".join(done.stdout.split())

    def test_nothing_is_to_be_mounted_on_a_run_that_missed(self):
        page = self.solve(-30)
        self.assertIn("SUMMARY - Do not mount anything yet: the last run, correction, missed", page)
        self.assertIn("WHAT TO MOUNT Do not mount anything yet", page)
        self.assertIn("mirrored angle", page)
        self.assertNotIn("Do not mount anything yet", self.solve(30))

    def test_the_verdict_alone_makes_the_status(self):
        """A trial of 1.2 g that hardly shows is a fault of the evidence, not of the run that is going on."""
        result, status = check(self.case(30, 1.2, "low"), "--so-far")
        self.assertIn("trial-too-small", codes(result, "fault"))
        self.assertEqual((result["so_far"]["verdict"], status), ("go-on", 0))


class Weights(unittest.TestCase):
    """A run of weight w has standard deviation s/sqrt(w)."""
    TEXT = """sensors: [{id: A, limit: 600, repeatability: 1}, {id: B, limit: 600, repeatability: 1}]
runs:
  - {id: r0, readings: {s: {A: 80 @ 10, B: 60 @ 50}}}
  - {id: t1, masses: [{plane: P1, mass: 50, angle: 0}], readings: {s: {A: 60 @ 30, B: 70 @ 90}}}
  - {id: r0b, weight: %g, readings: {s: {A: %g @ 10, B: 60 @ 50}}}
  - {id: t1b, masses: [{plane: P1, mass: 50, angle: 0}], readings: {s: {A: 60.1 @ 30, B: 70.2 @ 90}}}
"""
    QUESTIONS = {"mounted-differently", "run-does-not-fit", "state-disagrees", "reference-drifted"}

    def test_findings(self):
        for weight in (1, 0.04, 0.0001):
            for sigmas, found in ((1, False), (12, True)):
                result, _ = check(self.TEXT % (weight, 80 + sigmas / math.sqrt(weight) if weight >= 0.04 else 80 + sigmas * 100))
                self.assertEqual(self.QUESTIONS & set(codes(result)), self.QUESTIONS if found else set(), (weight, sigmas))

    def test_card(self):
        result, _ = check(self.TEXT.replace("- {id: t1b,", "- {id: t1b, weight: 0.25,") % (1, 80), "--so-far")
        s2 = 1 + 4                                # t1's reading, and one of weight 1/4
        self.assertAlmostEqual(row(result, "A")["spread90"], math.sqrt(s2 * math.log(10)), 6)


class Order(unittest.TestCase):
    def test_sensors_in_another_order(self):
        """A with a repeatability, B without, V of another pool: findings do not depend on who stands first."""
        sensors = ["{id: V, unit: mm/s rms, weight: 0}", "{id: A, repeatability: 0.1}", "{id: B}"]
        rng = np.random.default_rng(5)
        runs = "\n".join("  - {id: r%d, %sreadings: {s: {V: %.3f @ 0, A: %.3f @ 10, B: %.3f @ 50}}}" %
                         (k, "masses: [{plane: P1, mass: 50, angle: 0}], " if k > 2 else "", 5 + 2 * (k > 2) + 0.05 * rng.normal(),
                          80 - 20 * (k > 2) + 0.05 * rng.normal(), 60 + 10 * (k > 2) + 2 * rng.normal()) for k in range(5))
        found = []
        for order in ((0, 1, 2), (0, 2, 1), (2, 1, 0), (1, 0, 2)):
            result, _ = check("sensors: [" + ", ".join(sensors[i] for i in order) + "]\nruns:\n" + runs + "\n")
            found.append(sorted((f["code"], f.get("sensor", "")) for f in result["findings"]))
        self.assertTrue(all(f == found[0] for f in found), found)
        self.assertNotIn("run-does-not-fit", [code for code, _ in found[0]])


if __name__ == "__main__":
    unittest.main()

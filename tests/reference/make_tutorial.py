# SPDX-License-Identifier: MIT
"""Writes the case files of docs/tutorial.md, one for each step of a small job.

    /usr/bin/python3 tests/reference/make_tutorial.py [FOLDER]

The machine is invented: a two-disc exhauster on two sleeve bearings that runs
above its first critical speed, 4,500 r/min.  Readings come from the shaft model
with its unbalance and the masses of each step, with seeded scatter, rounded as a
person writes them down.  The masses of the steps are those that the program
advised in the step before, rounded to what a workshop can make.
"""
import pathlib
import sys
import numpy as np
from shaft_model import Rotor

RPM, RADIUS, SCATTER = 4500, 240, 0.3                  # r/min, mm, um pp
PLANES = {"inlet disc": 0.6, "outlet disc": 1.1}
BEARINGS = {"drive": 0.2, "free": 1.5}
PROBES = [(f"{bearing} {axis}", bearing, angle) for bearing in BEARINGS for axis, angle in (("left", 45), ("right", -45))]
UNBALANCE = [(0.6, 2.6, 205), (1.1, 3.4, 72), (0.85, 1.3, 330)]      # m, g m, degrees with rotation from the mark
NEXT_YEAR = [(0.6, 1.1, 40), (1.1, 2.3, 250), (0.85, 0.7, 10)]


def machine():
    nodes = np.round(np.arange(0, 1.7001, 0.05), 9)
    line = Rotor(nodes, phase_probe=45.0)
    for i, z in enumerate((nodes[:-1] + nodes[1:]) / 2):
        line.element(i, 0.07 if z < 0.3 or z > 1.4 else 0.09)
    for z in PLANES.values():
        line.disk(line.node_at(z), 38, 0.55, 0.3)
    line.disk(line.node_at(0.0), 9, 0.02, 0.012)        # coupling half
    for z in BEARINGS.values():
        line.bearing(line.node_at(z), [[4.5e7, 3e6], [-5e6, 3.4e7]], np.diag([4.5e4, 3.6e4]))
    return line


def phasor(amplitude, degrees):
    return amplitude * np.exp(1j * np.radians(degrees))


class Crew:
    def __init__(self, unbalance, seed):
        self.line = machine()
        self.parts = [(self.line.node_at(z), 1e-3 * phasor(u, a)) for z, u, a in unbalance]
        self.noise = np.random.RandomState(seed)

    def read(self, masses):
        """Amplitude and phase lag of each probe; masses in g at angles against rotation."""
        added = [(self.line.node_at(PLANES[p]), 1e-3 * g * 1e-3 * RADIUS * phasor(1, -a)) for p, g, a in masses]
        q = self.line.response(RPM * np.pi / 30, self.parts + added)
        row = {}
        for name, bearing, angle in PROBES:
            lead = 2e6 * self.line.probe(q, self.line.node_at(BEARINGS[bearing]), angle)
            lead += self.noise.randn(2) @ [1, 1j] * SCATTER / np.sqrt(2)
            row[name] = f"{abs(lead):.3g} @ {round(-np.degrees(np.angle(lead))) % 360}"
        return row


HEAD = """\
# {about}
# The machine is invented; the readings come from a model of a shaft.
case:
  format: 1
  title: {title}

conventions:
  phase: lag
  mass_angle: against-rotation
  rotation: clockwise
  seen_from: coupling

units: {{speed: rpm, mass: g, length: mm, vibration: um pp}}

speeds:
  - {{id: service, speed: 4500}}

rotor:
  mass: 158 kg
  service_speed: 4500
  overspeed: 4950
  grade: G2.5
  mass_centre: 830
  bearings: [{{id: drive, position: 200, static_load: 0.78 kN}}, {{id: free, position: 1500, static_load: 0.77 kN}}]

sensors:
"""
SENSOR = "  - {{id: {0}, position: {1:g}, angle: {2:g}, kind: shaft-relative, limit: 12, alarm: 40, trip: 60, repeatability: 0.4}}\n"
PLANE = "  - {{id: {0}, position: {1:g}, radius: 240, cap: 40}}\n"

TRIAL_INLET = [("inlet disc", 1.4, 0)]
TRIAL_OUTLET = [("outlet disc", 1.4, 0)]
HALF = [("inlet disc", 3.7, 317), ("outlet disc", 6.4, 119)]
REST = [("inlet disc", 5.4, 316), ("outlet disc", 7.3, 124)]


def run(name, masses, readings, note=None, after=None):
    yield from ([f"  # {note}"] if note else [])
    yield f"  - id: {name}"
    if after:
        yield f"    after: {after}"
    if masses:
        yield f"    {'added' if after else 'masses'}: [" + ", ".join(f"{{plane: {p}, mass: {g}, angle: {a}}}" for p, g, a in masses) + "]"
    yield "    readings:"
    yield "      service: {" + ", ".join(f"{s}: {v}" for s, v in readings.items()) + "}"


def file(about, title, runs):
    text = HEAD.format(about=about, title=title)
    text += "".join(SENSOR.format(n, BEARINGS[b] * 1000, a % 360) for n, b, a in PROBES)
    text += "\nplanes:\n" + "".join(PLANE.format(p, z * 1000) for p, z in PLANES.items())
    return text + "\nruns:\n" + "\n".join(line for one in runs for line in one) + "\n"

KNOWN = """
# What the first job taught: countermass influence --record exhauster-record.yaml 5-whole.yaml
# uncertainty: how far the machine may have moved since, on top of the record's own spread.
influence:
  - {record: exhauster-record.yaml, uncertainty: {size: 10 %, phase: 6, common: 0.7}}
"""


def files():
    crew, title = Crew(UNBALANCE, 11), "Exhauster of a glass works"
    runs = [list(run("as-found", [], crew.read([])))]
    steps = [("1-as-found.yaml", "Step 1: the machine as it was found.", list(runs))]
    for name, about, label, masses, note, after in [
            ("2-first-trial.yaml", "Step 2: one trial mass was tried.", "trial on the inlet disc", TRIAL_INLET, None, None),
            ("3-second-trial.yaml", "Step 3: both planes were tried.", "trial on the outlet disc", TRIAL_OUTLET,
             "the first trial mass was taken off again", None),
            ("4-half.yaml", "Step 4: half of the correction is on.", "half", HALF, "no trial mass is on any more", None),
            ("5-whole.yaml", "Step 5: the whole correction is on.", "whole", REST, None, "half")]:
        readings = crew.read(HALF + REST if after else masses)
        runs.append(list(run(label, masses, readings, note, after)))
        steps.append((name, about, list(runs)))
    texts = {name: file(about, title, some) for name, about, some in steps}
    later = Crew(NEXT_YEAR, 12)
    texts["6-a-year-later.yaml"] = file("A year later: one run, the coefficients come from the record of the first job.",
                                        title + ", a year later", [run("as-found", [], later.read([]))]) + KNOWN
    return {name: text + MODELINE for name, text in texts.items()}


MODELINE = "# yaml-language-server: $schema=../schema.json\n"


def main():
    folder = pathlib.Path(sys.argv[1] if len(sys.argv) > 1 else pathlib.Path(__file__).parents[2] / "cases" / "tutorial")
    for name, text in files().items():
        (folder / name).write_text(text)


if __name__ == "__main__":
    main()

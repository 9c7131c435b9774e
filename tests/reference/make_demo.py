# SPDX-License-Identifier: MIT
"""Writes the demonstration cases from the shaft model of heating_plant.py.

    /usr/bin/python3 tests/reference/make_demo.py [FOLDER]

The readings are those of the model with its unbalance and the masses of each
run, at the speed that was really held, with slow roll and scatter added and
rounded as a person writes them down.  The scatter is seeded; RandomState keeps
its sequence from one numpy to the next.
"""
import pathlib
import sys
import numpy as np
import heating_plant as plant

CRITICAL, SERVICE = "near first critical", "service"
SPEEDS = {CRITICAL: 1660, SERVICE: 3000}
RADIUS = {"P1": 260, "P2": 360, "P3": 360, "P4": 380, "P5": 380}
ZERO = {"P4": 20}
SCATTER = 1.0                     # um pp, sqrt(E|e|^2), of one reading
# position m, unbalance g m, angle with rotation from the reference mark
AS_FOUND = [(1.0, 9, 270), (1.8, 44, 181), (2.6, 17, 232), (4.6, 106, 198), (5.4, 50, 250),
            (6.2, 138, 70), (9.2, 44, 67), (10.4, 132, 13), (11.6, 104, 330), (7.4, 50, 96),
            (3.4, 19, 3), (13.4, 12, 23)]
TWO_YEARS_LATER = [(1.0, 22, 100), (1.8, 31, 128), (2.6, 12, 61), (4.6, 46, 15), (5.4, 30, 340),
                   (6.2, 31, 214), (8.9, 55, 205), (10.4, 42, 260), (11.6, 60, 300), (3.4, 14, 170)]
SLOW_ROLL = {"2x": (6, 210), "4y": (9, 75), "5x": (4, 320)}
# id, masses (plane, grams, angle as the case counts), speeds held, note
RUNS = [
    ("as-found", [], {}, None),
    ("trial on P1", [("P1", 120, 340)], {}, "the mass was taken off after this run"),
    ("trial on P5", [("P5", 250, 160)], {CRITICAL: 1662}, "left on for the next run"),
    ("trial on P4", [("P4", 250, 150), ("P5", 250, 160)], {}, "P5 still carries its mass"),
    ("as-found again", [], {SERVICE: 2998}, "everything off: shows how well the machine repeats"),
    ("trial on P2 and P3", [("P2", 150, 15), ("P3", 150, 15)], {},
     "two planes at once, the masses at the same angle ..."),
    ("trial on P2 against P3", [("P2", 150, 15), ("P3", 150, 195)], {CRITICAL: 1658},
     "... and opposite each other; these are still on the rotor"),
]
MISSING = {("as-found again", "3y")}     # a probe that gave nothing
TWICE = {("as-found", "1x"), ("as-found", "6y")}             # read twice at service speed


def phasor(amplitude, degrees):
    return amplitude * np.exp(1j * np.radians(degrees))


class Readings:
    """Measures the model the way a crew would."""

    def __init__(self, unbalance, slow_roll, seed):
        self.line = plant.build()
        self.unbalance = [(z, phasor(u * 1e-3, a)) for z, u, a in unbalance]
        self.slow_roll = slow_roll
        self.noise = np.random.RandomState(seed)

    def true(self, masses, rpm):
        """Phase-lead phasors; mass angles count against rotation."""
        parts = [(plant.PLANES[p], 1e-3 * g * 1e-3 * RADIUS[p] * phasor(1, -a - ZERO.get(p, 0)))
                 for p, g, a in masses]
        return plant.readings(self.line, rpm, self.unbalance + parts)

    def one(self, sensor, value):
        """One reading as written: amplitude and phase lag."""
        e = self.noise.randn(2) @ [1, 1j] * SCATTER / np.sqrt(2)
        roll = phasor(*self.slow_roll[sensor]).conjugate() if sensor in self.slow_roll else 0
        return written(value + roll + e)


def written(lead):
    """Rounded as a person does: half a micrometre below 20, a whole one above."""
    size = abs(lead)
    size = round(size * 2) / 2 if size < 20 else round(size)
    return size, round(-np.degrees(np.angle(lead))) % 360


def text(reading):
    return f"{reading[0]:g} @ {reading[1]}"


def measure(crew, runs):
    """{run: {speed: {sensor: [reading, ...]}}} and the values as floats."""
    table = {}
    for run, masses, held, _ in runs:
        for speed, rpm in SPEEDS.items():
            values = crew.true(masses, held.get(speed, rpm))
            row = table.setdefault(run, {}).setdefault(speed, {})
            for (sensor, _, _), value in zip(plant.rows(), values):
                if (run, sensor) in MISSING:
                    continue
                times = 2 if speed == SERVICE and (run, sensor) in TWICE else 1
                row[sensor] = [crew.one(sensor, value) for _ in range(times)]
    return table


def head(title, about, notes):
    return [f"# {line}" for line in about] + f"""
case:
  format: 1
  title: {title}
  place: an invented town
  notes: {notes}

# Both conventions must be stated; mixing them up mirrors every answer.
conventions:
  phase: lag                      # a larger phase: the high spot comes later
  mass_angle: against-rotation    # angles on the rotor grow against rotation
  rotation: counter-clockwise
  seen_from: steam end

units: {{speed: rpm, mass: g, length: mm, vibration: um pp}}

# The speed near the first critical is where the generator was held in the
# run-up; raise or lower a weight to make one speed count more than the other.
speeds:
  - {{id: {CRITICAL}, speed: {SPEEDS[CRITICAL]}, weight: 1}}
  - {{id: {SERVICE}, speed: {SPEEDS[SERVICE]}, weight: 1}}

rotor: {{service_speed: 3000, overspeed: 3300}}

# Two shaft probes at each of the six bearings.  To leave one out of the answer
# give it weight: 0; to add one, add a line here and its readings below.
sensors:""".split("\n")


def sensors():
    for sensor, b, angle in plant.rows():
        yield (f"  - {{id: {sensor}, position: {plant.BEARINGS[b] * 1000:g}, angle: {angle % 360:g}, "
               f"limit: {{{CRITICAL}: 80, {SERVICE}: 60}},\n"
               f"     alarm: 120, trip: 165, repeatability: 1.2}}")


def planes(caps):
    yield from ("", "# cap: the most the plane can carry in total; edit it to what yours takes.")
    yield from ("# zero: where the plane's own counting begins, from the reference mark.", "planes:")
    for plane, z in plant.PLANES.items():
        zero = f", zero: {ZERO[plane]}" if plane in ZERO else ""
        yield (f"  - {{id: {plane}, position: {z * 1000:g}, radius: {RADIUS[plane]}, "
               f"cap: {caps[plane]}{zero}}}")


def mass_list(masses):
    return ", ".join(f"{{plane: {p}, mass: {g}, angle: {a}}}" for p, g, a in masses)


def reading_lines(row):
    """Two bearings a line."""
    lines = {}
    for sensor, values in row.items():
        value = text(values[0]) if len(values) == 1 else "[" + ", ".join(map(text, values)) + "]"
        lines.setdefault((int(sensor[0]) - 1) // 2, []).append(f"{sensor}: {value}")
    lines = [", ".join(parts) for parts in lines.values()]
    return "        {" + ",\n         ".join(lines) + "}"


def run_lines(runs, table):
    yield from ("", "# The runs in the order made.  masses: everything added since as-found that",
                "# was on the rotor.  Readings: amplitude @ phase; a list is one reading repeated.", "runs:")
    for run, masses, held, note in runs:
        if note:
            yield f"  # {note}"
        yield f"  - id: {run}"
        if masses:
            yield f"    masses: [{mass_list(masses)}]"
        if held:
            yield "    actual_speed: {" + ", ".join(f"{s}: {v}" for s, v in held.items()) + "}"
        yield "    readings:"
        for speed in table[run]:
            yield f"      {speed}:"
            yield reading_lines(table[run][speed])


def slow_roll_lines(slow_roll):
    yield from ("", "# Read at turning speed; taken off every reading of the probe.")
    yield "slow_roll: {" + ", ".join(f"{s}: {a} @ {p}" for s, (a, p) in slow_roll.items()) + "}"


def objective_lines(minimise, extra=()):
    yield from ("", "# minimise: least-squares makes the whole line quiet, min-max the worst reading.",
                "# use_planes: [P1, P2] would leave the other planes as they are.", "objective:",
                f"  minimise: {minimise}", *extra)


def fitted(table):
    """Coefficients and nothing else from readings as written: {(speed, sensor,
    plane): lag phasor per gram at the plane's own angle 0}."""
    names = list(plant.PLANES)
    states = {run: [sum(g * phasor(1, a) for p, g, a in masses if p == n) for n in names]
              for run, masses, _, _ in RUNS}
    found = {}
    for speed in SPEEDS:
        for sensor, _, _ in plant.rows():
            runs = [r for r, *_ in RUNS if sensor in table[r][speed]]
            y = [np.mean([phasor(*v) for v in table[r][speed][sensor]]) for r in runs]
            d = np.array([[1, *states[r]] for r in runs])
            a = np.linalg.lstsq(d, np.array(y), rcond=None)[0][1:]
            found.update({(speed, sensor, n): v for n, v in zip(names, a)})
    return found


def influence_lines(found):
    yield from ("", "# What one gram at the plane's radius and own angle 0 does, as fitted two years",
                "# ago; the uncertainty is how far it may have moved since, in um pp per gram.", "influence:")
    for plane in plant.PLANES:
        for speed in SPEEDS:
            for sensor, _, _ in plant.rows():
                a = found[speed, sensor, plane]
                size, angle = float(f"{abs(a):.3g}"), round(np.degrees(np.angle(a))) % 360
                yield (f"  - {{plane: {plane}, speed: {speed}, sensor: {sensor}, "
                       f"value: {size:.3g} @ {angle}, uncertainty: 0.01}}")


TITLE = "Back-pressure turbine and generator, district-heating plant"
ROOMY = {"P1": 350, "P2": 400, "P3": 400, "P4": 600, "P5": 600}
TIGHT = {"P1": 150, "P2": 400, "P3": 400, "P4": 260, "P5": 330}


def job(about, caps, objective, extra=()):
    crew = Readings(AS_FOUND, SLOW_ROLL, 20)
    table = measure(crew, RUNS)
    return [*head(TITLE, about, "three rotors in solid couplings, six bearings, five correction planes"),
            *sensors(), *planes(caps), *run_lines(RUNS, table), *slow_roll_lines(SLOW_ROLL),
            *objective_lines(objective, extra)]


def next_outage():
    found = fitted(measure(Readings(AS_FOUND, SLOW_ROLL, 20), RUNS))
    runs = [("as-found", [], {}, None)]
    table = measure(Readings(TWO_YEARS_LATER, SLOW_ROLL, 21), runs)
    about = ["The same machine two years later, balanced without a trial run: the",
             "coefficients of the earlier job are known, each with an uncertainty.",
             "The machine is invented; the readings come from a model of a shaft line."]
    notes = "two years after the first job; one start with nothing added"
    return [*head(TITLE + ", next outage", about, notes), *sensors(), *planes(ROOMY),
            *run_lines(runs, table), *slow_roll_lines(SLOW_ROLL), *influence_lines(found),
            *objective_lines("least-squares")]


def best_masses(table):
    """Least squares over both speeds from readings as written: {plane: (grams, own angle)} in whole numbers."""
    found, names = fitted(table), list(plant.PLANES)
    rows = [(speed, sensor) for speed in SPEEDS for sensor, _, _ in plant.rows()]
    a = np.array([[found[(*row, n)] for n in names] for row in rows])
    y = np.array([phasor(*table["as-found"][speed][sensor][0]) - phasor(*SLOW_ROLL.get(sensor, (0, 0)))
                  for speed, sensor in rows])
    x = np.linalg.lstsq(a, -y, rcond=None)[0]
    return {n: (round(abs(m)), round(np.degrees(np.angle(m))) % 360) for n, m in zip(names, x)}


def wrong_side():
    """The correction run, on its way up: P4's mass sits where its angle counted the other way leads."""
    crew = Readings(AS_FOUND, SLOW_ROLL, 20)
    table = measure(crew, RUNS)
    stated = [(p, g, a) for p, (g, a) in best_masses(table).items()]
    really = [(p, g, -a % 360 if p == "P4" else a) for p, g, a in stated]
    values = crew.true(really, SPEEDS[CRITICAL])
    table["correction"] = {CRITICAL: {s: [crew.one(s, v)] for (s, _, _), v in zip(plant.rows(), values)}}
    runs = RUNS + [("correction", stated, {}, "all trial masses off, these on; read while holding on the way up")]
    about = ["The first start with the correction masses, read on the way up: one of them",
             "is not where it should be. Try: countermass check --so-far", INVENTED]
    return [*head(TITLE + ", correction run", about, "the run-up was broken off near the first critical speed"),
            *sensors(), *planes(ROOMY), *run_lines(runs, table), *slow_roll_lines(SLOW_ROLL),
            *objective_lines("least-squares")]


INVENTED = "The machine is invented; the readings come from a model of a shaft line."
CASES = {
    "turbine-generator.yaml": lambda: job(
        ["A complete job: as-found run, trial runs, limits, and the question at the end.",
         INVENTED, "Change anything below and run the program again."], ROOMY, "least-squares"),
    "min-max.yaml": lambda: job(
        ["The same job with planes that can carry little: the worst reading is made as",
         "low as the caps allow, and the answer says which caps bind.", INVENTED],
        TIGHT, "min-max"),
    "next-outage.yaml": next_outage,
    "wrong-side.yaml": wrong_side,
}


MODELINE = "# yaml-language-server: $schema=../schema.json\n"


def text_of(make):
    return "\n".join(make()).rstrip() + "\n" + MODELINE


def main():
    folder = pathlib.Path(sys.argv[1] if len(sys.argv) > 1 else
                          pathlib.Path(__file__).parents[2] / "cases" / "demo")
    for name, make in CASES.items():
        (folder / name).write_text(text_of(make))


if __name__ == "__main__":
    main()

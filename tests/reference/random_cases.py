# SPDX-License-Identifier: MIT
"""Random cases that reach into every corner of the case file's core.

Readings are those of a random linear machine with scatter, so that no fit is
exact and every scatter has a value.  make(seed) returns the text of a case.
"""
import numpy as np

MASS_UNITS = {"g": 1.0, "kg": 1000.0, "oz": 28.349523125, "lb": 453.59237}
LENGTH_UNITS = {"mm": 1.0, "m": 1000.0, "in": 25.4}
# size in the first unit of its kind
VIBRATION_UNITS = {"um pp": 1.0, "um pk": 2.0, "mil pp": 25.4, "mil rms": 25.4 * 2 * np.sqrt(2),
                   "mm pp": 1000.0}
OTHER_UNITS = ["mm/s rms", "in/s pk", "m/s2 pk", "g rms"]
PLANS = ["one by one", "left on", "several at once", "pair together", "known", "known and tried",
         "priors", "priors in common", "few runs", "dependent planes", "few rows"]
PRIORS = ("priors", "priors in common")
WHOLE = ("pair together", "priors in common")      # no reading is missing


def near(rng, low, high):
    return float(rng.uniform(low, high))


class Maker:
    def __init__(self, seed):
        self.rng = np.random.RandomState(seed)
        self.plan = PLANS[seed % len(PLANS)]
        self.chance = lambda p: self.rng.rand() < p
        self._names()
        self._machine()
        self._states()
        self._choices()

    def _names(self):
        rng = self.rng
        self.lag, self.against = [(a, b) for a in (0, 1) for b in (0, 1)][rng.randint(4)]
        self.mass_unit = rng.choice(list(MASS_UNITS))
        self.length_unit = rng.choice(list(LENGTH_UNITS))
        self.vibration = rng.choice(list(VIBRATION_UNITS))
        few = self.plan == "few rows"
        self.speeds = [f"speed {i + 1}" for i in range(1 if few else rng.randint(1, 4))]
        self.planes = [f"P{j + 1}" for j in range(rng.randint(3, 6) if few else rng.randint(2, 6))]
        self.sensors = [f"{i + 1}x" for i in range(rng.randint(1, 3) if few else rng.randint(4, 9))]
        self.limits = self.chance(0.6)
        self.unit = {s: self._unit() for s in self.sensors}

    def _unit(self):
        if not self.limits or self.chance(0.6):
            return self.vibration
        return self.rng.choice(list(VIBRATION_UNITS) + OTHER_UNITS)

    def _machine(self):
        """Influence per gram (frame) and as-found readings, sensor units."""
        rng, n, m = self.rng, len(self.sensors) * len(self.speeds), len(self.planes)
        self.rows = [(v, s) for v in self.speeds for s in self.sensors]
        self.trial = {p: near(rng, 20, 200) for p in self.planes}
        size = np.array([50 / VIBRATION_UNITS.get(self.unit[s], 5.0) for _, s in self.rows])
        z = rng.randn(n, m + 1) + 1j * rng.randn(n, m + 1)
        self.as_found = size * z[:, 0]
        self.a = 0.5 * size[:, None] * z[:, 1:] / np.array(list(self.trial.values()))
        if self.plan == "dependent planes":
            self.a[:, 1] = self.a[:, 0] * 2
        self.scatter = 0.02 * size
        self.zero = {p: round(near(rng, 0, 360), 1) if self.chance(0.4) else 0 for p in self.planes}
        self.radius = {p: near(rng, 100, 500) for p in self.planes}

    def phasor_mass(self, grams=None, plane=None):
        g = grams if grams is not None else self.trial[plane] * near(self.rng, 0.5, 1.5)
        return g * np.exp(2j * np.pi * self.rng.rand())

    def _states(self):
        m = len(self.planes)
        states = [np.zeros(m, complex)]
        plan = self.plan
        if plan in ("one by one", "left on", "known and tried", *PRIORS):
            for j in range(m):
                state = states[-1].copy() if plan == "left on" else np.zeros(m, complex)
                state[j] = self.phasor_mass(plane=self.planes[j])
                states.append(state)
        elif plan == "several at once":
            for _ in range(m + self.rng.randint(0, 4)):
                states.append(np.array([self.phasor_mass(plane=p) * self.chance(0.7) for p in self.planes]))
        elif plan == "pair together":
            self.ratio = near(self.rng, 0.5, 2) * np.exp(2j * np.pi * self.rng.rand())
            for j in range(1, m):
                state = np.zeros(m, complex)
                state[j] = self.phasor_mass(plane=self.planes[j])
                if j == 1:
                    state[0] = self.ratio * state[1]
                states.append(state)
        elif plan == "few runs":
            for _ in range(max(1, m - 2)):
                states.append(np.array([self.phasor_mass(plane=p) * self.chance(0.5) for p in self.planes]))
        if self.chance(0.5):
            states.append(states[self.rng.randint(len(states))].copy())
        if self.chance(0.3):
            states.append(states[0].copy())
        self.states = np.array(states)

    def _choices(self):
        """Missing readings, known coefficients, objective."""
        rng, n, k = self.rng, len(self.rows), len(self.states)
        self.there = rng.rand(n, k) > (0.1 if self.chance(0.5) and self.plan not in WHOLE else 0.0)
        self.there[0, 0] = True
        self.repeats = 1 + (rng.rand(n, k) < 0.1) * rng.randint(1, 3, (n, k))
        self.roll = {s: self._reading_size(s) * 0.05 * np.exp(2j * np.pi * rng.rand())
                     for s in self.sensors if self.chance(0.3)}
        self.declared = self.chance(0.5)

    def _reading_size(self, sensor):
        return 50 / VIBRATION_UNITS.get(self.unit[sensor], 5.0)

    # ---- writing ----

    def mass(self, value, plane=None, own_unit=None):
        """{mass, angle} of a frame phasor in grams, at the plane's own angle."""
        unit = self.mass_unit
        angle = np.degrees(np.angle(value)) * (-1 if self.against else 1) - self.zero.get(plane, 0)
        size = abs(value)
        if own_unit is None and self.chance(0.2):
            own_unit = self.rng.choice(list(MASS_UNITS))
        if self.chance(0.15):
            size, angle = -size, angle + 180
        return f"{size / MASS_UNITS[own_unit or unit]!r}" + (f" {own_unit}" if own_unit else ""), f"{angle!r}"

    def mass_phasor(self, value, plane=None):
        angle = np.degrees(np.angle(value)) * (-1 if self.against else 1) - self.zero.get(plane, 0)
        return f"{abs(value) / MASS_UNITS[self.mass_unit]!r} @ {angle!r}"

    def mass_entries(self, state):
        entries = []
        for plane, total in zip(self.planes, state):
            if total == 0:
                continue
            parts = [total]
            if self.chance(0.25):
                first = self.phasor_mass(grams=abs(total) * 0.4)
                parts = [first, total - first]
            for part in parts:
                extra = ""
                if self.chance(0.15):
                    other = near(self.rng, 100, 500)
                    part = part * self.radius[plane] / other
                    extra = f", radius: {other / LENGTH_UNITS[self.length_unit]!r}"
                size, angle = self.mass(part, plane)
                entries.append(f"{{plane: {plane}, mass: {size}, angle: {angle}{extra}}}")
        return "[" + ", ".join(entries) + "]"

    def reading(self, value, sensor):
        angle = np.degrees(np.angle(value)) * (-1 if self.lag else 1) + 360 * self.rng.randint(-1, 2)
        own, size = "", abs(value)
        if self.unit[sensor] in VIBRATION_UNITS and self.chance(0.1):
            other = self.rng.choice(list(VIBRATION_UNITS))
            size *= VIBRATION_UNITS[self.unit[sensor]] / VIBRATION_UNITS[other]
            own = f" {other}"
        return f"{size!r}{own} @ {angle!r}"

    def noise(self, i):
        return self.scatter[i] * (self.rng.randn() + 1j * self.rng.randn()) / np.sqrt(2)

    def readings(self, k):
        lines = []
        for v in self.speeds:
            parts = []
            for i, (speed, s) in enumerate(self.rows):
                if speed != v or not self.there[i, k]:
                    continue
                value = self.as_found[i] + self.a[i] @ self.states[k] + self.roll.get(s, 0)
                texts = [self.reading(value + self.noise(i), s) for _ in range(self.repeats[i, k])]
                parts.append(f"{s}: " + (texts[0] if len(texts) == 1 else "[" + ", ".join(texts) + "]"))
            if parts:
                lines.append(f"      {v}: {{{', '.join(parts)}}}")
        return lines

    def sensor_lines(self):
        counted = self.rng.randint(len(self.sensors))
        for i, s in enumerate(self.sensors):
            keys = [f"id: {s}"]
            if self.unit[s] != self.vibration or self.chance(0.2):
                keys.append(f"unit: {self.unit[s]}")
            if self.limits:
                limit = self._reading_size(s) * near(self.rng, 0.3, 1)
                keys.append(f"limit: {limit!r}" if self.chance(0.5) else "limit: {" + ", ".join(
                    f"{v}: {limit * near(self.rng, 0.5, 2)!r}" for v in self.speeds) + "}")
            if self.chance(0.3):
                weight = 0 if self.chance(0.4) and i != counted else near(self.rng, 0.2, 3)
                keys.append(f"weight: {weight!r}")
            if self.declared and self.chance(0.9):
                keys.append(f"repeatability: {self._reading_size(s) * near(self.rng, 0.01, 0.04)!r}")
            yield f"  - {{{', '.join(keys)}}}"

    def known_lines(self):
        if self.plan not in ("known", "known and tried", *PRIORS, "dependent planes", "few rows", "few runs"):
            return
        yield "influence:"
        for i, (speed, s) in enumerate(self.rows):
            for j, plane in enumerate(self.planes):
                if not self._knows(j):
                    continue
                turn = np.exp(1j * np.radians(self.zero[plane]) * (-1 if self.against else 1))
                value = self.a[i, j] * turn * MASS_UNITS[self.mass_unit]
                spread = ""
                if self.plan in PRIORS:
                    value *= 1 + 0.1 * (self.rng.randn() + 1j * self.rng.randn())
                    spread = f", uncertainty: {self.uncertainty(abs(value))}"
                text = f"{abs(value)!r} @ {np.degrees(np.angle(value)) * (-1 if self.lag else 1)!r}"
                yield f"  - {{plane: {plane}, speed: {speed}, sensor: {s}, value: {text}{spread}}}"

    def uncertainty(self, size):
        if self.plan == "priors in common":
            return (f"{{size: {near(self.rng, 5, 40)!r} %, phase: {near(self.rng, 2, 30)!r}, "
                    f"common: {near(self.rng, 0.2, 0.9)!r}}}")
        if self.chance(0.3):
            return f"{near(self.rng, 5, 40)!r} %"
        return repr(size * near(self.rng, 0.05, 0.4))

    def _knows(self, j):
        if self.plan in ("known", "dependent planes", "few rows"):
            return True
        if self.plan in PRIORS:
            return self.chance(0.8)
        return (j + len(self.planes)) % 2 == 0

    def objective_lines(self):
        keys, moving = [], list(self.planes)
        if self.chance(0.3):
            use = [p for p in moving if self.chance(0.7)] or moving[:1]
            keys.append(f"  use_planes: [{', '.join(use)}]")
            moving = use
        if self.chance(0.3):
            plane = self.planes[self.rng.randint(len(self.planes))]
            keys.append(f"  fixed: {{{plane}: {self.mass_phasor(self.phasor_mass(plane=plane), plane)}}}")
            moving = [p for p in moving if p != plane]
        keys += self._ties(moving)
        if self.chance(0.3):
            keys.append(f"  base: run {self.rng.randint(len(self.states))}")
        if self.chance(0.2) and len(self.rows) > 3:
            v, s = self.rows[self.rng.randint(len(self.rows))]
            if self.there[self.rows.index((v, s))].any():
                keys.append(f"  drop_rows: [[{s}, {v}]]")
        if keys:
            yield from ("objective:", *keys)

    def _ties(self, moving):
        sign = -1 if self.against else 1
        if self.plan == "pair together" and {"P1", "P2"} <= set(moving):
            ratio = f"{abs(self.ratio)!r} @ {sign * np.degrees(np.angle(self.ratio)) + 180!r}"
            return [f"  ties: [{{terms: {{P1: 1 @ 0, P2: {ratio}}}, equals: 0 @ 0}}]"]
        if len(moving) > 1 and self.chance(0.2):
            terms = ", ".join(f"{p}: {near(self.rng, 0.5, 2)!r} @ {near(self.rng, 0, 360)!r}" for p in moving[:2])
            equals = self.mass_phasor(self.phasor_mass(plane=moving[0])) if self.chance(0.6) else "0 @ 0"
            return [f"  ties: [{{terms: {{{terms}}}, equals: {equals}}}]"]
        return []

    def lines(self):
        yield from ("case:", "  format: 1", f"  title: {self.plan}", "conventions:",
                    f"  phase: {'lag' if self.lag else 'lead'}",
                    f"  mass_angle: {'against' if self.against else 'with'}-rotation",
                    f"units: {{mass: {self.mass_unit}, length: {self.length_unit}, vibration: {self.vibration}}}",
                    "speeds:")
        for i, v in enumerate(self.speeds):
            weight = f", weight: {near(self.rng, 0.3, 2)!r}" if self.chance(0.3) else ""
            yield f"  - {{id: {v}, speed: {1000 * (i + 1)}{weight}}}"
        yield from ("sensors:", *self.sensor_lines(), "planes:")
        for p in self.planes:
            zero = f", zero: {self.zero[p]}" if self.zero[p] else ""
            yield f"  - {{id: {p}, radius: {self.radius[p] / LENGTH_UNITS[self.length_unit]!r}{zero}}}"
        yield "runs:"
        for k, state in enumerate(self.states):
            yield f"  - id: run {k}"
            if state.any():
                yield f"    masses: {self.mass_entries(state)}"
            found = self.readings(k)
            if found:
                yield from ("    readings:", *found)
        if self.chance(0.3):
            now = np.array([self.phasor_mass(plane=p) * self.chance(0.4) for p in self.planes])
            yield f"now: {{masses: {self.mass_entries(now)}}}"
        if self.roll:
            yield "slow_roll: {" + ", ".join(f"{s}: {self.reading(v, s)}" for s, v in self.roll.items()) + "}"
        yield from self.known_lines()
        yield from self.objective_lines()


def make(seed):
    return "\n".join(Maker(seed).lines()) + "\n"

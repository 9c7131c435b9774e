# SPDX-License-Identifier: MIT
"""A small linear machine with known coefficients, and cases written from it.

Readings are y + A m, phase lead, in um pp; masses in grams with rotation.  A
case says phase lead and angles with rotation, so numbers go in unchanged.
"""
import json
import subprocess
import numpy as np

SPEEDS = {"low": 1500, "service": 3000}
SENSORS = ["DE", "FE", "GE"]
PLANES = ["P1", "P2"]


def phasor(size, degrees):
    return size * np.exp(1j * np.radians(degrees))


class Machine:
    """rows: (speed, sensor); y: as-found readings; a: rows x planes, um pp per g."""

    def __init__(self, seed=1, planes=PLANES, sensors=SENSORS, speeds=SPEEDS, size=60.0, each=0.5):
        self.planes, self.sensors, self.speeds = list(planes), list(sensors), dict(speeds)
        self.rows = [(v, s) for v in self.speeds for s in self.sensors]
        self.noise = np.random.RandomState(seed)
        shape = (len(self.rows), len(self.planes))
        self.y = size * np.exp(2j * np.pi * self.noise.rand(shape[0])) * self.noise.uniform(0.7, 1.3, shape[0])
        self.a = each * np.exp(2j * np.pi * self.noise.rand(*shape)) * self.noise.uniform(0.5, 1.5, shape)

    def error(self, scatter):
        n = len(self.rows)
        return scatter / np.sqrt(2) * (self.noise.randn(n) + 1j * self.noise.randn(n))

    def read(self, masses, scatter=0.0):
        """masses: {plane: complex grams}."""
        m = np.array([masses.get(p, 0) for p in self.planes])
        return self.y + self.a @ m + self.error(scatter)


def polar(z):
    return f"{abs(z):.6f} @ {np.degrees(np.angle(z)):.4f}"


def run_text(machine, run, masses, readings, extra=""):
    """readings: one value a row, None for not read, a list for repeated ones."""
    lines = [f"  - id: {run}"]
    if masses:
        parts = ", ".join(f"{{plane: {p}, mass: {abs(m):.6f}, angle: {np.degrees(np.angle(m)):.4f}}}"
                          for p, m in masses.items())
        lines.append(f"    masses: [{parts}]")
    if extra:
        lines.append(f"    {extra}")
    lines.append("    readings:")
    for v in machine.speeds:
        cells = []
        for (speed, sensor), value in zip(machine.rows, readings):
            if speed == v and value is not None:
                many = isinstance(value, (list, tuple))
                text = "[" + ", ".join(map(polar, value)) + "]" if many else polar(value)
                cells.append(f"{sensor}: {text}")
        if cells:
            lines.append(f"      {v}: {{" + ", ".join(cells) + "}")
    return lines


def case_text(machine, runs, sensor=", repeatability: 1", plane=", radius: 200", tail=(), head=()):
    """runs: (id, masses, readings[, extra line])."""
    lines = ["case: {format: 1, title: bench machine}",
             "conventions: {phase: lead, mass_angle: with-rotation}", *head, "speeds:"]
    lines += [f"  - {{id: {v}, speed: {rpm}}}" for v, rpm in machine.speeds.items()]
    lines += ["sensors:"] + [f"  - {{id: {s}{sensor}}}" for s in machine.sensors]
    lines += ["planes:"] + [f"  - {{id: {p}{plane}}}" for p in machine.planes]
    lines += ["runs:"]
    for run in runs:
        lines += run_text(machine, *run)
    return "\n".join([*lines, *tail]) + "\n"


def call(program, text, command="check", *options, folder=None):
    """(exit status, result or None, standard error)."""
    done = subprocess.run([program, command, "--format", "json", *options, "-"], input=text,
                          capture_output=True, text=True, cwd=folder)
    return done.returncode, json.loads(done.stdout) if done.stdout else None, done.stderr


def findings(program, text, *options, folder=None):
    status, tree, errors = call(program, text, "check", *options, folder=folder)
    if tree is None:
        raise RuntimeError(f"status {status}: {errors}\n{text}")
    return status, tree["findings"]

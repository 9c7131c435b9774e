# SPDX-License-Identifier: MIT
"""The invented machine of the demonstration cases: a district-heating plant's
back-pressure turbine (two rotors) and its generator, three rotors in solid
couplings on six bearings.  Dimensions are of the size such machines have; they
are nobody's.  x of the model points up, z from the steam end to the exciter end.
"""
import numpy as np
from shaft_model import Rotor

STEP = 0.1
LENGTH = 13.4
# from, to, outer diameter of stiffness in m, mass factor for blades or copper
SECTIONS = [(0.0, 0.6, 0.20, 1.0), (0.6, 2.8, 0.33, 1.0), (2.8, 3.4, 0.22, 1.0),
            (3.4, 4.2, 0.25, 1.0), (4.2, 6.6, 0.39, 1.0), (6.6, 7.4, 0.28, 1.0),
            (7.4, 8.4, 0.32, 1.0), (8.4, 12.4, 0.72, 1.35), (12.4, 13.4, 0.30, 1.0)]
# position, mass kg, outer diameter m: wheels with blades, couplings, fans
DISKS = [(1.0, 260, 0.80), (1.4, 240, 0.82), (1.8, 260, 0.86), (2.2, 280, 0.90), (2.5, 290, 0.94),
         (3.4, 160, 0.55), (4.6, 420, 1.10), (5.0, 380, 1.05), (5.4, 380, 1.05), (5.8, 400, 1.10),
         (6.2, 450, 1.20), (7.4, 240, 0.65), (8.6, 190, 0.90), (12.2, 190, 0.90), (13.4, 120, 0.45)]
BEARINGS = [0.3, 3.0, 3.9, 6.9, 7.9, 12.9]
# oil film: kxx, kxy, kyx, kyy in 1e8 N/m; cxx, cyy in 1e6 N s/m
FILMS = [(4.2, 0.3, -0.5, 3.4, 0.9, 0.7), (4.6, 0.4, -0.5, 3.7, 0.9, 0.7),
         (6.0, 0.5, -0.7, 4.8, 1.2, 1.0), (6.4, 0.5, -0.8, 5.1, 1.2, 1.0),
         (9.5, 0.6, -1.0, 7.6, 1.7, 1.4), (9.0, 0.6, -1.0, 7.2, 1.6, 1.4)]
PEDESTAL = (3500.0, [[2.2e9, 0], [0, 1.7e9]], [[5e5, 0], [0, 4e5]])
PLANES = {"P1": 2.6, "P2": 4.4, "P3": 6.4, "P4": 8.6, "P5": 12.2}
PROBES = {"x": 45.0, "y": -45.0}


def build():
    nodes = np.round(np.arange(0, LENGTH + STEP / 2, STEP), 9)
    line = Rotor(nodes, phase_probe=45.0)
    for i, z in enumerate((nodes[:-1] + nodes[1:]) / 2):
        _, _, outer, factor = next(s for s in SECTIONS if s[0] <= z < s[1])
        line.element(i, outer, density=7850 * factor)
    for z, mass, outer in DISKS:
        polar = mass * outer ** 2 / 8
        line.disk(line.node_at(z), mass, polar, 0.55 * polar)
    for z, (kxx, kxy, kyx, kyy, cxx, cyy) in zip(BEARINGS, FILMS):
        k = np.array([[kxx, kxy], [kyx, kyy]]) * 1e8
        line.bearing(line.node_at(z), k, np.diag([cxx, cyy]) * 1e6, PEDESTAL)
    return line


def rows():
    """(sensor id, journal node index into line.bearings, probe angle)."""
    return [(f"{b + 1}{axis}", b, angle) for b in range(len(BEARINGS))
            for axis, angle in PROBES.items()]


def readings(line, rpm, parts):
    """Twelve phase-lead readings in um pp caused by the unbalance parts:
    list of (position m, kg m at an angle with rotation as a complex number)."""
    q = line.response(rpm * np.pi / 30, [(line.node_at(z), u) for z, u in parts])
    return np.array([2e6 * line.probe(q, *(line.bearings[b][0], angle, line.bearings[b][1]))
                     for _, b, angle in rows()])


def coefficients(line, rpm, radius):
    """12 x 5, um pp per gram at the plane's radius (mm), phase lead."""
    return np.array([readings(line, rpm, [(z, 1e-3 * radius[p] * 1e-3)])
                     for p, z in PLANES.items()]).T

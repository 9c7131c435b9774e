# SPDX-License-Identifier: MIT
"""Known unbalance put into the correction planes of the shaft model comes back.

    /usr/bin/python3 tests/reference/test_recover.py PROGRAM

The design of J. Lund & J. Tonnesen, Analysis and experiments on multi-plane
balancing of a flexible rotor, ASME J. Eng. Ind. 94, 1972 (abstract READ): the
masses that were put in are known, several speeds are read, least squares over
all of them must find exactly these.  Readings are exact here, so the answer
must be exact: 1e-9 of the largest mass.
"""
import json
import subprocess
import sys
import numpy as np
import heating_plant as plant
from outside import outside

TOLERANCE = 1e-9
RADIUS = {"P1": 260, "P2": 360, "P3": 360, "P4": 380, "P5": 380}
# planes with the unbalance in grams at an angle with rotation; speeds held
TESTS = [
    ({"P4": (310.0, 75.0), "P5": (190.0, 221.0)}, (1500, 1660, 3000)),
    ({"P1": (85.0, 14.0), "P4": (260.0, 301.0)}, (1660, 2400, 3000)),
    ({"P1": (120.0, 33.0), "P2": (75.0, 150.0), "P3": (210.0, 287.0)}, (2000, 2400, 3000)),
    ({"P2": (140.0, 10.0), "P4": (330.0, 95.0), "P5": (90.0, 260.0)}, (1500, 1660, 3000)),
]
CONVENTIONS = [("lag", "against-rotation"), ("lag", "with-rotation"),
               ("lead", "against-rotation"), ("lead", "with-rotation")]
TRIAL = 100.0


def phasor(size, degrees):
    return size * np.exp(1j * np.radians(degrees))


def case_text(line, unbalance, speeds, phase, mass_angle):
    lag, against = (-1 if phase == "lag" else 1), (-1 if mass_angle == "against-rotation" else 1)
    planes = list(unbalance)
    sensors = [s for s, _, _ in plant.rows()]
    text = [f"case: {{format: 1, title: recovery of known unbalance}}",
            f"conventions: {{phase: {phase}, mass_angle: {mass_angle}}}", "speeds:"]
    text += [f"  - {{id: {rpm} rpm, speed: {rpm}}}" for rpm in speeds]
    text += ["sensors:"] + [f"  - {{id: {s}}}" for s in sensors]
    text += ["planes:"] + [f"  - {{id: {p}, radius: {RADIUS[p]}}}" for p in planes]
    text += ["runs:"]
    for k, trial in enumerate([None, *planes]):
        masses = {p: phasor(*unbalance[p]) for p in planes}
        text.append(f"  - id: run {k}")
        if trial:
            angle = 40.0 * k
            masses[trial] += phasor(TRIAL, angle)
            text.append(f"    masses: [{{plane: {trial}, mass: {TRIAL}, angle: {against * angle}}}]")
        text.append("    readings:")
        for rpm in speeds:
            parts = [(plant.PLANES[p], m * 1e-3 * RADIUS[p] * 1e-3) for p, m in masses.items()]
            values = plant.readings(line, rpm, parts)
            text.append(f"      {rpm} rpm: {{" + ", ".join(
                f"{s}: {float(abs(v))!r} @ {float(lag * np.degrees(np.angle(v)))!r}"
                for s, v in zip(sensors, values)) + "}")
    return "\n".join(text) + "\n", against


def error(program, line, unbalance, speeds, conventions):
    """Largest distance between what came back and what was put in, relative."""
    text, against = case_text(line, unbalance, speeds, *conventions)
    done = subprocess.run([program, "solve", "--format", "json", "-"], input=text, capture_output=True, text=True)
    if done.returncode != 0:
        print(done.stderr)
        return np.inf
    tree = json.loads(done.stdout)
    found = {c["plane"]: phasor(c["mass"], against * c["angle"]) for c in tree["corrections"]}
    wanted = {p: -phasor(*u) for p, u in unbalance.items()}
    return max(abs(found[p] - wanted[p]) for p in wanted) / max(map(abs, wanted.values()))


def main():
    line, failed, worst = plant.build(), 0, 0.0
    for unbalance, speeds in TESTS:
        for conventions in CONVENTIONS:
            e = error(sys.argv[1], line, unbalance, speeds, conventions)
            worst = max(worst, e)
            if not e <= TOLERANCE:
                failed += 1
                print(f"{', '.join(unbalance)} {conventions}: off by {e:.3g} of the largest mass")
    count = len(TESTS) * len(CONVENTIONS)
    print(f"known unbalance recovered: {count - failed} passed, {failed} failed, worst error {worst:.2g}")
    if not failed:
        outside("known unbalance put into the correction planes of a shaft line, read at several speeds",
                "design of J. Lund & J. Tonnesen, ASME J. Eng. Ind. 94, 1972 (abstract READ); own shaft model", "constructed",
                f"{count} jobs in all conventions come back to 1e-9")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())

# SPDX-License-Identifier: MIT
"""The reference shaft model against numbers from outside."""
import sys
import numpy as np
from shaft_model import Rotor
from outside import outside

RPM = 30 / np.pi
failures = []


def near(what, found, expected, relative):
    if not abs(found - expected) <= relative * abs(expected):
        failures.append(f"{what}: found {found:.8g}, expected {expected:.8g} within {relative:g}")


def overhung(orthotropic=False):
    """Geometry of H. D. Nelson & J. M. McVaugh, The dynamics of rotor-bearing
    systems using finite elements, ASME J. Eng. Ind. 98, 1976: READ in a
    university script; the end at 35.5 cm is value from memory of the paper."""
    cm = [0, 1.27, 5.08, 7.62, 8.89, 10.16, 10.67, 11.43, 12.70, 13.46, 16.51, 19.05, 22.86,
          26.67, 28.70, 30.48, 31.50, 34.54, 35.5]
    outer = [0.51, 1.02, 0.76, 2.03, 2.03, 3.30, 3.30, 2.54, 2.54, 1.27, 1.27, 1.52, 1.52, 1.27,
             1.27, 3.81, 2.03, 2.03]
    inner = [0] * 6 + [1.52, 1.78] + [0] * 9 + [1.52]
    rotor = Rotor(np.array(cm) / 100)
    for i, (o, n) in enumerate(zip(outer, inner)):
        rotor.element(i, 2 * o / 100, 2 * n / 100, 2.078e11, 7806, shear=False)
    rotor.disk(4, 1.401, 0.00203, 0.00136)
    k = [[3.503e7, -8.756e6], [-8.756e6, 3.503e7]] if orthotropic else np.eye(2) * 4.378e7
    for node in (10, 14):
        rotor.bearing(node, k)
    return rotor


def test_overhung():
    rotor = overhung()
    near("overhung mass, computed from the inputs", rotor.mass_total, 3.8341, 2e-5)
    found = [w * RPM for w, _ in rotor.undamped_criticals()]
    # published column: value from memory of Nelson & McVaugh 1976
    for f, e in zip(found, [15470, 17159, 46612, 49983, 64752, 96547]):
        near("overhung critical, published", f, e, 0.01)
    # computed from the paper's inputs, printed to 5 figures
    for f, e in zip(found, [15477, 17160, 46748, 50128, 64759, 96097]):
        near("overhung critical, computed", f, e, 4e-5)
    whirl = [d for _, d in rotor.undamped_criticals()[:6]]
    if whirl != ["backward", "forward"] * 2 + ["backward", "forward"]:
        failures.append(f"overhung whirl directions {whirl}")


def test_overhung_orthotropic():
    # computed from the paper's inputs
    found = [w * RPM for w, _ in overhung(True).undamped_criticals()]
    for f, e in zip(found, [13929, 16512, 39997, 48388, 59631, 92866]):
        near("orthotropic critical", f, e, 4e-5)


def test_overhung_whirl():
    # computed from the paper's inputs; F1 B1 of three speeds
    for spin, expected in ((0, (16272, 16272)), (20000, (15247, 17307)), (100000, (11538, 21237))):
        found = [w[0] * RPM for w in overhung().whirl(spin / RPM)[:2]]
        for f, e in zip(found, expected):
            near(f"whirl at {spin}", f, e, 5e-5)


def test_overhung_response():
    # computed from the script's eccentricity, micrometres
    table = {5000: (36.92, 9.911, -3.833), 10000: (204.4, 55.23, -21.72),
             16000: (2638.8, 722.7, -295.3), 30000: (-582.3, -167.9, 86.69)}
    rotor = overhung()
    for rpm, values in table.items():
        q = rotor.response(rpm / RPM, [(4, 1.401 * 0.635e-3)])
        for node, e in zip((4, 10, 14), values):
            near(f"response {rpm} node {node}", q[4 * node].real * 1e6, e, 5e-4)
            near(f"response y {rpm} node {node}", (1j * q[4 * node + 1]).real * 1e6, e, 5e-4)


def two_disc(n=6):
    """Friswell, Penny, Garvey & Lees, Dynamics of Rotating Machines, 2010, the
    two-disc example: inputs and values from memory of the book."""
    rotor = Rotor(np.linspace(0, 1.5, n + 1))
    for i in range(n):
        rotor.element(i, 0.05, 0, 211e9, 7810, 211 / (2 * 81.2) - 1)
    for z, d in ((0.5, 0.28), (1.0, 0.35)):
        mass = 7810 * np.pi / 4 * (d ** 2 - 0.05 ** 2) * 0.07
        polar = mass / 8 * (d ** 2 + 0.05 ** 2)
        rotor.disk(rotor.node_at(z), mass, polar, polar / 2 + mass * 0.07 ** 2 / 12)
    for node in (0, n):
        rotor.bearing(node, np.eye(2) * 1e6)
    return rotor


def test_two_disc():
    rest = [w[0] for w in two_disc().whirl(0.0)[0:6:2]]
    for f, e in zip(rest, (86.66, 274.3, 716.8)):      # value from memory of the book
        near("two-disc at rest", f, e, 2e-4)
    for f, e in zip(rest, (86.6581, 274.3129, 716.7863)):   # computed from its inputs
        near("two-disc at rest, computed", f, e, 2e-6)
    hertz = [w[0] / (2 * np.pi) for w in two_disc().whirl(4000 / RPM)[:6]]
    expected = sorted((13.9731, 46.9051, 131.633, 13.5902, 40.0728, 95.5215))
    for f, e in zip(hertz, expected):
        near("two-disc at 4000", f, e, 1e-5)
    criticals = [w * RPM for w, _ in two_disc().undamped_criticals()[:4]]
    for f, e in zip(criticals, (825.13, 829.87, 2487.8, 2756.1)):
        near("two-disc critical", f, e, 3e-5)


def uniform(n):
    rotor = Rotor(np.linspace(0, 6, n + 1))
    for i in range(n):
        rotor.element(i, 0.4)
    for node in (0, n):
        rotor.bearing(node, np.eye(2) * 1e14)
    return rotor


def timoshenko(n, s):
    """Closed form of a simply supported shaft with sine mode shapes: smallest
    root of the synchronous equation; constructed."""
    e, rho, nu, d, k = 2.1e11, 7850, 0.3, 0.4, n * np.pi / 6
    area, second = np.pi / 4 * d ** 2, np.pi / 64 * d ** 4
    kg = 6 * (1 + nu) / (7 + 6 * nu) * e / (2 * (1 + nu)) * area
    ra, ri, ei = rho * area, rho * second, e * second * k ** 2
    b = kg * k ** 2 * s * ri + ra * (ei + kg)
    c = kg * k ** 2 * ei
    return RPM * np.sqrt(2 * c / (b + np.sqrt(b * b - 4 * s * ra * ri * c)))


def test_uniform():
    rotor = uniform(48)
    near("uniform mass", rotor.mass_total, 5918.76, 2e-6)
    for n, e in enumerate((1350.488, 5358.884, 11896.369, 20751.688), 1):
        near("closed form against its printed value", timoshenko(n, -1), e, 1e-6)
    found = {d: [w * RPM for w, x in rotor.undamped_criticals() if x == d][:4]
             for d in ("forward", "backward")}
    for n in range(1, 5):
        near(f"uniform forward {n}", found["forward"][n - 1], timoshenko(n, -1), 3.6e-4)
        near(f"uniform backward {n}", found["backward"][n - 1], timoshenko(n, 3), 3.6e-4)
    # computed by the same kind of elements elsewhere
    for f, e in zip(found["forward"], (1350.490, 5359.002, 11897.709, 20758.977)):
        near("uniform, 48 elements", f, e, 1e-6)


def main():
    tests = [f for name, f in sorted(globals().items()) if name.startswith("test_")]
    for test in tests:
        test()
    print("\n".join(failures + [f"shaft model: {len(tests)} tests, {len(failures)} failures"]))
    if not failures:
        outside("critical speeds of the overhung rotor of Nelson & McVaugh, own shaft model of the tests",
                "H. D. Nelson & J. M. McVaugh, ASME J. Eng. Ind. 98, 1976", "value from memory",
                "printed speeds, and figures computed from the inputs to 5 digits")
        outside("critical speeds of a uniform shaft with shear and gyroscopic effect, own shaft model of the tests",
                "closed form of the simply supported Timoshenko beam", "computed", "four each way to 3.6e-4")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())

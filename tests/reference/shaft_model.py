# SPDX-License-Identifier: MIT
"""A beam model of a coupled rotor line, for reference values.

Problem   M q'' + (C + W G) q' + K q = f, W the speed in rad/s, q the
          displacements x, y and slopes dx/dz, dy/dz of each node, then x, y of
          each pedestal.  z runs along the shaft, rotation goes from x to y.
Elements  beam with rotary inertia and gyroscopic effect, with or without shear
          (consistent mass, after Nelson & McVaugh 1976 and Przemieniecki 1968);
          shear coefficient of a round section after Cowper 1966.
Unbalance m r at angle a with rotation from the reference mark, which stands at
          the angle of the phase probe at time zero: the force is
          m r W^2 exp(i (a + probe)) in x and -i times that in y, so that
          q(t) = Re(Q exp(i W t)) and Q is a phase-lead phasor.
Units     SI throughout.
"""
import numpy as np
import scipy.linalg as la

NODE = 4


def shear_coefficient(inner, outer, poisson):
    """Cowper 1966, hollow circular section; solid when inner is 0."""
    m2 = (inner / outer) ** 2
    a = (1 + m2) ** 2
    return 6 * (1 + poisson) * a / ((7 + 6 * poisson) * a + (20 + 12 * poisson) * m2)


def beam_matrices(length, outer, inner, young, density, poisson, shear, rigidity=None):
    """Stiffness, translational and rotary mass in one plane (4 x 4 each)."""
    area = np.pi / 4 * (outer ** 2 - inner ** 2)
    second = np.pi / 64 * (outer ** 4 - inner ** 4)
    modulus = rigidity or young / (2 * (1 + poisson))
    phi = 0.0
    if shear:
        kappa = shear_coefficient(inner, outer, poisson)
        phi = 12 * young * second / (kappa * modulus * area * length ** 2)
    el = length

    def symmetric(a, b, c, d, e, f):
        return np.array([[a, b, c, d], [b, e, -d, f], [c, -d, a, -b], [d, f, -b, e]])

    k = symmetric(12, 6 * el, -12, 6 * el, (4 + phi) * el ** 2, (2 - phi) * el ** 2)
    k = k * young * second / ((1 + phi) * el ** 3)
    mt = symmetric(312 + 588 * phi + 280 * phi ** 2, (44 + 77 * phi + 35 * phi ** 2) * el,
                   108 + 252 * phi + 140 * phi ** 2, -(26 + 63 * phi + 35 * phi ** 2) * el,
                   (8 + 14 * phi + 7 * phi ** 2) * el ** 2,
                   -(6 + 14 * phi + 7 * phi ** 2) * el ** 2)
    mt = mt * density * area * el / (840 * (1 + phi) ** 2)
    mr = symmetric(36, (3 - 15 * phi) * el, -36, (3 - 15 * phi) * el,
                   (4 + 5 * phi + 10 * phi ** 2) * el ** 2,
                   (-1 - 5 * phi + 5 * phi ** 2) * el ** 2)
    mr = mr * density * second / (30 * (1 + phi) ** 2 * el)
    return k, mt, mr


class Rotor:
    """A rotor line.  nodes: positions in m, ascending."""

    def __init__(self, nodes, phase_probe=0.0):
        self.nodes = np.array(nodes, float)
        self.phase_probe = np.radians(phase_probe)
        self.mass_total = 0.0
        self.bearings = []
        size = NODE * len(nodes)
        self.k, self.m = np.zeros((size, size)), np.zeros((size, size))
        self.c, self.g = np.zeros((size, size)), np.zeros((size, size))

    def element(self, i, outer, inner=0.0, young=2.1e11, density=7850.0, poisson=0.3,
                shear=True, rigidity=None):
        """Beam between nodes i and i + 1; diameters in m."""
        length = self.nodes[i + 1] - self.nodes[i]
        k, mt, mr = beam_matrices(length, outer, inner, young, density, poisson, shear, rigidity)
        x = NODE * i + np.array([0, 2, 4, 6])
        y = x + 1
        for dofs in (x, y):
            self.k[np.ix_(dofs, dofs)] += k
            self.m[np.ix_(dofs, dofs)] += mt + mr
        self.g[np.ix_(x, y)] += 2 * mr
        self.g[np.ix_(y, x)] -= 2 * mr
        self.mass_total += density * np.pi / 4 * (outer ** 2 - inner ** 2) * length

    def disk(self, i, mass, polar, diametral):
        x = NODE * i
        for d in (x, x + 1):
            self.m[d, d] += mass
            self.m[d + 2, d + 2] += diametral
        self.g[x + 2, x + 3] += polar
        self.g[x + 3, x + 2] -= polar
        self.mass_total += mass

    def bearing(self, i, stiffness, damping=None, pedestal=None):
        """stiffness, damping: 2 x 2 [[xx, xy], [yx, yy]]; pedestal: (mass,
        2 x 2 stiffness, 2 x 2 damping) or None for solid ground."""
        k = np.array(stiffness, float)
        c = np.zeros((2, 2)) if damping is None else np.array(damping, float)
        journal = NODE * i + np.arange(2)
        ground = None
        if pedestal is not None:
            ground = len(self.k) + np.arange(2)
            self._grow(2)
            self.m[ground, ground] += pedestal[0]
            self.k[np.ix_(ground, ground)] += np.array(pedestal[1], float)
            self.c[np.ix_(ground, ground)] += np.array(pedestal[2], float)
        self._connect(journal, ground, k, c)
        self.bearings.append((i, ground))

    def _connect(self, journal, ground, k, c):
        for matrix, part in ((self.k, k), (self.c, c)):
            matrix[np.ix_(journal, journal)] += part
            if ground is not None:
                matrix[np.ix_(ground, ground)] += part
                matrix[np.ix_(journal, ground)] -= part
                matrix[np.ix_(ground, journal)] -= part

    def _grow(self, n):
        for name in "kmcg":
            setattr(self, name, np.pad(getattr(self, name), ((0, n), (0, n))))

    def node_at(self, position):
        i = int(np.argmin(abs(self.nodes - position)))
        if abs(self.nodes[i] - position) > 1e-9:
            raise ValueError(f"no node at {position}")
        return i

    def dynamic(self, speed):
        return self.k + 1j * speed * (self.c + speed * self.g) - speed ** 2 * self.m

    def unbalance_force(self, speed, parts):
        """parts: list of (node, m r at its angle as a complex number, kg m)."""
        f = np.zeros(len(self.k), complex)
        turn = np.exp(1j * self.phase_probe)
        for node, u in parts:
            f[NODE * node] += u * turn * speed ** 2
            f[NODE * node + 1] += -1j * u * turn * speed ** 2
        return f

    def response(self, speed, parts):
        """Phasors of all displacements at speed (rad/s), m amplitude."""
        return np.linalg.solve(self.dynamic(speed), self.unbalance_force(speed, parts))

    def probe(self, q, node, angle, relative_to=None):
        """Reading of a probe at angle (degrees with rotation from x)."""
        a = np.radians(angle)
        d = q[NODE * node:NODE * node + 2]
        if relative_to is not None:
            d = d - q[relative_to]
        return d[0] * np.cos(a) + d[1] * np.sin(a)

    def undamped_criticals(self):
        """Synchronous criticals without damping, rad/s, with their whirl:
        K Q = W^2 (M - i G) Q, Hermitian, so the squares are real."""
        w2, q = la.eig(self.k, self.m - 1j * self.g)
        keep = np.isfinite(w2) & (w2.real > 1e-3) & (abs(w2.imag) < 1e-6 * abs(w2))
        order = np.argsort(w2[keep].real)
        vectors = q[:, keep][:, order]
        return [(float(w), self._whirl(v)) for w, v in
                zip(np.sqrt(w2[keep].real[order]), vectors.T)]

    def _whirl(self, v):
        n = NODE * len(self.nodes)
        x, y = v[0:n:NODE], v[1:n:NODE]
        forward, backward = np.linalg.norm(x + 1j * y), np.linalg.norm(x - 1j * y)
        total = np.hypot(forward, backward)
        if forward > 0.999 * total:
            return "forward"
        return "backward" if backward > 0.999 * total else "mixed"

    def whirl(self, speed):
        """Whirl eigenvalues at a speed with damping, positive frequency,
        ascending: list of (frequency rad/s, damping ratio, direction)."""
        n = len(self.k)
        a = np.block([[self.c + speed * self.g, self.k], [-np.eye(n), np.zeros((n, n))]])
        b = la.block_diag(self.m, np.eye(n))
        values, vectors = la.eig(-a, b)
        found = [(v.imag, -v.real / abs(v), self._whirl(q)) for v, q in zip(values, vectors[n:].T)
                 if np.isfinite(v) and v.imag > 1e-6 * abs(v)]
        return sorted(found)

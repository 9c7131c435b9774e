# SPDX-License-Identifier: MIT
"""`planes` against brute force: every set solved by numpy (least squares) or CVXOPT (min-max), every rank equal.

    /usr/bin/python3 tests/reference/test_planes.py PROGRAM

The cases are random machines with known coefficients, some of their planes
exactly or nearly dependent, some with caps.  Sets whose values differ by less
than what the two can tell apart may stand in either order.
"""
import itertools
import json
import os
import pathlib
import pty
import signal
import subprocess
import sys
import tempfile
import cvxopt
import numpy as np
import random_cases
from outside import outside



def cone_program(cost, g, h):
    """Optimal value, at the tightest tolerance that does not break CVXOPT."""
    for tolerance in (1e-10, 1e-9, 1e-8):
        cvxopt.solvers.options.update(show_progress=False, abstol=tolerance, reltol=tolerance, feastol=tolerance)
        try:
            found = cvxopt.solvers.socp(cost, Gq=g, hq=h)
        except (ValueError, ArithmeticError):
            continue
        if found["status"] == "optimal":
            return found["primal objective"]
    raise RuntimeError("CVXOPT found no optimum")


class Machine:
    def __init__(self, seed, sensors, planes, minimise, caps=False, dependent="", now=False):
        rng = np.random.RandomState(seed)
        self.minimise, self.planes = minimise, planes
        draw = lambda *shape: rng.randn(*shape) + 1j * rng.randn(*shape)
        self.a = draw(sensors, planes) * rng.uniform(0.2, 2, planes)
        self.y = 40 * draw(sensors)
        self.limit = rng.uniform(20, 90, sensors)
        if dependent:
            self.a[:, -1] = (0.4 - 1.3j) * self.a[:, 0]
        if dependent == "nearly":
            self.a[:, -1] += 1e-4 * draw(sensors)
        self.cap = rng.uniform(5, 40, planes) if caps else np.full(planes, np.inf)
        self.now = 4 * draw(planes) if now else np.zeros(planes, complex)
        self.x0 = self.now                       # planes outside a set
        self.w = 1 / self.limit

    def yaml(self):
        polar = lambda z: f"{abs(z)!r} @ {np.degrees(np.angle(z))!r}".replace("np.float64(", "").replace(")", "")
        lines = ["case: {format: 1, title: random planes}",
                 "conventions: {phase: lead, mass_angle: with-rotation}",
                 "speeds: [{id: s, speed: 3000}]", "sensors:"]
        lines += [f"  - {{id: S{i}, unit: um pp, limit: {float(v)!r}}}" for i, v in enumerate(self.limit)]
        lines += ["planes:"]
        lines += [f"  - {{id: P{j}, radius: 200{'' if np.isinf(c) else f', cap: {float(c)!r}'}}}"
                  for j, c in enumerate(self.cap)]
        lines += ["runs:", "  - id: as-found", "    readings:", "      s:"]
        lines += [f"        S{i}: {polar(v)}" for i, v in enumerate(self.y)]
        if self.now.any():
            lines += ["now:", "  masses:"]
            lines += [f"    - {{plane: P{j}, mass: {float(abs(v))!r}, angle: {float(np.degrees(np.angle(v)))!r}}}"
                      for j, v in enumerate(self.now)]
        lines += ["influence:"]
        lines += [f"  - {{plane: P{j}, speed: s, sensor: S{i}, value: {polar(self.a[i, j])}}}"
                  for i in range(len(self.y)) for j in range(self.planes)]
        return "\n".join([*lines, f"objective: {{minimise: {self.minimise}}}", ""])

    def start(self, chosen):
        """Reading with the chosen planes empty and the others as they are now."""
        return self.y + self.a @ np.where(np.isin(np.arange(self.planes), chosen), 0, self.x0)

    def solve(self, chosen):
        """Value of the objective for one set of planes."""
        b, c = self.w[:, None] * self.a[:, chosen], self.w * self.start(chosen)
        if self.minimise == "least-squares" and np.isinf(self.cap).all():
            scale = np.linalg.norm(b, axis=0)
            x = -np.linalg.lstsq(b / scale, c, rcond=1e-10)[0] / scale
            return np.linalg.norm(c + b @ x)
        return self.cone(b, c, self.cap[chosen])

    def cone(self, b, c, cap):
        """Min-max or capped least squares as a second-order cone program in (t, re x, im x); masses scaled by s."""
        if np.isinf(cap).all():                  # only the span of the columns matters
            b = np.linalg.qr(b / np.linalg.norm(b, axis=0))[0]
        rows, n = b.shape
        s = np.where(np.isinf(cap), np.linalg.norm(c) / np.linalg.norm(b, axis=0), cap)
        b = b * s
        size = np.linalg.norm(c)
        b, c = b / size, c / size
        real = np.hstack([np.zeros((rows, 1)), b.real, -b.imag])
        imag = np.hstack([np.zeros((rows, 1)), b.imag, b.real])
        if self.minimise == "min-max":
            blocks = [([real[i], imag[i]], [c[i].real, c[i].imag]) for i in range(rows)]
        else:
            blocks = [([*real, *imag], [*c.real, *c.imag])]
        g, h = [], []
        for matrix, right in blocks:
            head = np.eye(1, 2 * n + 1)[0]
            g.append(cvxopt.matrix(-np.vstack([head, *matrix])))
            h.append(cvxopt.matrix(np.array([0.0, *right])))
        for j in range(n):
            if np.isinf(cap[j]):
                continue
            unit = np.zeros((3, 2 * n + 1))
            unit[1, 1 + j], unit[2, 1 + n + j] = -1, -1
            g.append(cvxopt.matrix(unit))
            h.append(cvxopt.matrix(np.array([1.0, 0, 0])))
        return size * cone_program(cvxopt.matrix(np.eye(1, 2 * n + 1)[0]), g, h)


def run(program, folder, machine, *options):
    file = folder / "case.yaml"
    file.write_text(machine.yaml())
    done = subprocess.run([program, "planes", "--format", "json", *options, str(file)], capture_output=True, text=True)
    if done.returncode != 0:
        raise SystemExit(f"exit {done.returncode}: {done.stderr}")
    return json.loads(done.stdout)


def ids(chosen):
    return tuple(f"P{j}" for j in chosen)


def check_order(sets, expected, tolerance):
    """Values agree, no set stands before one that is better by more than the tolerance, equal ones by size."""
    wrong = []
    for entry in sets:
        value = expected[tuple(entry["planes"])]
        scale = max(value, max(expected.values()) * 1e-2)
        if abs(entry["value"] - value) > tolerance * scale:
            wrong.append(f"{entry['planes']}: {entry['value']}, brute force {value}")
        if not entry["proven"]:
            wrong.append(f"{entry['planes']}: not proven")
    values = [e["value"] for e in sets]
    if values != sorted(values):
        wrong.append("values are not in order")
    for before, after in itertools.pairwise(sets):
        better = expected[tuple(after["planes"])], expected[tuple(before["planes"])]
        if better[0] < better[1] - tolerance * max(better[1], max(expected.values()) * 1e-2):
            wrong.append(f"{before['planes']} before {after['planes']}: {better}")
        if before["value"] == after["value"] and len(before["planes"]) > len(after["planes"]):
            wrong.append(f"{before['planes']} before {after['planes']} at the same value")
    return wrong


def check_pareto(sets):
    key = lambda e: (e["value"], e["total_mass"], len(e["planes"]))
    keys = [key(e) for e in sets]
    wrong = []
    for entry in sets:
        k = key(entry)
        beaten = any(all(b <= a + 1e-12 * a for a, b in zip(k, o)) and any(b < a - 1e-12 * a for a, b in zip(k, o)) for o in keys)
        if beaten == entry["pareto"]:
            wrong.append(f"{entry['planes']}: pareto {entry['pareto']}")
    return wrong


def all_sets(planes, at_most=None):
    for size in range(1, (at_most or planes) + 1):
        yield from itertools.combinations(range(planes), size)


def compare_all(program, folder, machine, tolerance):
    tree = run(program, folder, machine)
    expected = {ids(s): machine.solve(list(s)) for s in all_sets(machine.planes)}
    wrong = [] if tree["listed"] == tree["total"] == len(expected) else [f"{tree['listed']} of {tree['total']} listed"]
    return wrong + check_order(tree["sets"], expected, tolerance) + check_pareto(tree["sets"])


def compare_best(program, folder, machine, best, tolerance):
    """The best of each size, more than 4096 sets."""
    tree = run(program, folder, machine, "--best", str(best))
    expected = {ids(s): machine.solve(list(s)) for s in all_sets(machine.planes)}
    wrong = check_order(tree["sets"], expected, tolerance) if tree["total"] == len(expected) else ["total"]
    for size in range(1, machine.planes + 1):
        values = sorted(v for k, v in expected.items() if len(k) == size)[:best]
        found = sorted(e["value"] for e in tree["sets"] if len(e["planes"]) == size)
        if len(found) != len(values) or not np.allclose(found, values, rtol=tolerance, atol=tolerance * machine.planes):
            wrong.append(f"size {size}: {found[:3]}, brute force {values[:3]}")
    return wrong


def call(program, folder, text, *options):
    file = folder / "text.yaml"
    file.write_text(text)
    done = subprocess.run([program, "planes", "--format", "json", *options, str(file)], capture_output=True, text=True)
    return done.returncode, json.loads(done.stdout) if done.stdout else None, done.stderr


def one_plane_of_two(program, folder):
    """S. S. Rao, Mechanical Vibrations, two-plane balancing of a turbine rotor (inputs: value from memory of the
    source); the sets of one plane are computed from its inputs: rms 2.16347 mil (left), 4.52896 mil (right)."""
    text = (pathlib.Path(__file__).parents[2] / "cases/published/turbine-two-planes.yaml").read_text()
    status, tree, _ = call(program, folder, text, "--at-most", "1")
    sets = tree["sets"]
    wrong = [] if status == 0 and [s["planes"] for s in sets] == [["left"], ["right"]] else [f"order {sets}"]
    for entry, rms, worst in zip(sets, (2.16347, 4.52896), (2.8586, 5.6560), strict=True):
        if abs(entry["value"] - rms * 2**0.5) > 1e-4 or abs(entry["largest_ratio"] - worst) > 1e-4:
            wrong.append(f"{entry['planes']}: {entry['value']}, {entry['largest_ratio']}")
    return wrong


UNTOLD = """case: {format: 1, title: planes that no run has tried}
conventions: {phase: lag, mass_angle: against-rotation}
speeds: [{id: s, speed: 3000}]
sensors: [{id: A, unit: um pp, limit: LIMIT}, {id: B, unit: um pp, limit: LIMIT}]
planes: [{id: P1, radius: 200}, {id: P2, radius: 200}, {id: P3, radius: 200}]
runs:
  - {id: as-found, readings: {s: {A: 80 @ 10, B: 60 @ 100}}}
  - {id: trial, masses: [{plane: P1, mass: 50, angle: 0}], readings: {s: {A: 60 @ 30, B: 66 @ 120}}}
objective: {minimise: least-mass}
"""


def untold_planes(program, folder):
    """Only P1 was tried: every other plane costs a start, and its sets have no value and stand last."""
    status, tree, _ = call(program, folder, UNTOLD.replace("LIMIT", "50"))
    wrong = [] if status == 0 and tree["sets"][0]["planes"] == ["P1"] else [f"exit {status}, {tree['sets'][0]}"]
    for entry in tree["sets"]:
        starts = len(set(entry["planes"]) - {"P1"})
        if entry["trial_starts"] != starts or (entry["value"] is None) != (starts > 0):
            wrong.append(f"{entry}: {starts} starts are due")
    status, tree, _ = call(program, folder, UNTOLD.replace("LIMIT", "5"))
    if status != 1 or len(tree["sets"]) != 7 or any(s["value"] is not None for s in tree["sets"]):
        wrong.append(f"nothing feasible: exit {status}")
    return wrong


def untold_among_many(program, folder):
    """More than 4096 sets, one plane of 14 never tried: no set with it is listed, the rest are as without it."""
    machine = Machine(9, 20, 14, "least-squares")
    text = machine.yaml()
    lines = [line for line in text.splitlines() if "{plane: P13," not in line]
    status, tree, errors = call(program, folder, "\n".join(lines) + "\n", "--best", "3")
    if status != 0:
        return [f"exit {status}: {errors}"]
    lines = [line for line in lines if "{id: P13," not in line]
    _, without, _ = call(program, folder, "\n".join(lines) + "\n", "--best", "3")
    key = lambda tree: [(s["planes"], s["value"], s["proven"]) for s in tree["sets"]]
    wrong = [] if key(tree) == key(without) and len(key(tree)) == 37 else [f"{len(key(tree))} and {len(key(without))} sets"]
    return wrong + ([] if tree["total"] == 2**14 - 1 else [f"total {tree['total']}"])


def wrong_questions(program, folder):
    text = UNTOLD.replace("LIMIT", "50")
    wrong = []
    for options, words in ((("--at-most", "4"), "there are 3"), (("--must", "P1", "--never", "P1"), "P1"),
                           (("--must", "P9"), "no plane 'P9'"), (("--must", "P1", "--must", "P2", "--at-most", "1"), "at most 1"),
                           (("--at-most", "none"), "--at-most")):
        status, tree, errors = call(program, folder, text, *options)
        if status != 2 or tree is not None or words not in errors:
            wrong.append(f"{options}: exit {status}, {errors!r}")
    status, tree, _ = call(program, folder, text, "--must", "P1", "--never", "P3")
    if status != 0 or [s["planes"] for s in tree["sets"]] != [["P1"], ["P1", "P2"]]:
        wrong.append("must and never do not hold")
    return wrong


def stopped(program, folder):
    """An interrupt leaves a list; what it calls proven is so."""
    machine = Machine(5, 48, 20, "min-max")
    file = folder / "stopped.yaml"
    file.write_text(machine.yaml())
    reader, writer = pty.openpty()  # progress is told on a terminal: a sign that the search is under way on any machine
    process = subprocess.Popen([program, "planes", "--format", "json", str(file)], stdout=subprocess.PIPE,
                               stderr=writer, text=True)
    os.close(writer)
    told = b""
    while b"sets solved" not in told and process.poll() is None:
        told += os.read(reader, 1000)
    process.send_signal(signal.SIGINT)
    tree = json.loads(process.communicate(timeout=300)[0])
    os.close(reader)
    wrong = [] if process.returncode == 1 and tree["stopped"] and tree["sets"] else [f"exit {process.returncode}"]
    single = sorted((machine.solve([j]), f"P{j}") for j in range(20))
    proven = [s["planes"][0] for s in tree["sets"] if len(s["planes"]) == 1 and s["proven"]]
    if proven != [p for _, p in single][:len(proven)]:
        wrong.append(f"proven {proven}, brute force {single}")
    return wrong


def progress(program, folder):
    """Told on a terminal, not into a file; the page comes all the same."""
    file = folder / "progress.yaml"
    file.write_text(Machine(7, 12, 10, "least-squares").yaml())
    seen = subprocess.run(["script", "-qec", f"{program} planes {file}", "/dev/null"], capture_output=True, text=True,
                          stdin=subprocess.DEVNULL)
    wrong = [] if seen.returncode == 0 and "512 of 1023 sets solved" in seen.stdout and "Best: " in seen.stdout else [seen.stdout[:200]]
    status, _, errors = call(program, folder, file.read_text())
    return wrong + ([] if status == 0 and "sets solved" not in errors else [f"not a terminal: {errors!r}"])


def near_ties(program, folder):
    """A plane that does the same as another ties with it, and the page says so."""
    file = folder / "ties.yaml"
    file.write_text(Machine(3, 5, 3, "least-squares", dependent="exactly").yaml())
    page = subprocess.run([program, "planes", str(file)], capture_output=True, text=True).stdout
    return [] if ": a tie with it." in " ".join(page.split()) else [page[:400]]


def as_solve(program, folder, seed):
    """The largest set is the case as `solve` takes it."""
    file = folder / "case.yaml"
    file.write_text(random_cases.make(seed))
    trees = [json.loads(subprocess.run([program, command, "--format", "json", str(file)], capture_output=True,
                                       text=True).stdout) for command in ("solve", "planes")]
    solved, full = trees[0], max(trees[1]["sets"], key=lambda s: len(s["planes"]))
    starts = len(solved.get("further_runs", []))
    wrong = [] if (solved["status"], starts) == (full["status"], full["trial_starts"]) else [f"{solved['status']}, {full}"]
    if solved["status"] == "optimal":
        pairs = ((solved["objective"]["value"], full["value"]), (solved["condition"]["overall"], full["condition"]))
        for a, b in pairs:
            if (a is None) != (b is None) or (a is not None and abs(a - b) > 1e-9 * max(abs(a), 1e-3)):
                wrong.append(f"solve {a}, planes {b}")
    return wrong


def main():
    program = sys.argv[1]
    failed = count = 0
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        jobs = [(one_plane_of_two,), (untold_planes,), (untold_among_many,), (wrong_questions,), (stopped,), (progress,), (near_ties,)]
        jobs += [(as_solve, seed) for seed in range(60)]
        for seed in range(30):
            dependent = ("", "nearly", "exactly")[seed % 3]
            jobs.append((compare_all, Machine(seed, (8, 5, 3)[seed % 3 if seed % 2 else 0], 2 + seed % 5, "least-squares",
                                              dependent=dependent, now=seed % 4 == 0), 1e-9))
        for seed in range(2):
            jobs.append((compare_best, Machine(100 + seed, 20, 13, "least-squares", dependent=("nearly", "exactly")[seed]),
                         7, 1e-9))
        for seed in range(12):
            minimise, caps = [("min-max", False), ("min-max", True), ("least-squares", True)][seed % 3]
            jobs.append((compare_all, Machine(200 + seed, 10, 3 + seed % 3, minimise, caps=caps,
                                              dependent=("", "nearly")[seed // 3 % 2], now=seed % 4 == 0), 1e-7))
        for job, *arguments in jobs:
            wrong = job(program, folder, *arguments)
            count += 1
            if wrong:
                failed += 1
                print(f"{job.__name__} number {count}: {len(wrong)} wrong, first: {wrong[:4]}")
    print(f"{count - failed} of {count} comparisons of planes agree with brute force")
    if not failed:
        outside("every set of planes: value, rank, order, near ties", "numpy (least squares) and CVXOPT (min-max), set by set",
                "reference library", "44 random machines to 1e-9 (least squares) and 1e-7 (min-max), dependent planes too")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())

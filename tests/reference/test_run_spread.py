# SPDX-License-Identifier: MIT
"""The stated spread of runs as they really are, against the scatter of many simulated jobs.

    /usr/bin/python3 tests/reference/test_run_spread.py PROGRAM [JOBS]

One machine with known coefficients and as-found readings (constructed).  The same
job is simulated JOBS times with reading errors of a declared size and solved by the
program.  With e the error of a coefficient, of a predicted reading or of a mass, and
s its stated standard deviation,

    mean |e|²/s²  must be 1,        |mean e|² JOBS/s²  small (unbiased),

within what JOBS draws can tell: |e|²/s² has variance 1 (circular errors) to 2 (errors
along a line), and the mean of n of them lies within 4.5 of its standard deviations;
|mean e|² JOBS/s² exceeds 16 with a chance of 1e-7 (circular) to 6e-5 (along a line).  The
seed is fixed, so the outcome is the same every time.
"""
import json
import os
import subprocess
import sys
import tempfile
import numpy as np
from outside import outside
from test_runs import CONVENTIONS, Job, PLANES, SENSORS, ZERO, hot, totals_of, turn

RADIUS_90 = np.sqrt(np.log(10))
SIGMA = 0.2                     # of each part of an error; E|e|² = 2 SIGMA²
SENSOR_TEXT = "sensors: [" + ", ".join(f"{{id: {s}}}" for s in SENSORS) + "]"


class Simulated:
    """A job that can be drawn again and again: `draw` gives its text, `truth` what stays the same."""

    def __init__(self, feature, lag, against):
        self.job = Job(5, lag, against, SIGMA)
        self.speeds, self.level_now = None, {}
        self.setup, self.text = feature(self)
        self.a = {(s, n, p): self.job.a[s][i, j] for s in self.job.speeds for i, n in enumerate(SENSORS)
                  for j, p in enumerate(PLANES)}

    def draw(self):
        job = self.job
        runs = ["runs:"]
        for k, (masses, words, change) in enumerate(self.setup):
            readings = {s: change(s, job.read(masses, s)) for s in job.speeds if (k, s) not in self.skip}
            runs.append(f"  - {{id: r{k}, masses: {job.masses(masses)}{words}, readings: {job.readings(readings)}}}")
        head = job.head(self.speeds).replace(SENSOR_TEXT, SENSOR_TEXT.replace("}", f", repeatability: {SIGMA * 2 ** 0.5!r}}}"))
        return head + "\n".join(runs) + "\n" + (self.text() if callable(self.text) else self.text)

    def level(self, speed):
        """What the last run's reading level is beside as-found."""
        return self.level_now.get(speed, 0)

    def best(self):
        """Masses of the job without errors, by least squares over all rows."""
        a = np.vstack([self.job.a[s] for s in self.job.speeds])
        y = np.concatenate([self.job.y[s] + self.level(s) for s in self.job.speeds])
        return np.linalg.lstsq(a, -y, rcond=None)[0]


def same(_, readings):
    return readings


def plain_setup(sim, totals, words=None, change=None):
    sim.skip = set()
    return [(t, (words or {}).get(k, ""), (change or {}).get(k, same)) for k, t in enumerate(totals)]


def weights(sim):
    """Runs of weight 1/4 and 4: errors of twice and half the size."""
    totals = totals_of(sim.job) + totals_of(sim.job)[:2]
    sim.skip = set()
    setup = []
    for k, t in enumerate(totals):
        def change(s, v, t=t, by={1: 2.0, 4: 0.5, 6: 2.0}.get(k, 1.0)):
            true = sim.job.y[s] + sim.job.a[s] @ np.asarray(t)
            return true + by * (v - true)
        setup.append((t, {1: ", weight: 0.25", 4: ", weight: 4", 6: ", weight: 0.25"}.get(k, ""), change))
    return setup, ""


def states(sim):
    """A state read as found and in one later run only; the two states share the coefficients and their errors."""
    sim.speeds = hot(sim.job)
    totals = totals_of(sim.job) + [totals_of(sim.job)[0]]
    setup = plain_setup(sim, totals)
    sim.skip = {(k, "hot") for k in (1, 2, 4)}
    return setup, ""


def levels(sim, columns, words, text):
    totals = totals_of(sim.job) + totals_of(sim.job)[1:3]
    columns = np.asarray(columns, dtype=float)
    step = {s: 15 * sim.job.normal(len(SENSORS)) for s in sim.job.speeds}
    setup = plain_setup(sim, totals, words, {k: (lambda s, v, c=c: v + c * step[s]) for k, c in enumerate(columns)})
    sim.level_now = {s: columns[-1] * step[s] for s in step}
    return setup, text


def groups(sim):
    return levels(sim, [1, 0, 1, 1, 0, 0, 0], {k: ", group: cold" for k in (0, 2, 3)}, "")


def drift(sim):
    return levels(sim, np.arange(7) / 6 - 1, {}, "objective: {drift: linear}\n")


def moved(sim):
    """Three runs with a phase reference that moved, the last one among them. Two are compared to a run that read one
    speed only, where readings are small: the angles are badly known and turn the large readings at the other speed."""
    sim.job.a["low"], sim.job.y["low"] = 6 * sim.job.a["low"], 6 * sim.job.y["low"]
    totals = totals_of(sim.job) + [totals_of(sim.job)[1], totals_of(sim.job)[3], totals_of(sim.job)[1]]
    back = {k: (lambda s, v, by=by: v * turn(by)) for k, by in ((5, 73), (6, -110), (7, 20))}
    setup = plain_setup(sim, totals, {k: ", phase_shift: unknown" for k in (5, 6, 7)}, back)
    sim.skip = {(1, "low")}
    return setup, ""


def moved_states(sim):
    setup, _ = states(sim)
    masses = setup[1][0]
    setup += [(masses, ", phase_shift: unknown", lambda s, v: v * turn(50)), (setup[0][0], "", same)]
    sim.skip = {(k, "hot") for k in (2, 4)}
    return setup, ""


def known_set(sim):
    """A set known from elsewhere with an error of known size; of its planes one was tried by itself."""
    job = sim.job
    totals = [t * np.array([1, 0, 1]) for t in totals_of(job)]
    vector, size = np.array([0.8 * turn(15), 1.3 * turn(170), 0]), 0.05

    def text():
        of = ", ".join(f"{p}: {job.mark(z)}" for p, z in zip(PLANES, vector[:2]))
        lines = [f"sets: [{{id: couple, of: {{{of}}}}}]", "influence:"]
        for s in job.speeds:
            told = job.a[s] @ vector + size * job.normal(len(SENSORS))
            lines += [f"  - {{plane: couple, speed: {s}, sensor: {n}, value: {job.phasor(told[i])}, "
                      f"uncertainty: {size * 2 ** 0.5!r}}}" for i, n in enumerate(SENSORS)]
        return "\n".join(lines) + "\n"
    return plain_setup(sim, totals), text


FEATURES = [known_set, weights, states, groups, drift, moved, moved_states]


def solve_all(program, texts):
    """Influence and answer of every text."""
    with tempfile.TemporaryDirectory() as folder:
        names = [f"{k}.yaml" for k in range(len(texts))]
        for name, text in zip(names, texts):
            with open(os.path.join(folder, name), "w") as file:
                file.write(text)
        out = []
        for command in ("influence", "solve"):
            done = subprocess.run([program, command, "--format", "json", *names], capture_output=True, text=True,
                                  cwd=folder)
            if done.returncode != 0:
                raise RuntimeError(f"{command} exits {done.returncode}: {done.stderr[:500]}")
            out.append(json.loads(done.stdout))
    return list(zip(*out))


def errors_of(sim, influence, answer):
    """(error, stated standard deviation) of coefficients, of predictions and of masses."""
    job = sim.job
    sizes = {"coefficients": [], "predictions": [], "masses": []}
    for c in influence["coefficients"]:
        value = c["value"]["amplitude"] * turn(job.phase * c["value"]["phase"]) / turn(ZERO[c["plane"]])
        sizes["coefficients"].append((value - sim.a[c["speed"], c["sensor"], c["plane"]], c["std"]))
    x = np.array([c["mass"] * turn(job.angle * c["angle"]) * turn(ZERO[c["plane"]]) for c in answer["corrections"]])
    for p in answer["predicted"]:
        i = SENSORS.index(p["sensor"])
        true = job.y[p["speed"]][i] + np.broadcast_to(sim.level(p["speed"]), (len(SENSORS),))[i] + job.a[p["speed"]][i] @ x
        after = p["after"]["amplitude"] * turn(job.phase * p["after"]["phase"])
        sizes["predictions"].append((after - true, p["spread90"] / RADIUS_90))
    for c, mass, best in zip(answer["corrections"], x, sim.best()):
        sizes["masses"].append((mass - best, c["spread90"] / RADIUS_90))
    return {key: np.array(value) for key, value in sizes.items()}


def judge(program, feature, lag, against, jobs):
    sim = Simulated(feature, lag, against)
    drawn = [errors_of(sim, *pair) for pair in solve_all(program, [sim.draw() for _ in range(jobs)])]
    failed, ratios = 0, {}
    for what in drawn[0]:
        e = np.array([d[what][:, 0] for d in drawn])
        s = np.real(np.array([d[what][:, 1] for d in drawn]))
        square = np.abs(e) ** 2 / s ** 2
        mean = square.mean(axis=0)
        spread = square.std(axis=0) / np.sqrt(jobs)
        bias = np.abs((e / s).mean(axis=0)) ** 2 * jobs
        ratios[what] = float(square.mean())
        if np.abs((mean - 1) / spread).max() > 4.5 or bias.max() > 16:
            failed += 1
            print(f"FAILED {feature.__name__}, {what}: mean |e|²/s² {np.array2string(mean, precision=3)}, "
                  f"bias {bias.max():.3g}")
    return failed, ratios


def chances(program, jobs):
    """Where nothing drifts, the stated chance that scatter alone makes as much is evenly spread from 0 to 1."""
    sim = Simulated(lambda sim: (plain_setup(sim, totals_of(sim.job) + totals_of(sim.job)[:3]), ""), True, True)
    told = np.array([answer["drift"]["chance"] for _, answer in
                     solve_all(program, [sim.draw() for _ in range(jobs)])])
    off = max(abs((told < share).mean() - share) / np.sqrt(share * (1 - share) / jobs) for share in (0.05, 0.2, 0.5, 0.8))
    if off > 4.5:
        print(f"FAILED chance of drift: off by {off:.2g} standard deviations")
    return off > 4.5


def main():
    program, jobs = os.path.abspath(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 150
    failed, seen = 0, []
    for k, feature in enumerate(FEATURES):
        try:
            wrong, ratios = judge(program, feature, *CONVENTIONS[k % 4], jobs)
        except RuntimeError as error:
            wrong, ratios = 1, {}
            print(f"FAILED {feature.__name__}: {error}")
        failed += wrong
        seen.append(feature.__name__ + " " + "/".join(f"{v:.2f}" for v in ratios.values()))
    failed += chances(program, jobs)
    print(f"spread of runs: {jobs} jobs each; mean |e|²/s² of coefficients/predictions/masses: {', '.join(seen)}; "
          f"{failed} failed")
    if not failed:
        outside("spread of runs: known sets, weights, states that share coefficients, groups, drift, phase references found",
                "simulated jobs with known truth", "constructed", "size and bias as stated, within what the draws can tell")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())

# SPDX-License-Identifier: MIT
"""Every finding about the evidence: a case that triggers it and one that does not.

    /usr/bin/python3 tests/reference/test_check.py PROGRAM

The cases come from a linear machine (bench_machine.py) whose readings are
exact unless a scatter is named, so that each threshold can be met from both
sides.  Constructed.
"""
import json
import pathlib
import subprocess
import sys
import numpy as np
from bench_machine import Machine, call, case_text, findings, phasor

TRIALS = {"trial 1": {"P1": phasor(60, 20)}, "trial 2": {"P2": phasor(60, 200)}}


def good_runs(m, scatter=0.0):
    runs = [("as-found", {}, m.read({}, scatter))]
    return runs + [(k, masses, m.read(masses, scatter)) for k, masses in TRIALS.items()]


def scaled_trial(ratio):
    """A trial whose best response is `ratio` standard deviations (1 um) at each speed."""
    m = Machine(2)
    for v in range(len(m.speeds)):
        at = slice(3 * v, 3 * v + 3)
        m.a[at, 0] *= ratio / (60 * np.max(np.abs(m.a[at, 0])))
    return case_text(m, good_runs(m))


def couple(ratio, other_speed=False, later=0):
    """Static and couple trials on both planes; the couple answers with `ratio` standard deviations (1 um) at best, at
    both speeds or at one; `later`: a further run with so many times its masses."""
    m = Machine(16)
    split = m.a[:, 0] - m.a[:, 1]
    together = m.a[:, 0] + m.a[:, 1]
    for v in range(1 if other_speed else 2):
        at = slice(3 * v, 3 * v + 3)
        split[at] *= ratio / (50 * np.max(np.abs(split[at])))
    m.a[:, 0], m.a[:, 1] = (together + split) / 2, (together - split) / 2
    states = {"as-found": {}, "static": {"P1": 50, "P2": 50}, "couple": {"P1": 50, "P2": -50}}
    if later:
        states["later"] = {"P1": 50 + 50 * later, "P2": 50 - 50 * later}
    return case_text(m, [(k, s, m.read(s)) for k, s in states.items()])


def alarm(size):
    m = Machine(3)
    runs = good_runs(m)
    where = int(np.argmax(np.abs(runs[1][2]) - np.abs(runs[0][2])))
    return case_text(m, runs, sensor=f", repeatability: 1, alarm: {abs(runs[1][2][where]) * size:.3f}")


def no_alarm(size):
    m = Machine(3, size=40)
    runs = good_runs(m)
    grown = np.abs(runs[1][2]) / np.abs(runs[0][2])
    where = int(np.argmax(grown))
    runs[1][2][where] = runs[0][2][where] * size
    return case_text(m, runs, sensor=", repeatability: 1, limit: 30")


def load(newton):
    m = Machine(3)
    head = [f"rotor: {{mass: 500 kg, bearings: [{{id: A, position: 0, static_load: {newton} N}}, "
            f"{{id: B, position: 2000, static_load: {newton} N}}]}}"]
    return case_text(m, good_runs(m), head=head, plane=", radius: 200, position: 100")


def repeated(offset, between=True, same=1):
    """The state of trial 1 (or the as-found state) once more, every reading `offset` um off."""
    m = Machine(4)
    runs = good_runs(m)
    again = ("again", dict(runs[same][1]), runs[same][2] + phasor(offset, 70))
    return case_text(m, runs[:2] + [again] + runs[2:] if not between else runs + [again])


def speeds_held(rpm):
    m = Machine(5)
    runs = good_runs(m)
    runs[1] = (*runs[1], f"actual_speed: {{service: {rpm}}}")
    return case_text(m, runs)


def loads_held(mw):
    m = Machine(5)
    runs = [(*r, f"load: {w} MW") for r, w in zip(good_runs(m), (300, mw, 300))]
    return case_text(m, runs)


def one_run_off(sigmas):
    """Five runs, the third with every reading `sigmas` standard deviations off."""
    m = Machine(6)
    states = [{}, {"P1": 60}, {"P2": 60j}, {"P1": -50j}, {"P2": -50, "P1": 30}, {"P1": 20j, "P2": 40}]
    runs = [(f"run {k}", s, m.read(s, 1.0) + (sigmas if k == 2 else 0)) for k, s in enumerate(states)]
    return case_text(m, runs)


def trend(step):
    m = Machine(7)
    runs = good_runs(m)
    values = list(runs[1][2])
    values[0] = [values[0] + step * k for k in range(4)]
    runs[1] = (*runs[1][:2], values)
    return case_text(m, runs)


def taken(how):
    m = Machine(7)
    runs = [(*r, f"taken: {h}") for r, h in zip(good_runs(m), ("holding", how, "holding"))]
    return case_text(m, runs)


def worse(each):
    """One plane in use, three readings that one mass cannot quiet together."""
    m = Machine(8, planes=["P1"], speeds={"service": 3000})
    m.y = np.array([100, 100, 5 + 0j])
    m.a = np.array([[1], [1], [each]], complex)
    return case_text(m, [("as-found", {}, m.read({})), ("trial", {"P1": 30 + 0j}, m.read({"P1": 30}))],
                     sensor=", repeatability: 1, limit: 60")


def slow_roll(size, kind="shaft-relative"):
    m = Machine(9)
    return case_text(m, good_runs(m), sensor=f", repeatability: 1, limit: 40, kind: {kind}",
                     tail=[f"slow_roll: {{DE: {size} @ 30}}"])


def blind(each):
    m = Machine(10)
    m.a[[2, 5], :] *= each
    return case_text(m, good_runs(m))


def far_mass(size):
    m = Machine(11, planes=["P1"], speeds={"service": 3000}, sensors=["DE"])
    m.y[:] = size * 60 * abs(m.a[0, 0])
    return case_text(m, good_runs(m)[:2], tail=["now: {masses: []}"])


def near_pair(degrees, grow=1.0, scatter=0):
    """Speeds 2 % apart, the readings turned by so many degrees and grown between them."""
    m = Machine(12, speeds={"below": 2940, "service": 3000})
    m.y[3:] = m.y[:3] * phasor(grow, degrees)
    m.a[3:] = m.a[:3] * phasor(grow, degrees)
    return case_text(m, good_runs(m))


def other_load(loads, weight=1):
    """near_pair() at two loads, the readings turned by 10 degrees."""
    text = near_pair(10)
    for speed, load in zip((2940, 3000), loads):
        text = text.replace(f"speed: {speed}}}", f"speed: {speed}, load: {load} MW}}")
    return text.replace("readings:", f"weight: {weight}\n    readings:")


def slip(rpm):
    text = near_pair(1)
    return text.replace("{id: below, speed: 2940}", f"{{id: below, speed: {rpm}, coefficients_of: service}}")


def many(count):
    m = Machine(17, planes=["P1"], sensors=["DE"], speeds={"service": 3000})
    return case_text(m, [(f"r{k}", {"P1": 30 + 0j} if k % 2 else {}, m.read({"P1": 30} if k % 2 else {}))
                         for k in range(count)])


def same_state_speeds(degrees):
    m = Machine(13, size=300)
    runs = good_runs(m)
    runs.append(("again", {}, np.concatenate([runs[0][2][:3], runs[0][2][3:] * phasor(1, degrees)]),
                 "actual_speed: {service: 3030}"))
    return case_text(m, runs)


def survey(once=6.0, twice=0.5, axial=0.8, vertical=4.0, phase=90, low=None):
    """Overall 7.1 mm/s rms; everything in mm/s rms; `low`: the same bearing at half the speed."""
    m = Machine(14)
    entry = (f"{{bearing: A, speed: service, horizontal: {{overall: 7.1 mm/s rms, once: {once} mm/s rms @ 40, "
             f"twice: {twice} mm/s rms}}, vertical: {{once: {vertical} mm/s rms @ {40 + phase}}}, "
             f"axial: {{once: {axial} mm/s rms @ 10}}}}")
    below = "" if low is None else (f", {{bearing: A, speed: low, horizontal: {{once: {low} mm/s rms @ 30}}}}")
    return case_text(m, good_runs(m), tail=[f"survey: [{entry}{below}]"])


def orbit(backward):
    """Two probes at 45 and 315 degrees; forward orbit of 40 um and so much backward."""
    m = Machine(15, sensors=["x", "y"], speeds={"service": 3000})
    a = np.radians([45, 315])
    m.y = 40 * np.exp(-1j * a) + backward * np.exp(1j * a + 0.7j)
    text = case_text(m, good_runs(m), sensor=", repeatability: 1, position: 0")
    return text.replace("{id: x,", "{id: x, angle: 45,").replace("{id: y,", "{id: y, angle: 315,")


# code, severity, place that must be named, triggering case, silent case
TABLE = [
    ("trial-too-small", "fault", {"run": "trial 1", "plane": "P1"}, scaled_trial(3.9), scaled_trial(7.1)),
    ("trial-too-small", "warning", {"run": "trial 1", "plane": "P1"}, scaled_trial(4.1), scaled_trial(7.1)),
    ("trial-too-small", "warning", {"run": "trial 1"}, scaled_trial(6.9), scaled_trial(7.1)),
    ("trial-too-small", "fault", {"run": "couple"}, couple(3.9), couple(7.1)),
    ("trial-too-small", "warning", {"run": "couple"}, couple(4.1), couple(7.1)),
    # clear at another speed; or three times the couple beside a static part, of which half a reading's scatter is taken off
    ("trial-too-small", "warning", {"run": "couple"}, couple(6.9), couple(3.9, other_speed=True)),
    ("trial-too-small", "fault", {"run": "couple"}, couple(2.5, later=1.2), couple(3.9, later=3)),
    ("trial-too-large", "warning", {"run": "trial 1"}, alarm(0.99), alarm(1.2)),
    ("trial-too-large", "warning", {"run": "trial 1"}, no_alarm(2.05), no_alarm(1.4)),
    ("trial-too-large", "warning", {"run": "trial 1", "plane": "P1"}, load(11800), load(11900)),
    ("state-disagrees", "warning", {"run": "again"}, repeated(4), repeated(1)),
    ("state-disagrees", "warning", {"run": "again"}, repeated(4, between=False), repeated(1, between=False)),
    ("reference-drifted", "warning", {"run": "again"}, repeated(4, same=0), repeated(4, between=False)),
    ("speed-moved", "warning", {"speed": "service"}, speeds_held(2969), speeds_held(2994)),
    ("speed-moved", "note", {"speed": "service"}, speeds_held(2984), speeds_held(2986)),
    ("load-moved", "warning", {"run": "trial 1"}, loads_held(265), loads_held(290)),
    ("load-moved", "note", {"run": "trial 1"}, loads_held(280), loads_held(286)),
    ("run-does-not-fit", "warning", {"run": "run 2"}, one_run_off(6), one_run_off(0)),
    ("not-settled", "warning", {"run": "trial 1", "sensor": "DE"}, trend(2), trend(0.3)),
    ("not-settled", "note", {"run": "trial 1"}, taken("run-up"), taken("holding")),
    ("made-worse", "warning", {"sensor": "GE"}, worse(0.5), worse(0.001)),
    ("slow-roll", "warning", {"sensor": "DE"}, slow_roll(10.1), slow_roll(9.9)),
    ("slow-roll", "warning", {"sensor": "DE"}, slow_roll(1, "housing"), slow_roll(1, "shaft-absolute")),
    ("hardly-seen", "note", {"sensor": "GE"}, blind(0.02), blind(1)),
    ("far-from-trial", "warning", {"plane": "P1"}, far_mass(3.1), far_mass(2.9)),
    ("not-unbalance", "warning", {"speed": "service"}, survey(once=4.9, vertical=3), survey()),
    ("not-unbalance", "warning", {"speed": "service"}, survey(twice=3.1), survey(twice=2.9)),
    ("not-unbalance", "warning", {"speed": "service"}, survey(axial=3.1), survey(axial=2.9)),
    ("not-unbalance", "warning", {"speed": "service"}, survey(vertical=1.45), survey(vertical=1.55)),
    ("not-unbalance", "warning", {"speed": "service"}, survey(phase=29), survey(phase=31)),
    ("not-unbalance", "warning", {"speed": "service"}, survey(phase=205), survey(phase=-90)),
    # velocity grows with the cube: 6.0/8 = 0.75 is unbalance; 2.0 is an exponent of 0.58 as displacement
    ("not-unbalance", "warning", {"speed": "service"}, survey(low=2.0), survey(low=0.75)),
    ("not-unbalance", "warning", {"sensor": "x"}, orbit(41), orbit(39)),
    ("near-resonance", "warning", {}, near_pair(6.2), near_pair(5.8)),
    ("near-resonance", "warning", {}, near_pair(0, 1.18), near_pair(0, 1.14)),
    ("near-resonance", "warning", {"speed": "service"}, same_state_speeds(3.1), same_state_speeds(1.5)),
    # what load does is not what speed does; what scatters by 100 um tells no slope
    ("near-resonance", "warning", {}, other_load((100, 101)), other_load((100, 110))),
    ("near-resonance", "warning", {}, other_load((100, 101)), other_load((100, 101), 1e-4)),
    ("near-resonance", "warning", {}, near_pair(10), slip(2941)),
    ("state-slips", "note", {"speed": "below"}, slip(2941), slip(2986)),
    ("runs-not-retraced", "note", {}, many(201), many(200)),
]


def named(found, code, severity, place):
    return [f for f in found if f["code"] == code and f["severity"] == severity and
            all(f.get(k) == v for k, v in place.items())]


def lines_too_wide(program, text):
    done = subprocess.run([program, "check", "-"], input=text, capture_output=True, text=True)
    return [line for line in done.stdout.splitlines() if len(line) > 80]


def test_row(program, code, severity, place, triggers, silent):
    status, found = findings(program, triggers)
    wrong = []
    if not named(found, code, severity, place):
        wrong.append(f"{code} ({severity}) not found; there are {[(f['code'], f['severity']) for f in found]}")
    if (status == 1) != any(f["severity"] == "fault" for f in found):
        wrong.append(f"{code}: exit status {status}")
    if not all(any(c.isdigit() for c in f["message"]) for f in named(found, code, severity, place)):
        wrong.append(f"{code}: no number in its message")
    if lines_too_wide(program, triggers):
        wrong.append(f"{code}: the page is wider than 80 columns")
    _, found = findings(program, silent)
    if named(found, code, severity, place):
        wrong.append(f"{code} ({severity}) where there is none: {named(found, code, severity, place)}")
    return wrong


def test_quiet(program):
    """Exact readings of a good job give nothing to say but notes."""
    m = Machine(1)
    m.y = m.a @ np.array([70, 50j])
    _, found = findings(program, case_text(m, good_runs(m)))
    loud = [f for f in found if f["severity"] != "note"]
    return [f"a good job has findings: {loud}"] if loud else []


def test_scatter(program):
    """Right jobs with scatter as declared: evidence findings are rare."""
    codes = {"state-disagrees", "reference-drifted", "run-does-not-fit", "not-settled"}
    loud = 0
    for seed in range(60):
        m = Machine(seed)
        runs = good_runs(m, 1.0)
        runs += [("again", {}, m.read({}, 1.0)), ("trim", {"P1": 40j, "P2": 30}, m.read({"P1": 40j, "P2": 30}, 1.0))]
        _, found = findings(program, case_text(m, runs))
        loud += bool(codes & {f["code"] for f in found})
    return [f"{loud} of 60 right jobs are accused"] if loud > 1 else []


def test_demo(program):
    """The demonstration of a mirrored mass is stopped on its way up; the sound one is not found at fault."""
    demo = pathlib.Path(__file__).parents[2] / "cases" / "demo"
    stop = subprocess.run([program, "check", "--so-far", "--format", "json", str(demo / "wrong-side.yaml")],
                          capture_output=True, text=True)
    tree = json.loads(stop.stdout)
    best = next(f for f in tree["findings"] if f["code"] == "mounted-differently")["explanations"]
    good = (stop.returncode == 1 and tree["so_far"]["verdict"] == "stop" and best[0]["kind"] == "angle-mirrored" and
            best[0]["plane"] == "P4" and best[0]["likelihood"] > 0.9 and
            abs(sum(e["likelihood"] for e in best) - 1) < 1e-12)
    sound = subprocess.run([program, "check", str(demo / "turbine-generator.yaml")], capture_output=True, text=True)
    return ([] if good else ["wrong-side.yaml is not stopped for P4"]) + \
        ([] if sound.returncode == 0 else ["turbine-generator.yaml is at fault"])


def main():
    program, wrong = sys.argv[1], []
    for row in TABLE:
        wrong += test_row(program, *row)
    wrong += test_quiet(program) + test_scatter(program) + test_demo(program)
    print("\n".join(wrong))
    count = len(TABLE) + 3
    print("outside | findings of check about the evidence | cases just above and below each threshold | constructed | "
          f"{len(TABLE)} pairs of cases, each finding with numbers, text within 80 columns")
    print(f"findings of check: {count - len(wrong)} passed, {len(wrong)} failed")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

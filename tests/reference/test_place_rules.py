#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Rules of `place` one by one, each by a closed form or plain loops (constructed): blocked stretches and old masses of
grooves, how many pieces a groove holds, what can be taken away, mistakes in fitting, what is refused.

usage: test_place_rules.py [PROGRAM]
"""
import cmath
import itertools
import json
import math
import pathlib
import random
import subprocess
import sys
import tempfile

import yaml

from outside import outside

PROGRAM = sys.argv[1] if len(sys.argv) > 1 else "build/countermass"
faults = []


def check(good, what):
    if not good:
        faults.append(what)


def phasor(size, degrees):
    return size * cmath.exp(1j * math.radians(degrees))


def written(z):
    return f"{abs(z):.15g} @ {math.degrees(cmath.phase(z)):.15g}"


def case_of(plane, y, a=1, now=None, **more):
    case = {"case": {"format": 1, "title": "rules"}, "conventions": {"phase": "lead", "mass_angle": "with-rotation"},
            "units": {"mass": "g", "length": "mm", "vibration": "um pp"}, "speeds": [{"id": "s", "speed": 3000}],
            "sensors": [{"id": "S0", "limit": 5}], "planes": [{"id": "P0", "radius": 100, **plane}],
            "runs": [{"id": "as-found", "readings": {"s": {"S0": written(y)}}}],
            "influence": [{"plane": "P0", "speed": "s", "sensor": "S0", "value": written(a)}], "objective": {}, **more}
    if now:
        case["now"] = {"masses": [{"plane": "P0", **m} for m in now]}
    return case


def run(case, folder, *options):
    path = pathlib.Path(folder) / "case.yaml"
    path.write_text(yaml.safe_dump(case, sort_keys=False))
    return subprocess.run([PROGRAM, "place", *options, str(path)], capture_output=True, text=True, check=False)


def place(case, folder):
    done = run(case, folder, "--format", "json", "--time", "3")
    if done.returncode > 1:
        check(False, done.stderr)
        return None
    return json.loads(done.stdout)


# ---- grooves ----


def blocked_by(stretches, angle, width):
    """True when a piece with its middle at the angle reaches into a stretch: marks every tenth of a degree."""
    marks = [angle - width / 2 + k * width / 40 for k in range(1, 40)]
    for low, high in stretches:
        whole = high - low >= 360
        if any(whole or 1e-6 < (m - low) % 360 < (high - low) % 360 - 1e-6 for m in marks):
            return True
    return False


def stretches_are_kept(folder):
    width = math.degrees(5 / 100)
    lists = [[(10, 15), (30, 32), (340, 40)], [(340, 40), (350, 10)], [(0, 100), (90, 200), (150, 160)], [(300, 420)],
             [(200, 350), (340, 20), (100, 110)], [(355, 5), (0, 3)]]
    rng = random.Random(2)
    for _ in range(12):
        lists.append([(low := round(rng.uniform(0, 360), 1), low + round(rng.uniform(5, 120), 1)) for _ in range(3)])
    for stretches in lists:
        free = [t / 10 for t in range(3600) if not blocked_by(stretches, t / 10, width)]
        for want in (0, 22, 95, 250, 352):
            groove = {"piece_length": 5, "blocked": [list(s) for s in stretches]}
            result = place(case_of({"groove": groove, "pieces": [{"mass": 40, "stock": 1}]}, phasor(40, want + 180)), folder)
            value = min([8.0] + [abs(phasor(40, t) - phasor(40, want)) / 5 for t in free])
            got = result["objective"]["value"]
            check(abs(got - value) <= 0.02, f"{stretches}, wanted {want}: {got}, by trying {value}")
            check(not any(blocked_by(stretches, e["angle"], width) for e in result["placements"]), f"{stretches}: {result['placements']}")
    for stretch in ([0, 360], [90, 450], [-10, 355]):
        groove = {"piece_length": 5, "blocked": [stretch]}
        result = place(case_of({"groove": groove, "pieces": [{"mass": 10}]}, 40), folder)
        expected = "nothing-fits" if stretch[1] - stretch[0] >= 360 else "best-found"
        check(result["status"] == expected or (expected != "nothing-fits" and result["status"] == "optimal"), f"{stretch}: {result['status']}")


def a_groove_holds_many(folder):
    """62 pieces of 1 g fit side by side on part of the circle; 30 g are within their reach, exactly."""
    result = place(case_of({"groove": {"piece_length": 5}, "pieces": [{"mass": 1}]}, -30), folder)
    objective = result["objective"]
    check(objective["value"] <= 0.0109 and objective["bound"] <= objective["value"], f"many pieces: {objective}")
    angles = [e["angle"] for e in result["placements"]]
    total = sum(phasor(e["mass"], e["angle"]) for e in result["placements"])
    check(abs(total - 30) <= 0.06, f"many pieces: {total}")
    width = math.degrees(5 / 100) * (1 - 1e-6)
    check(all(abs((s - t + 180) % 360 - 180) >= width for s, t in itertools.combinations(angles, 2)), "many pieces overlap")


def old_pieces_stay_where_they_are(folder):
    width = math.degrees(30 / 100)
    now = [{"mass": 40, "angle": 0}, {"mass": 25, "angle": 120}, {"mass": -25, "angle": 120}]
    for want, nearest in ((0, width), (120, 0)):  # where the mass was taken off again there is room
        there = phasor(40, 0)
        y = there - phasor(40, want) - there  # as measured without them; masses on the rotor now add theirs
        result = place(case_of({"groove": {"piece_length": 30}, "pieces": [{"mass": 40, "stock": 1}]}, y - 0, now=now), folder)
        for e in result["placements"]:
            check(abs((e["angle"] + 180) % 360 - 180) >= width * (1 - 1e-6), f"old piece: {e['angle']}")
            check(nearest > 0 or abs(e["angle"] - want) < 90, f"room again: {e['angle']}")
    installed = case_of({"groove": {"piece_length": 30}, "pieces": [{"mass": 40}], "installed": [{"site": 1, "mass": 40}]}, 40)
    done = run(installed, folder)
    check(done.returncode == 2 and "now.masses" in done.stderr, f"installed in a groove: {done.stderr}")


# ---- taking away ----


def only_what_is_there(folder):
    """Total mass that can be taken from position 3 (at 180 degrees) of four."""
    cases = [([], [{"mass": 50}, {"mass": -20}], {0, 30}), ([{"site": 3, "mass": 35}], [{"mass": 35}], {0, 35}),
             ([{"site": 3, "mass": 35}], [{"mass": 20}], {0, 20, 35, 55}), ([], [{"mass": 50}, {"mass": 20}, {"mass": -20}], {0, 50}),
             ([{"site": 3, "mass": 35}, {"site": 3, "mass": 35}], [{"mass": 35}], {0, 35, 70}),
             ([], [{"mass": 50, "stays": True}, {"mass": 20}], {0, 20})]
    for installed, now, amounts in cases:
        for want in (15, 32, 36, 58, 75, 200):
            plane = {"sites": {"count": 4}, "action": "remove", "installed": installed}
            masses = [{"site": 3, **m} for m in now]
            there = phasor(sum(m["mass"] for m in now), 180)
            y = phasor(want, 180)  # taking `want` away at 180 degrees leaves nothing
            result = place(case_of(plane, y, now=masses, objective={"minimise": "least-squares"}), folder)
            taken = -sum(e["mass"] for e in result["placements"])
            start = abs(y + there)
            best = min(abs(y + there - phasor(m, 180)) for m in amounts)
            check(any(abs(taken - m) < 1e-9 for m in amounts), f"{installed} {now}: {taken} g taken")
            check(abs(result["objective"]["value"] * 5 - best) < 1e-6 * start or result["status"] == "nothing-fits",
                  f"{installed} {now}: {result['objective']}, not {best / 5}")
    crowded = case_of({"sites": {"count": 4}, "action": "remove", "installed": [{"site": 3, "mass": 35}]}, 40, now=[{"site": 3, "mass": 20}])
    check("more than per_site" in run(crowded, folder).stderr + run(crowded, folder).stdout, "a crowded position is not told")


# ---- mistakes in fitting ----


def neighbours(folder):
    for seed in range(12):
        rng = random.Random(seed)
        angles = sorted(rng.sample(range(0, 360, 5), rng.randrange(2, 7)))
        y, a = phasor(rng.uniform(20, 60), rng.uniform(0, 360)), phasor(rng.uniform(0.5, 1.5), rng.uniform(0, 360))
        result = place(case_of({"sites": {"angles": angles}, "pieces": [{"mass": 20}]}, y, a), folder)
        placed = [angles.index(round(e["angle"])) for e in result["placements"]]
        if not placed:
            continue
        worst = max(abs(y + a * sum(phasor(20, angles[(k + sign) % len(angles)]) for k in placed)) / 5 for sign in (1, -1))
        told = result["fitting_tolerance"][0]
        check(abs(told["largest_ratio"] - worst) < 1e-9 * worst, f"one position off {angles}: {told}, not {worst}")


def orbits_count(folder):
    """Forward circle and major axis of the two probes, worked out here for every slip."""
    alpha = (45, 135)
    for seed in range(6):
        rng = random.Random(seed)
        y = [phasor(rng.uniform(5, 30), rng.uniform(0, 360)) for _ in alpha]
        a = [[phasor(rng.uniform(0.5, 2.5), rng.uniform(0, 360)) for _ in range(2)] for _ in alpha]
        case = case_of({}, 1)
        case["sensors"] = [{"id": f"S{i}", "angle": t, "limit": 20} for i, t in enumerate(alpha)]
        case["planes"] = [{"id": f"P{j}", "radius": 100, "sites": {"count": 6}, "pieces": [{"mass": 3}, {"mass": 5}]} for j in range(2)]
        case["runs"][0]["readings"]["s"] = {f"S{i}": written(v) for i, v in enumerate(y)}
        case["influence"] = [{"plane": f"P{j}", "speed": "s", "sensor": f"S{i}", "value": written(a[i][j])} for i in range(2) for j in range(2)]
        case["conventions"]["rotation"] = "counter-clockwise"
        case["objective"] = {"minimise": "min-max"}
        case["pairs"] = [{"id": "B", "sensors": ["S0", "S1"], "rows": ["forward", "major-axis"], "limit": 5}]
        result = place(case, folder)

        def ratio(x):
            r = [y[i] + sum(a[i][j] * x[j] for j in range(2)) for i in range(2)]
            # p_k = F exp(-i alpha_k) + B exp(i alpha_k)
            e, f = [phasor(1, -t) for t in alpha], [phasor(1, t) for t in alpha]
            det = e[0] * f[1] - e[1] * f[0]
            forward, backward = (r[0] * f[1] - r[1] * f[0]) / det, (e[0] * r[1] - e[1] * r[0]) / det
            return max(abs(r[0]) / 20, abs(r[1]) / 20, abs(forward) / 5, (abs(forward) + abs(backward)) / 5)
        x = [sum((phasor(e["mass"], e["angle"]) for e in result["placements"] if e["plane"] == f"P{j}"), 0j) for j in range(2)]
        for slip, turn, more in ((0, 60, 0), (1, 2, 0), (2, 0, 0.02)):
            told = result["fitting_tolerance"][slip]
            changes = [lambda z, s=s: z * phasor(1 + s * more, s * turn) for s in (1, -1)]
            single = max(ratio([change(z) if k == j else z for k, z in enumerate(x)]) for j in range(2) for change in changes if abs(x[j]) > 0)
            both = max(ratio([c(x[0]), d(x[1])]) for c in changes for d in changes)
            check(abs(told["largest_ratio"] - single) < 1e-9 * single, f"slip {slip} with orbits {seed}: {told}, not {single}")
            check(abs(told["all_planes"] - both) < 1e-9 * both, f"slip {slip} of all with orbits {seed}: {told}, not {both}")


# ---- by hand ----


def split_by_hand(folder):
    """Where there is only drilling, the two holes lie around the opposite angle and lose mass."""
    drill = {"diameter": 12, "density": 7850, "greatest_depth": 25, "step": 5}
    plane = {"sites": {"count": 12}, "action": "remove", "drill": drill}
    split = place(case_of(plane, phasor(40, 195)), folder)["splits"][0]  # 40 g at 15 degrees are missing
    total = sum(phasor(p["mass"], p["angle"]) for p in split["parts"])
    check(split["possible"] and abs(total - phasor(40, 15)) < 1e-6, f"split of a drilled plane: {split}")
    check([p["action"] for p in split["parts"]] == ["take-away"] * 2 and sorted(p["site"] for p in split["parts"]) == [7, 8], f"drilled: {split}")
    only = {"sites": {"count": 12}, "action": "remove", "installed": [{"site": 3, "mass": 10}]}
    split = place(case_of(only, phasor(40, 195)), folder)["splits"][0]
    check(not split["possible"] and split["reason"] == "nothing-to-add-or-drill", f"nothing to add or drill: {split}")
    free = case_of({"sites": {"count": 12}, "pieces": [{"mass": 20}]}, 40)
    for wish, reason, actions in (("P0: 40 @ 20 between 60 and 90", None, ["add", "take-away"]), ("P0: 40 @ 20 between 60 and 60", "one-line", [])):
        split = json.loads(run(free, folder, "--format", "json", "--split", wish).stdout)["splits"][0]
        check(split["reason"] == reason and [p["action"] for p in split["parts"]] == actions, f"{wish}: {split}")


# ---- what is refused ----


def refused(folder):
    cases = {
        "action: remove": (case_of({"groove": {"piece_length": 30}, "pieces": [{"mass": 40}], "action": "remove"}, 40), "'P0'"),
        "per_site": (case_of({"sites": {"count": 4, "per_site": 2}, "pieces": [{"mass": 30, "replaces": 5}]}, 40), "'replaces'"),
        "drill": (case_of({"sites": {"count": 4}, "action": "remove",
                           "drill": {"diameter": 12, "density": 7850, "greatest_depth": 30, "step": 0.0001}}, 40), "'P0'"),
        "stock": (case_of({"sites": {"count": 100}, "pieces": [{"mass": 10 + k, "stock": 5} for k in range(20)]}, 40), "'P0'"),
    }
    for word, (case, also) in cases.items():
        done = run(case, folder, "--time", "2")
        check(done.returncode == 2 and not done.stdout and word in done.stderr and also in done.stderr, f"{word}: {done.returncode} {done.stderr}")


def main():
    with tempfile.TemporaryDirectory() as folder:
        for part in (stretches_are_kept, a_groove_holds_many, old_pieces_stay_where_they_are, only_what_is_there, neighbours,
                     orbits_count, split_by_hand, refused):
            part(folder)
    for fault in faults:
        print("FAILED", fault)
    if not faults:
        outside("blocked stretches of grooves that overlap, also over angle 0", "one piece tried every tenth of a degree", "constructed", "18 lists of stretches")
        outside("mistakes in fitting with unequal gaps and with orbits", "the slip worked out for every piece", "constructed", "1e-9")
    print(f"rules of placing: {len(faults)} failures")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())

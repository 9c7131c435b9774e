#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Long lists, grooves and drilled holes of `place`, each against plain loops or a closed form (constructed).

usage: test_place_kinds.py [PROGRAM]
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

import numpy as np
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
    return f"{abs(z):.12g} @ {math.degrees(cmath.phase(z)):.12g}"


def case_of(rng, planes, rows, objective="least-squares"):
    """Lead and with rotation, so that numbers are what they seem. Returns case, y, A, limits."""
    y = np.array([phasor(rng.uniform(20, 90), rng.uniform(0, 360)) for _ in range(rows)])
    a = np.array([[phasor(rng.uniform(0.1, 0.6), rng.uniform(0, 360)) for _ in planes] for _ in range(rows)])
    ids = [f"s{i}" for i in range(rows)]
    case = {
        "case": {"format": 1, "title": "kinds"}, "conventions": {"phase": "lead", "mass_angle": "with-rotation"},
        "speeds": [{"id": "service", "speed": 3000}], "sensors": [{"id": s, "limit": 50} for s in ids], "planes": planes,
        "runs": [{"id": "as-found", "readings": {"service": {s: written(v) for s, v in zip(ids, y)}}}],
        "influence": [{"plane": p["id"], "speed": "service", "sensor": s, "value": written(a[i, j])}
                      for i, s in enumerate(ids) for j, p in enumerate(planes)],
        "objective": {"minimise": objective},
    }
    return case, y / 50, a / 50


def place(case, folder, *options):
    path = pathlib.Path(folder) / "case.yaml"
    path.write_text(yaml.safe_dump(case, sort_keys=False))
    done = subprocess.run([PROGRAM, "place", "--format", "json", *options, str(path)], capture_output=True, text=True)
    assert done.returncode <= 1, done.stderr
    return json.loads(done.stdout)


def value_of(objective, r):
    size = np.abs(r)
    return size.max(axis=-1) if objective == "min-max" else np.sqrt((size ** 2).sum(axis=-1))


def totals(result, case):
    x = np.zeros(len(case["planes"]), complex)
    for e in result["placements"]:
        j = next(j for j, p in enumerate(case["planes"]) if p["id"] == e["plane"])
        x[j] += phasor(e["mass"], e["angle"])
    return x


# ---- long lists: 2^18 sums of irregular holes are not listed but made from halves ----


def all_sums(masses):
    sums = np.zeros(1, complex)
    for m in masses:
        sums = np.concatenate([sums, sums + m])
    return sums


def long_lists(folder):
    for seed, objective in itertools.product(range(3), ("least-squares", "min-max")):
        rng = random.Random(seed)
        angles = sorted(round(rng.uniform(0, 360), 1) for _ in range(18))
        few = sorted(round(rng.uniform(0, 360), 1) for _ in range(4))
        planes = [{"id": "P1", "radius": 200, "sites": {"angles": angles}, "pieces": [{"mass": 25}]},
                  {"id": "P2", "radius": 200, "sites": {"angles": few}, "pieces": [{"mass": 40}]}]
        case, y, a = case_of(rng, planes, 4, objective)
        first, second = all_sums([phasor(25, t) for t in angles]), all_sums([phasor(40, t) for t in few])
        best = min(value_of(objective, y + np.outer(first, a[:, 0]) + z * a[:, 1]).min() for z in second)
        result = place(case, folder)
        check(result["status"] == "optimal" and abs(result["objective"]["value"] - best) <= 1e-9 * best,
              f"long list {seed} {objective}: {result['status']} {result['objective']['value']}, not {best}")
        check(abs(value_of(objective, y + a @ totals(result, case)) - best) <= 1e-9 * best, f"long list {seed}: its pieces")


# ---- two probes at a bearing: circles and ellipses of the orbit ----


def orbits(folder):
    """p_k = F exp(-i alpha_k) + B exp(i alpha_k) for probes at alpha_k; forward |F|, major axis |F| + |B|."""
    for seed, within in itertools.product(range(6), (False, True)):
        rng = random.Random(seed)
        planes = [{"id": p, "radius": 200, "sites": {"count": 6}, "pieces": [{"mass": 20}, {"mass": 45}]} for p in ("P1", "P2")]
        case, y, a = case_of(rng, planes, 2, "min-max")
        alpha = [45, 315]
        for sensor, angle in zip(case["sensors"], alpha):
            sensor["angle"] = angle
            sensor["weight"] = rng.choice([0, 1])
        case["sensors"][0]["weight"] = 1
        case["conventions"]["rotation"] = "clockwise"
        limit = {"forward": 30, "major-axis": 45}
        case["pairs"] = [{"id": "bearing " + row, "sensors": ["s0", "s1"], "rows": [row], "limit": limit[row]} for row in limit]
        if within:
            case["objective"]["within_limits"] = True
        weight = np.array([s["weight"] for s in case["sensors"]])
        sums = {(round(z.real, 6), round(z.imag, 6)): z for choice in itertools.product((0, 20, 45), repeat=6)
                for z in [sum(phasor(m, 60 * s) for s, m in enumerate(choice))]}
        sums = np.array(list(sums.values()))
        turn = np.linalg.inv(np.array([[phasor(1, -t), phasor(1, t)] for t in alpha]))
        best = math.inf
        for z in sums:
            r = 50 * (y + a[:, 1] * z + np.outer(sums, a[:, 0]))  # rows of readings in um
            circles = r @ turn.T
            forward, major = np.abs(circles[:, 0]) / 30, np.abs(circles).sum(axis=1) / 45
            single = np.abs(r) / 50
            value = np.maximum(np.maximum(forward, major), (single * weight).max(axis=1))
            if within:
                broken = (forward > 1 + 1e-9) | (major > 1 + 1e-9) | ((single > 1 + 1e-9) & (weight > 0)).any(axis=1)
                value = np.where(broken, np.inf, value)
            best = min(best, value.min())
        result = place(case, folder)
        if math.isinf(best):
            check(result["status"] == "infeasible", f"orbit {seed}: {result['status']}")
            continue
        check(result["status"] == "optimal" and abs(result["objective"]["value"] - best) <= 1e-9 * best,
              f"orbit {seed} {within}: {result['status']} {result['objective']['value']}, not {best}")


# ---- grooves ----


def groove_plane(blocked=(), pieces=2, mass=60):
    return {"id": "P1", "radius": 200, "groove": {"piece_length": 20, "blocked": [list(b) for b in blocked]},
            "pieces": [{"mass": mass, "stock": pieces}]}


def legal(result, blocked):
    width = math.degrees(20 / 200)
    angles = [e["angle"] for e in result["placements"]]
    for a, b in itertools.combinations(angles, 2):
        check(abs((a - b + 180) % 360 - 180) >= width * (1 - 1e-6), f"pieces at {a} and {b} overlap")
    for t in angles:
        for low, high in blocked:
            inside = (t - low + width / 2 * (1 - 1e-6)) % 360 < (high - low) % 360 + width * (1 - 1e-6)
            check(not inside, f"piece at {t} reaches into {low} to {high}")


def grooves(folder):
    for seed in range(6):
        rng = random.Random(seed)
        case, y, a = case_of(rng, [groove_plane()], 3)
        best = -(a[:, 0].conj() @ y) / (a[:, 0].conj() @ a[:, 0])  # least squares of one plane
        result = place(case, folder)
        legal(result, ())
        apart = math.degrees(2 * math.acos(min(1, abs(best) / 120)))
        if math.degrees(20 / 200) < apart and abs(best) < 120:  # two equal pieces reach it exactly: at ± acos(M / 2m)
            value = value_of("least-squares", y + a[:, 0] * best)
            check(result["status"] == "optimal" and result["objective"]["gap"] <= 1e-9 and
                  abs(result["objective"]["value"] - value) <= 1e-9 * value, f"groove {seed}: {result['objective']}, not {value}")
            angles = sorted(e["angle"] for e in result["placements"])
            check(len(angles) == 2 and abs(abs((angles[0] - angles[1] + 180) % 360 - 180) - apart) < 1e-3, f"groove {seed}: angles {angles}")
        check(result["objective"]["bound"] <= result["objective"]["value"] * (1 + 1e-12), "bound")
    for seed, objective in itertools.product(range(4), ("least-squares", "min-max")):
        rng = random.Random(100 + seed)
        blocked = [(rng.uniform(0, 100), rng.uniform(101, 200)), (rng.uniform(205, 250), rng.uniform(251, 300))]
        case, y, a = case_of(rng, [groove_plane(blocked, 3)], 3, objective)
        result = place(case, folder)
        legal(result, blocked)
        width = math.degrees(20 / 200)
        free = [t for t in np.arange(0, 360, 3.0)
                if all((t - low + width / 2) % 360 >= (high - low) % 360 + width for low, high in blocked)]
        grid = [0j]
        for count in (1, 2, 3):
            for angles in itertools.combinations(free, count):
                if all(abs((s - t + 180) % 360 - 180) >= width for s, t in itertools.combinations(angles, 2)):
                    grid.append(sum(phasor(60, t) for t in angles))
        coarse = value_of(objective, y + np.outer(np.array(grid), a[:, 0])).min()
        value = value_of(objective, y + a @ totals(result, case))
        check(abs(value - result["objective"]["value"]) <= 1e-9 * value, f"blocked groove {seed}: its own pieces")
        check(value <= coarse * (1 + 2e-3) and result["objective"]["bound"] <= coarse, f"blocked groove {seed} {objective}: {value}, on a grid {coarse}")


# ---- drilled holes ----


def drilled(diameter, depth, point, density):
    """By summing thin slices of the hole, in g; lengths in mm."""
    slices, height = 20000, diameter / 2 / math.tan(math.radians(point / 2))
    step = depth / slices
    radius = [min(diameter / 2, (i + 0.5) * step * math.tan(math.radians(point / 2))) for i in range(slices)]
    del height
    return sum(math.pi * r * r for r in radius) * step * 1e-9 * density * 1e3


def drills(folder):
    for seed in range(4):
        rng = random.Random(seed)
        plane = {"id": "P1", "radius": 200, "sites": {"count": 5, "most": 2}, "action": "remove",
                 "drill": {"diameter": 14, "density": 7850, "greatest_depth": 10, "point_angle": 118, "step": 2}}
        case, y, a = case_of(rng, [plane], 3)
        masses = [drilled(14, d, 118, 7850) for d in range(2, 11, 2)]
        sums = [0j] + [-phasor(m, 72 * s) for m in masses for s in range(5)]
        sums += [-phasor(m, 72 * s) - phasor(n, 72 * t) for s, t in itertools.combinations(range(5), 2) for m in masses for n in masses]
        best = value_of("least-squares", y + np.outer(np.array(sums), a[:, 0])).min()
        result = place(case, folder)
        check(result["status"] == "optimal" and abs(result["objective"]["value"] - best) <= 1e-6 * best, f"drill {seed}: {result['objective']['value']}, not {best}")
        for e in result["placements"]:
            check(e["action"] == "drill" and abs(-e["mass"] - drilled(14, e["depth"], 118, 7850)) <= 1e-5 * -e["mass"], f"drill {seed}: mass of {e['depth']} mm")
            check(abs(e["depth"] - e["full_depth"] - min(e["depth"], 7 / math.tan(math.radians(59)))) < 1e-9, "depth at full diameter")


# ---- caps: on a groove, on planes that are alike; a groove beside numbered positions ----


def capped_groove(folder):
    """One piece or none may stay below the cap; two at ± acos(cap / 2m) reach just the cap, where more would help."""
    for seed in range(3):
        rng = random.Random(200 + seed)
        plane = {**groove_plane((), 2), "cap": 80}
        case, y, a = case_of(rng, [plane], 1)
        y = y * 1000 / np.abs(y)  # far more than 80 g can take away
        case["runs"][0]["readings"]["service"]["s0"] = written(y[0] * 50)
        result = place(case, folder)
        x = totals(result, case)[0]
        best = abs(y[0]) - 80 * abs(a[0, 0])
        check(abs(x) <= 80 * (1 + 1e-9), f"capped groove {seed}: {abs(x)} g")
        check(result["objective"]["bound"] <= best * (1 + 1e-9) and
              abs(result["objective"]["value"] - abs(y[0] + a[0, 0] * x)) <= 1e-9 * abs(y[0]),
              f"capped groove {seed}: {result['objective']}, best {best}")
        check(abs(x) >= 79 and abs(y[0] + a[0, 0] * x) <= best * 1.0005, f"capped groove {seed}: only {x}")


def groove_beside_positions(folder):
    """Every choice of the numbered plane, and for each the angle of the one piece in the groove on a fine grid."""
    turn = np.exp(1j * np.radians(np.arange(0, 360, 0.02)))
    for seed, objective in itertools.product(range(3), ("least-squares", "min-max")):
        rng = random.Random(300 + seed)
        numbered = {"id": "P2", "radius": 200, "sites": {"count": 6}, "pieces": [{"mass": 45}, {"mass": 70}]}
        case, y, a = case_of(rng, [groove_plane((), 1), numbered], 3, objective)
        best = math.inf
        for choice in itertools.product((0, 45, 70), repeat=6):
            r = y + a[:, 1] * sum(phasor(m, 60 * s) for s, m in enumerate(choice))
            if value_of("least-squares", r) - 60 * np.linalg.norm(a[:, 0]) > best * math.sqrt(3):
                continue
            best = min(best, value_of(objective, r), value_of(objective, r + np.outer(60 * turn, a[:, 0])).min())
        result = place(case, folder, "--time", "3")
        own = value_of(objective, y + a @ totals(result, case))
        check(abs(own - result["objective"]["value"]) <= 1e-9 * own, f"groove and positions {seed}: its own pieces")
        check(result["objective"]["bound"] <= best * (1 + 1e-9), f"groove and positions {seed}: bound {result['objective']}, {best}")
        check(own <= best * 1.002, f"groove and positions {seed} {objective}: {own}, by trying {best}")


def alike_with_caps(folder):
    """Two planes with the same positions and pieces; caps alike, then not."""
    for seed, caps in itertools.product(range(3), ((60, 60), (60, 90), (60, None))):
        rng = random.Random(400 + seed)
        planes = [{"id": f"P{j}", "radius": 200, "sites": {"count": 5}, "pieces": [{"mass": 35}], **({"cap": c} if c else {})}
                  for j, c in enumerate(caps)]
        case, y, a = case_of(rng, planes, 3)
        lists = []
        for c in caps:
            sums = [sum(phasor(m, 72 * s) for s, m in enumerate(choice)) for choice in itertools.product((0, 35), repeat=5)]
            lists.append([z for z in sums if not c or abs(z) <= c])
        best = min(value_of("least-squares", y + a[:, 0] * p + a[:, 1] * q) for p, q in itertools.product(*lists))
        result = place(case, folder)
        check(result["status"] == "optimal" and abs(result["objective"]["value"] - best) <= 1e-9 * best,
              f"alike {seed} {caps}: {result['objective']['value']}, by trying {best}")
        check(all(not c or abs(z) <= c * (1 + 1e-9) for c, z in zip(caps, totals(result, case))), f"alike {seed}: over a cap")


# ---- what is said of other choices, where pieces slide after they were chosen ----


def other_choices(folder):
    for seed in (0, 3):
        rng = random.Random(seed)
        drilling = {"id": "P2", "radius": 200, "sites": {"count": 12}, "action": "remove",
                    "drill": {"diameter": 12, "density": 7850, "greatest_depth": 40}}
        case, y, a = case_of(rng, [groove_plane([(350, 370)], 3), drilling], 2)
        result = place(case, folder, "--time", "3")
        own = [value_of("least-squares", y + a @ totals(offer, case)) for offer in result["offers"]]
        check(all(abs(v - o["value"]) <= 1e-6 * v + 1e-9 for v, o in zip(own, result["offers"])), f"offers {seed}: {own}")
        check(all(v <= w * (1 + 1e-9) for v, w in itertools.pairwise(own)), f"offers {seed} are not in order: {own}")
        check(result["offers"][0]["placements"] == result["placements"], f"offers {seed}: the first is not the best")
        fewer = result["fewer_pieces"]
        check(fewer is None or (own[0] * (1 - 1e-9) <= fewer["value"] <= 1.02 * own[0] and
                                fewer["pieces"] < result["offers"][0]["pieces"]),
              f"fewer pieces {seed}: {fewer and fewer['value']}, the best is {own[0]}")


def main():
    with tempfile.TemporaryDirectory() as folder:
        for part in (long_lists, orbits, grooves, drills, capped_groove, groove_beside_positions,
                     alike_with_caps, other_choices):
            part(folder)
    for fault in faults:
        print("FAILED", fault)
    if not faults:
        outside("placement of 2^18 sums made from halves, and of pairs of probes", "every sum tried by numpy", "constructed", "value to 1e-9")
        outside("two equal pieces in a groove", "angles at plus and minus acos(M / 2m), value of plain least squares", "constructed", "value to 1e-9")
        outside("mass of drilled holes with a point", "sum over thin slices", "constructed", "1e-5")
    print(f"long lists, grooves, drilled holes: {len(faults)} failures")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())

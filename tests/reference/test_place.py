#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""`place` against exhaustive enumeration (constructed: every choice of pieces and positions is tried).

Small random cases with everything that decides what may be put where. All numbers are worked out here from the case
file alone: what the positions are, what they may take, what the readings become. The best value, the pieces it needs at
least, and each placement's legality are compared.

usage: test_place.py [PROGRAM [CASES]]
"""
import cmath
import itertools
import json
import math
import random
import subprocess
import sys
import tempfile
import pathlib

import numpy as np
import yaml

from outside import outside

PROGRAM = sys.argv[1] if len(sys.argv) > 1 else "build/countermass"
CASES = int(sys.argv[2]) if len(sys.argv) > 2 else 120
CLOSE = 1e-9


def phasor(size, degrees):
    return size * cmath.exp(1j * math.radians(degrees))


def written(z):
    return f"{abs(z):.12g} @ {math.degrees(cmath.phase(z)):.12g}"


# ---- making cases ----


def random_pieces(rng):
    kinds = rng.choice([1, 1, 2, 3])
    pieces = []
    for _ in range(kinds):
        piece = {"mass": rng.choice([10, 15, 20, 30, 50, 80])}
        if rng.random() < 0.6:
            piece["stock"] = rng.randrange(0, 5)
        if rng.random() < 0.2:
            piece["screw"] = 3
        if rng.random() < 0.2:
            piece["replaces"] = rng.choice([5, 24])
        pieces.append(piece)
    return pieces


def random_plane(rng, name, most=8):
    count = rng.randrange(3, most)
    sites = {"first_number": rng.choice([1, 1, 0, 5])}
    if rng.random() < 0.25:
        sites["angles"] = sorted(round(rng.uniform(0, 360), 1) for _ in range(count))
    else:
        sites["count"] = count
        sites["first_angle"] = rng.choice([0, 10, 350])
        if rng.random() < 0.5:
            sites["numbered"] = rng.choice(["with-rotation", "against-rotation"])
    numbers = list(range(sites["first_number"], sites["first_number"] + count))
    if rng.random() < 0.4:
        sites["blocked"] = rng.sample(numbers, rng.randrange(1, count))
    if rng.random() < 0.25:
        sites["per_site"] = 2
    if rng.random() < 0.25:
        sites["screw"] = 4
    if rng.random() < 0.3:
        sites["radius"] = 240
    if rng.random() < 0.3:
        sites["most"] = rng.randrange(1, 4)
    plane = {"id": name, "radius": 260, "sites": sites, "pieces": random_pieces(rng)}
    for piece in plane["pieces"] if sites.get("per_site", 1) > 1 else []:
        piece.pop("replaces", None)  # of several pieces at one position nobody knows which takes the plug out
    if rng.random() < 0.4:
        plane["zero"] = rng.choice([30, -45, 200.5])
    if rng.random() < 0.4:
        plane["action"] = rng.choice(["remove", "either"])
    if rng.random() < 0.5:
        taken = rng.sample(numbers, rng.randrange(1, 3))
        plane["installed"] = [{"site": n, "mass": rng.choice([24, 40, 60])} for n in taken]
    if rng.random() < 0.25:
        plane["cap"] = rng.choice([40, 90, 140])
    if rng.random() < 0.2:
        plane["change_cap"] = rng.choice([50, 100])
    if rng.random() < 0.2:
        plane["cap_force"] = rng.choice([1500, 3000])
    return plane


def random_case(rng):
    count = rng.choice([1, 2, 2, 3])
    planes = [random_plane(rng, f"P{j + 1}", 8 if count > 1 else 12) for j in range(count)]
    sensors = [{"id": f"s{i + 1}", "limit": rng.choice([40, 60, 90]), "weight": rng.choice([1, 1, 1, 0.5, 0])}
               for i in range(rng.randrange(2, 6))]
    sensors[0]["weight"] = 1
    speeds = [{"id": "service", "speed": 3000}, {"id": "slow", "speed": 1700, "weight": 0.5}][: rng.choice([1, 2])]
    readings = {v["id"]: {s["id"]: written(phasor(rng.uniform(10, 90), rng.uniform(0, 360))) for s in sensors} for v in speeds}
    influence = [{"plane": p["id"], "speed": v["id"], "sensor": s["id"],
                  "value": written(phasor(rng.uniform(0.1, 0.9), rng.uniform(0, 360)))}
                 for p in planes for v in speeds for s in sensors]
    case = {
        "case": {"format": 1, "title": "random"},
        "conventions": {"phase": rng.choice(["lag", "lead"]), "mass_angle": rng.choice(["with-rotation", "against-rotation"])},
        "rotor": {"overspeed": 3300},
        "speeds": speeds, "sensors": sensors, "planes": planes,
        "runs": [{"id": "as-found", "readings": readings}], "influence": influence,
        "objective": {"minimise": rng.choice(["least-squares", "min-max"])},
    }
    if rng.random() < 0.3:
        case["objective"]["within_limits"] = True
    if rng.random() < 0.4:
        masses = []
        for plane in planes:
            for n in rng.sample(numbers_of(plane), rng.randrange(0, 2)):
                masses.append({"plane": plane["id"], "mass": rng.choice([20, 35]), "site": n, "stays": rng.random() < 0.3})
            if rng.random() < 0.3:
                masses.append({"plane": plane["id"], "mass": 25, "angle": 77})
        case["now"] = {"masses": masses}
    if rng.random() < 0.15 and len(planes) > 1:
        case["objective"]["use_planes"] = [planes[0]["id"]]
    return case


# ---- the same in numbers ----


def numbers_of(plane):
    sites = plane["sites"]
    count = sites.get("count") or len(sites["angles"])
    return list(range(sites["first_number"], sites["first_number"] + count))


def site_angle(case, plane, number):
    """By the plane's own angles, in the case's counting direction."""
    sites = plane["sites"]
    index = number - sites["first_number"]
    if "angles" in sites:
        return sites["angles"][index]
    direction = case["conventions"]["mass_angle"]
    sign = 1 if sites.get("numbered", direction) == direction else -1
    return sites.get("first_angle", 0) + sign * 360 * index / sites["count"]


def in_frame(case, plane, mass, angle):
    sign = -1 if case["conventions"]["mass_angle"] == "against-rotation" else 1
    return phasor(mass, sign * (angle + plane.get("zero", 0)))


def now_of(case, plane):
    total, seated, stays = 0, {}, 0
    for m in case.get("now", {}).get("masses", []):
        if m["plane"] != plane["id"]:
            continue
        angle = site_angle(case, plane, m["site"]) if "site" in m else m["angle"]
        reduce = plane["sites"].get("radius", 260) / 260 if "site" in m else 1
        z = in_frame(case, plane, m["mass"] * reduce, angle)
        total += z
        stays += z if m.get("stays") else 0
        if "site" in m:
            seated.setdefault(m["site"], []).append((m["mass"], m.get("stays", False)))
    return total, seated, stays


def choices_at(plane, number, seated):
    """(net mass, pieces handled, pieces of each kind) for every way to change one position."""
    sites, pieces, action = plane["sites"], plane["pieces"], plane.get("action", "add")
    kinds = len(pieces)
    nothing = [(0.0, 0, (0,) * kinds)]
    there = [p["mass"] for p in plane.get("installed", []) if p["site"] == number]
    loose = there + [m for m, stays in seated.get(number, []) if not stays]
    if there or number in seated:
        found = list(nothing)
        if action != "add":
            for size in range(1, len(loose) + 1):
                for some in itertools.combinations(loose, size):
                    found.append((-sum(some), size, (0,) * kinds))
        if action == "either" and len(loose) == 1:
            for k, piece in enumerate(pieces):
                if piece.get("replaces", 0) > 0 and abs(piece["replaces"] - loose[0]) < 1e-9 * loose[0]:
                    found.append((piece["mass"] + piece.get("screw", 0) - loose[0], 1, tuple(int(i == k) for i in range(kinds))))
        return found
    if number in sites.get("blocked", []) or action == "remove":
        return nothing
    found = list(nothing)
    for size in range(1, sites.get("per_site", 1) + 1):
        for some in itertools.combinations_with_replacement(range(kinds), size):
            mass = sites.get("screw", 0) + sum(
                pieces[k]["mass"] + pieces[k].get("screw", 0) - pieces[k].get("replaces", 0) for k in some)
            found.append((mass, size, tuple(some.count(k) for k in range(kinds))))
    return found


def reachable(case, plane):
    """Totals of a plane that may be reached, with the fewest pieces each."""
    now, seated, stays = now_of(case, plane)
    sites = plane["sites"]
    most = sites.get("most", 10 ** 9)
    stock = [p.get("stock", 10 ** 9) for p in plane["pieces"]]
    states = {((0,) * len(stock), 0): {0j}}
    reduce = sites.get("radius", 260) / 260
    for number in numbers_of(plane):
        unit = in_frame(case, plane, 1, site_angle(case, plane, number)) * reduce
        options = choices_at(plane, number, seated)
        new = {}
        for (used, handled), sums in states.items():
            for mass, size, counts in options:
                total = tuple(a + b for a, b in zip(used, counts))
                if handled + size > most or any(t > s for t, s in zip(total, stock)):
                    continue
                target = new.setdefault((total, handled + size), {})
                for z in sums:
                    moved = z + mass * unit
                    target[(round(moved.real, 7), round(moved.imag, 7))] = moved
        states = {key: set(values.values()) for key, values in new.items()}
    best = {}
    for (_, handled), sums in states.items():
        for z in sums:
            x = now + z
            if can_move(states) and not within_caps(case, plane, x, now, stays):
                continue
            key = (round(x.real, 7), round(x.imag, 7))
            if key not in best or handled < best[key][1]:
                best[key] = (x, handled)
    return list(best.values())


def can_move(states):
    return sum(len(sums) for sums in states.values()) > 1


def within_caps(case, plane, x, now, stays):
    slack = 1 + 1e-9
    omega = case["rotor"]["overspeed"] * math.pi / 30
    if "cap" in plane and abs(stays) + abs(x - stays) > plane["cap"] * slack:
        return False
    if "change_cap" in plane and abs(x - now) > plane["change_cap"] * slack:
        return False
    if "cap_force" in plane and abs(x) * 1e-3 * 0.26 * omega ** 2 > plane["cap_force"] * slack:
        return False
    return True


def readings_model(case):
    sign = -1 if case["conventions"]["phase"] == "lag" else 1
    mass_sign = -1 if case["conventions"]["mass_angle"] == "against-rotation" else 1

    def value(text):
        size, angle = (float(t) for t in text.split("@"))
        return phasor(size, sign * angle)

    rows = [(v, s) for v in case["speeds"] for s in case["sensors"]]
    y = np.array([value(case["runs"][0]["readings"][v["id"]][s["id"]]) for v, s in rows])
    a = np.zeros((len(rows), len(case["planes"])), complex)
    for entry in case["influence"]:
        i = next(i for i, (v, s) in enumerate(rows) if v["id"] == entry["speed"] and s["id"] == entry["sensor"])
        j = next(j for j, p in enumerate(case["planes"]) if p["id"] == entry["plane"])
        a[i, j] = value(entry["value"]) * phasor(1, -mass_sign * case["planes"][j].get("zero", 0))
    limit = np.array([s["limit"] for _, s in rows], float)
    weight = np.array([s["weight"] * v.get("weight", 1) for v, s in rows]) / limit
    return y, a, weight, limit


def values_of(case, model, xs):
    """Objective at every line of xs (choices × planes); inf where a limit is broken."""
    y, a, weight, limit = model
    r = np.abs(y[None, :] + xs @ a.T)
    weighed = r * weight[None, :]
    value = weighed.max(axis=1) if case["objective"]["minimise"] == "min-max" else np.sqrt((weighed ** 2).sum(axis=1))
    if case["objective"].get("within_limits"):
        counted = weight > 0
        value = np.where((r[:, counted] > limit[None, counted] * (1 + 1e-9)).any(axis=1), np.inf, value)
    return value


def enumerate_all(case):
    used = case["objective"].get("use_planes", [p["id"] for p in case["planes"]])
    lists = [reachable(case, p) if p["id"] in used else [(now_of(case, p)[0], 0)] for p in case["planes"]]
    if any(not found for found in lists):
        return math.inf, None, 0
    count = math.prod(len(found) for found in lists)
    if count > 3_000_000:
        return None, None, count
    grid = np.array(list(itertools.product(*[[x for x, _ in found] for found in lists])), complex)
    pieces = np.array(list(itertools.product(*[[n for _, n in found] for found in lists]))).sum(axis=1)
    value = values_of(case, readings_model(case), grid)
    best = value.min()
    fewest = pieces[value <= best * (1 + CLOSE) + 1e-12].min() if math.isfinite(best) else None
    return best, fewest, count


# ---- what the program says ----


def solve(case, folder):
    path = pathlib.Path(folder) / "case.yaml"
    path.write_text(yaml.safe_dump(case, sort_keys=False))
    done = subprocess.run([PROGRAM, "place", "--format", "json", str(path)], capture_output=True, text=True)
    if done.returncode > 1:
        raise AssertionError(f"status {done.returncode}: {done.stderr}")
    return json.loads(done.stdout), done.returncode


def recomputed(case, result):
    """Totals and pieces from the placements alone, with every rule checked."""
    x = np.array([now_of(case, p)[0] for p in case["planes"]], complex)
    handled = 0
    for j, plane in enumerate(case["planes"]):
        _, seated, _ = now_of(case, plane)
        mine = [e for e in result["placements"] if e["plane"] == plane["id"]]
        assert len({e["site"] for e in mine}) == len(mine), "a position twice"
        stock = {}
        own = 0
        for e in mine:
            angle = site_angle(case, plane, e["site"])
            assert abs((e["angle"] - angle + 180) % 360 - 180) < 1e-6, (e["angle"], angle)
            pieces = sum(p["count"] for p in e["pieces"])
            options = {(round(m, 6), size) for m, size, _ in choices_at(plane, e["site"], seated)}
            assert (round(e["mass"], 6), pieces) in options, (plane, e, options)
            own += pieces
            if e["mass"] > 0 or e["action"] in ("add", "exchange"):
                for p in e["pieces"]:
                    key = (p["mass"], p.get("replaces", 0))
                    stock[key] = stock.get(key, 0) + p["count"]
            x[j] += in_frame(case, plane, e["mass"] * plane["sites"].get("radius", 260) / 260, angle)
        for (mass, replaces), count in stock.items():
            room = sum(p.get("stock", 10 ** 9) for p in plane["pieces"] if p["mass"] == mass and p.get("replaces", 0) == replaces)
            assert count <= room, "more than the stock"
        assert own <= plane["sites"].get("most", 10 ** 9), "more than allowed at once"
        handled += own
    return x, handled


def check(case, folder):
    best, fewest, count = enumerate_all(case)
    if best is None:
        return None
    result, status = solve(case, folder)
    if not math.isfinite(best):
        expected = "nothing-fits" if count == 1 else "infeasible"
        assert status == 1 and result["placements"] == [] and result["status"] == expected, (result["status"], status)
        return expected
    assert result["status"] in ("optimal", "nothing-fits"), result["status"]
    x, handled = recomputed(case, result)
    value = values_of(case, readings_model(case), x[None, :])[0]
    if result["status"] == "nothing-fits":
        assert status == 1 and not result["placements"] and count == 1
        return "nothing-fits"
    assert abs(value - best) <= CLOSE * best + 1e-12, (value, best)
    assert abs(result["objective"]["value"] - best) <= CLOSE * best + 1e-12, (result["objective"], best)
    assert result["objective"]["bound"] <= best * (1 + CLOSE) and result["objective"]["gap"] <= 1e-8
    assert handled == fewest, ("pieces", handled, fewest)
    y, a, _, _ = readings_model(case)
    for i, row in enumerate(result["predicted"]):
        assert abs(row["after"]["amplitude"] - abs(y[i] + a[i] @ x)) < 1e-6
    return "placed"


def main():
    tally = {}
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(CASES):
            case = random_case(random.Random(seed))
            try:
                outcome = check(case, folder)
            except AssertionError as wrong:
                print(yaml.safe_dump(case, sort_keys=False))
                print(f"FAILED case {seed}: {wrong}")
                return 1
            tally[outcome] = tally.get(outcome, 0) + 1
    print(f"place against enumeration: {tally}")
    if tally.get("placed", 0) > CASES // 2 and CASES == 120:
        outside("placement: value, fewest pieces, what may be put where, readings", "every choice tried by plain loops",
                "constructed", f"{CASES} random cases, value to 1e-9, pieces alike")
    return 0 if tally.get("placed", 0) > CASES // 2 else 1


if __name__ == "__main__":
    sys.exit(main())

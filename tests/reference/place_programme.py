# SPDX-License-Identifier: MIT
"""A placement as a mixed-integer linear programme for a general solver (GLPK or CBC).

One binary variable for each piece size at each hole. The largest weighted reading is held below t; the size of a phasor
is replaced by a regular polygon with `sides` sides around the circle: the largest projection on `sides` directions,
which is between cos(pi/sides) times the size and the size. So the optimum of the programme is a lower bound on the true
one, at most that factor below it.
"""
import cmath
import collections
import math
import pathlib
import subprocess

Found = collections.namedtuple("Found", "status value chosen")


def value_of(text):
    size, angle = (float(t) for t in text.split("@"))
    return size * cmath.exp(1j * math.radians(angle))


def variables(case):
    """(name, plane, hole number, piece index, complex mass) of every binary."""
    out = []
    for j, plane in enumerate(case["planes"]):
        count = plane["sites"]["count"]
        for h in range(count):
            for k, piece in enumerate(plane["pieces"]):
                mass = piece["mass"] * cmath.exp(2j * math.pi * h / count)
                out.append((f"z_{j}_{h}_{k}", j, h, k, mass))
    return out


def rows_of(case):
    """(weight, reading, coefficients by plane): the case must count with rotation and lead."""
    coefficient = {(e["speed"], e["sensor"], e["plane"]): value_of(e["value"]) for e in case["influence"]}
    for speed, readings in case["runs"][0]["readings"].items():
        for sensor, text in readings.items():
            limit = next(s["limit"] for s in case["sensors"] if s["id"] == sensor)
            yield 1 / limit, value_of(text), [coefficient[speed, sensor, p["id"]] for p in case["planes"]]


def term(value, name):
    return f"{'+' if value >= 0 else '-'} {abs(value):.12g} {name}"


def text_of(case, sides):
    names = variables(case)
    lines = ["Minimize", " obj: t", "Subject To"]
    for i, (weight, reading, a) in enumerate(rows_of(case)):
        for m in range(sides):
            turn = cmath.exp(-2j * math.pi * m / sides)
            terms = [term((weight * a[j] * mass * turn).real, name) for name, j, _, _, mass in names]
            lines.append(f" r_{i}_{m}: {' '.join(terms)} - t <= {-(weight * reading * turn).real:.12g}")
    for j, plane in enumerate(case["planes"]):
        mine = [v for v in names if v[1] == j]
        for h in range(plane["sites"]["count"]):
            lines.append(f" h_{j}_{h}: {' + '.join(v[0] for v in mine if v[2] == h)} <= 1")
        for k, piece in enumerate(plane["pieces"]):
            if "stock" in piece:
                lines.append(f" s_{j}_{k}: {' + '.join(v[0] for v in mine if v[3] == k)} <= {piece['stock']}")
        if "most" in plane["sites"]:
            lines.append(f" m_{j}: {' + '.join(v[0] for v in mine)} <= {plane['sites']['most']}")
    lines += ["Binary"] + [f" {v[0]}" for v in names] + ["End", ""]
    return "\n".join(lines)


def read_glpk(path, names):
    text = path.read_text()
    status = next(line.split(":")[1].strip() for line in text.splitlines() if line.startswith("Status"))
    value = next((float(line.split("=")[1].split()[0]) for line in text.splitlines() if line.startswith("Objective")), None)
    chosen = set()
    fields = text.split("Column name")[1].split() if "Column name" in text else []
    for i, word in enumerate(fields):
        if word in names and fields[i + 1] == "*" and float(fields[i + 2]) > 0.5:
            chosen.add(word)
    return Found("optimal" if status == "INTEGER OPTIMAL" else "stopped, not proven", value, chosen)


def read_cbc(path):
    lines = path.read_text().splitlines()
    chosen = {line.split()[-3] for line in lines[1:] if line.split()[-3].startswith("z_") and float(line.split()[-2]) > 0.5}
    value = float(lines[0].split()[-1])
    return Found("optimal" if lines[0].startswith("Optimal") else "stopped, not proven", value, chosen)


def solve(case, folder, solver, seconds, sides):
    problem, answer = pathlib.Path(folder) / "problem.lp", pathlib.Path(folder) / "answer.txt"
    problem.write_text(text_of(case, sides))
    answer.unlink(missing_ok=True)
    command = (["glpsol", "--lp", str(problem), "--cuts", "--tmlim", str(int(seconds)), "-o", str(answer)]
               if solver == "glpsol" else
               ["cbc", str(problem), "sec", str(int(seconds)), "solve", "solu", str(answer)])
    try:
        subprocess.run(command, capture_output=True, text=True, check=False, timeout=seconds + 30)
    except subprocess.TimeoutExpired:
        return Found("stopped, not proven", None, set())
    if not answer.exists():
        return Found("nothing found", None, set())
    return read_glpk(answer, {v[0] for v in variables(case)}) if solver == "glpsol" else read_cbc(answer)

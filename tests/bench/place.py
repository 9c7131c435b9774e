#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""How long a proven placement takes, whole process, and what a general solver of mixed-integer programmes does with it.

usage: place.py [PROGRAM [SECONDS]]

Ten seeded cases of 6 planes with 24 holes each, two sizes of pieces, at most four pieces a plane, least squares; ten of
4 planes with 24 holes, largest reading. Then GLPK and CBC, where they are installed, on the largest reading of 2 and 4
planes with 12 holes, at most four pieces a plane, sizes of phasors replaced by regular polygons; they are stopped after SECONDS (default 60).
"""
import cmath
import json
import math
import pathlib
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time

import numpy as np
import yaml

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "reference"))
import place_programme as programme  # noqa: E402

PROGRAM = sys.argv[1] if len(sys.argv) > 1 else "build/countermass"
SECONDS = float(sys.argv[2]) if len(sys.argv) > 2 else 60
SEEDS = range(10)


def written(z):
    return f"{abs(z):.10g} @ {math.degrees(cmath.phase(z)):.10g}"


def case(seed, planes, holes, sensors, speeds, objective, pieces=(20, 50), most=4):
    """Influence of a smooth line of planes and bearings with random parts; unbalance that the pieces can about meet."""
    rng = np.random.RandomState(1000 * planes + seed)
    rows = [(f"speed {k + 1}", f"s{i + 1}") for k in range(speeds) for i in range(sensors)]
    a = rng.randn(len(rows), planes) + 1j * rng.randn(len(rows), planes)
    for i, (v, s) in enumerate(rows):
        near = np.exp(-((int(s[1:]) - 1) / sensors - (np.arange(planes) + 0.5) / planes) ** 2 * 6)
        a[i] *= 0.3 * (0.3 + near)
    unbalance = rng.uniform(40, 160, planes) * np.exp(2j * math.pi * rng.rand(planes))
    y = a @ unbalance + 4 * (rng.randn(len(rows)) + 1j * rng.randn(len(rows)))
    ids = [f"P{j + 1}" for j in range(planes)]
    readings = {}
    for (v, s), value in zip(rows, y):
        readings.setdefault(v, {})[s] = written(value)
    return {
        "case": {"format": 1, "title": f"seed {seed}"},
        "conventions": {"phase": "lead", "mass_angle": "with-rotation"},
        "speeds": [{"id": f"speed {k + 1}", "speed": 1500 * (k + 1)} for k in range(speeds)],
        "sensors": [{"id": f"s{i + 1}", "limit": 60} for i in range(sensors)],
        "planes": [{"id": p, "radius": 260, "sites": {"count": holes, "most": most},
                    "pieces": [{"mass": m} for m in pieces]} for p in ids],
        "runs": [{"id": "as-found", "readings": readings}],
        "influence": [{"plane": p, "speed": v, "sensor": s, "value": written(a[i, j])}
                      for i, (v, s) in enumerate(rows) for j, p in enumerate(ids)],
        "objective": {"minimise": objective},
    }


def timed(one, folder):
    path = pathlib.Path(folder) / "case.yaml"
    path.write_text(yaml.safe_dump(one, sort_keys=False))
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    begin = time.perf_counter()
    done = subprocess.run([PROGRAM, "place", "--format", "json", "--time", "60", str(path)], capture_output=True, text=True)
    seconds = time.perf_counter() - begin
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert done.returncode <= 1, done.stderr
    result = json.loads(done.stdout)
    result["cpu"] = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return seconds, result


def series(title, folder, make, most):
    results = [timed(make(seed), folder) for seed in SEEDS]
    times, cpu = [t for t, _ in results], [r["cpu"] for _, r in results]
    proven = sum(r["search"]["proven"] for _, r in results)
    nodes = [r["search"]["looked_at"] for _, r in results]
    sums = results[0][1]["search"]["planes"][0]["different_masses"]
    print(f"{title}: {proven} of {len(results)} proven; median {statistics.median(cpu):.2f} s, worst {max(cpu):.2f} s "
          f"of processor time (wanted: under {most} s), {statistics.median(times):.2f} and {max(times):.2f} s on the clock; partial choices looked at: median {statistics.median(nodes):.0f}, worst {max(nodes):.0f}; "
          f"{sums:.0f} different masses a plane")
    return proven == len(results) and max(cpu) < most


def general(folder, planes):
    one = case(1, planes, 12, 6, 2, "min-max")
    seconds, result = timed(one, folder)
    value = result["objective"]["value"]
    print(f"largest reading, {planes} planes x 12 holes, 2 sizes, at most 4 pieces a plane: {value:.6f} proven in {seconds:.2f} s")
    for solver in ("glpsol", "cbc"):
        if not shutil.which(solver):
            print(f"  {solver} is not installed")
            continue
        begin = time.perf_counter()
        found = programme.solve(one, folder, solver, SECONDS, sides=32)
        print(f"  {solver}, polygons of 32 sides: {found.status}, {time.perf_counter() - begin:.1f} s, "
              f"value {found.value if found.value is None else format(found.value, '.6f')}")


def main():
    with tempfile.TemporaryDirectory() as folder:
        good = series("least squares, 6 planes x 24 holes", folder, lambda s: case(s, 6, 24, 8, 2, "least-squares"), 2)
        good = series("largest reading, 4 planes x 24 holes", folder, lambda s: case(s, 4, 24, 6, 2, "min-max"), 1) and good
        for planes in (2, 4):
            general(folder, planes)
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())

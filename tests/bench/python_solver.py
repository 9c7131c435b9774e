# SPDX-License-Identifier: MIT
"""The job of `countermass solve` on a case of known coefficients, as a short
Python script would do it: PyYAML's C loader, numpy's least squares, JSON out.
The other side of whole_process.py; it understands what that case holds."""
import json
import sys
import numpy as np
import yaml


def phasor(text):
    amplitude, degrees = text.split("@")
    return float(amplitude) * np.exp(-1j * np.radians(float(degrees)))


def polar(z):
    return {"amplitude": abs(z), "phase": float(-np.degrees(np.angle(z)) % 360)}


def main():
    with open(sys.argv[1]) as file:
        case = yaml.load(file, yaml.CSafeLoader)
    planes = [p["id"] for p in case["planes"]]
    readings = case["runs"][0]["readings"]
    rows = [(v["id"], s["id"]) for v in case["speeds"] for s in case["sensors"]]
    index = {row: i for i, row in enumerate(rows)}
    column = {p: j for j, p in enumerate(planes)}
    y = np.array([phasor(readings[v][s]) for v, s in rows])
    a = np.zeros((len(rows), len(planes)), complex)
    for e in case["influence"]:
        a[index[e["speed"], e["sensor"]], column[e["plane"]]] = phasor(e["value"])
    limit = {s["id"]: float(s["limit"]) for s in case["sensors"]}
    w = np.array([1 / limit[s] for _, s in rows])
    x = np.linalg.lstsq(w[:, None] * a, -w * y, rcond=None)[0]
    r = y + a @ x
    b = w[:, None] * a
    s = np.linalg.svd(b / np.linalg.norm(b, axis=0), compute_uv=False)
    json.dump({"objective": float(np.linalg.norm(w * r)), "condition": float(s[0] / s[-1]),
               "corrections": [{"plane": p, "mass": abs(m), "angle": float(-np.degrees(np.angle(m)) % 360)}
                               for p, m in zip(planes, x)],
               "predicted": [{"speed": v, "sensor": s, "before": polar(b), "after": polar(f)}
                             for (v, s), b, f in zip(rows, y, r)]}, sys.stdout)


main()

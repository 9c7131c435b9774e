# SPDX-License-Identifier: MIT
"""Cost against rows, planes, runs and cases: /usr/bin/python3 tests/bench/scaling.py PROGRAM [--write]

Whole processes of `solve --format json` on made-up cases, least of several times, less that of `--version`. Printed are
the times and the exponent fitted over the larger half of each series, beside the expected one. With --write the table
and the picture (log axes) go into docs/performance.md and docs/pictures/scaling.svg.
"""
import math
import os
import pathlib
import random
import re
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = str(pathlib.Path(sys.argv[1]).resolve())
# name, values, (rows, planes, runs, cases) of a value, expected exponent and why
SERIES = [
    ("rows", [12, 24, 48, 96, 192, 384], lambda v: (v, 4, 6, 1), 1, "reading, fit and pages go row by row"),
    ("planes", [2, 4, 8, 16, 32], lambda v: (48, v, v + 2, 1), 3,
     "each row is fitted on planes + 1 runs by planes unknowns; below 10 planes reading dominates: 1"),
    ("runs", [6, 12, 24, 48, 96], lambda v: (48, 4, v, 1), 1, "readings, and one prediction a run"),
    ("cases", [10, 30, 100, 300], lambda v: (12, 2, 4, v), 1, "one after the other"),
]
COLOURS = {"rows": "#0072b2", "planes": "#d55e00", "runs": "#009e73", "cases": "#cc79a7"}  # Okabe and Ito
DASHES = {"rows": "", "planes": "8 4", "runs": "2 4", "cases": "10 3 2 3"}


def case_text(rows, planes, runs):
    rng = random.Random(rows + 1000 * planes + runs)
    phasor = lambda size: f"{size * rng.uniform(0.3, 1):.2f} @ {rng.randint(0, 359)}"
    lines = ["case: {format: 1, title: scaling}", "conventions: {phase: lag, mass_angle: against-rotation}",
             "speeds: [{id: v, speed: 3000}]", "sensors:"]
    lines += [f"  - {{id: s{i}, limit: 60, repeatability: 2}}" for i in range(rows)]
    lines += ["planes:"] + [f"  - {{id: P{j}, radius: 300}}" for j in range(planes)] + ["runs:"]
    for k in range(runs):
        masses = "" if k == 0 else f"{{plane: P{(k - 1) % planes}, mass: {rng.randint(50, 90)}, angle: {rng.randint(0, 359)}}}"
        lines += [f"  - id: r{k}", f"    masses: [{masses}]", "    readings:",
                  "      v: {" + ", ".join(f"s{i}: {phasor(90)}" for i in range(rows)) + "}"]
    return "\n".join(lines) + "\n"


def least(command, rounds):
    nowhere = [(os.POSIX_SPAWN_OPEN, 1, "/dev/null", os.O_WRONLY, 0), (os.POSIX_SPAWN_OPEN, 2, "/dev/null", os.O_WRONLY, 0)]
    best = math.inf
    for _ in range(rounds):
        start = time.perf_counter()
        pid = os.posix_spawn(command[0], command, os.environ, file_actions=nowhere)
        _, status = os.waitpid(pid, 0)
        best = min(best, time.perf_counter() - start)
        if os.waitstatus_to_exitcode(status) > 1:
            sys.exit(f"{command[:6]} failed")
    return 1e3 * best


def measure(folder, shape, empty):
    rows, planes, runs, cases = shape
    files = [str(folder / f"c{k}.yaml") for k in range(cases)]
    for file in files:
        pathlib.Path(file).write_text(case_text(rows, planes, runs))
    rounds = 15 if rows * planes * runs * cases < 10000 else 5
    return max(least([PROGRAM, "solve", "--format", "json", *files], rounds) - empty, 1e-3)


def exponent(values, times):
    """Slope of the least-squares line through the logarithms, larger half."""
    half = len(values) // 2
    x = [math.log(v) for v in values[half:]]
    y = [math.log(t) for t in times[half:]]
    mx, my = sum(x) / len(x), sum(y) / len(y)
    return sum((a - mx) * (b - my) for a, b in zip(x, y)) / sum((a - mx) ** 2 for a in x)


def svg(results):
    width, height, left, bottom, top, right = 640, 420, 60, 50, 20, 110
    xs = [v for _, values, _ in results for v in values]
    ts = [t for _, _, times in results for t in times]
    x0, x1 = math.floor(math.log10(min(xs))), math.ceil(math.log10(max(xs)))
    y0, y1 = math.floor(math.log10(min(ts))), math.ceil(math.log10(max(ts)))
    at_x = lambda v: left + (math.log10(v) - x0) / (x1 - x0) * (width - left - right)
    at_y = lambda t: height - bottom - (math.log10(t) - y0) / (y1 - y0) * (height - bottom - top)
    out = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img" font-family="sans-serif" font-size="13">',
           "<title>Cost of solve against rows, planes, runs and cases</title>",
           "<desc>Time over start-up in milliseconds, logarithmic on both axes; the table beside it has the numbers.</desc>",
           f'<rect width="{width}" height="{height}" fill="#fff"/>']
    for p in range(x0, x1 + 1):
        out.append(f'<path d="M{at_x(10**p):.1f} {top}V{height - bottom}" stroke="#ccc"/>'
                   f'<text x="{at_x(10**p):.1f}" y="{height - bottom + 18}" text-anchor="middle">{10**p}</text>')
    for p in range(y0, y1 + 1):
        out.append(f'<path d="M{left} {at_y(10**p):.1f}H{width - right}" stroke="#ccc"/>'
                   f'<text x="{left - 6}" y="{at_y(10**p) + 4:.1f}" text-anchor="end">{10.0**p:g}</text>')
    for name, values, times in results:
        points = " ".join(f"{at_x(v):.1f},{at_y(t):.1f}" for v, t in zip(values, times))
        out.append(f'<polyline points="{points}" fill="none" stroke="{COLOURS[name]}" stroke-width="2" stroke-dasharray="{DASHES[name]}"/>')
        out += [f'<circle cx="{at_x(v):.1f}" cy="{at_y(t):.1f}" r="3" fill="{COLOURS[name]}"/>' for v, t in zip(values, times)]
        out.append(f'<text x="{at_x(values[-1]) + 8:.1f}" y="{at_y(times[-1]) + 4:.1f}" fill="{COLOURS[name]}">{name}</text>')
    out.append(f'<text x="{(left + width - right) / 2}" y="{height - 10}" text-anchor="middle">number of rows, planes, runs or cases</text>')
    out.append(f'<text x="16" y="{(top + height - bottom) / 2}" text-anchor="middle" transform="rotate(-90 16 {(top + height - bottom) / 2})">ms over start-up</text>')
    return "\n".join(out) + "\n</svg>\n"


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        empty = least([PROGRAM, "--version"], 30)
        results, lines = [], ["| series | ms over start-up | exponent fitted | expected | why |", "| --- | --- | --- | --- | --- |"]
        for series, values, shape, expected, why in SERIES:
            times = [measure(folder, shape(v), empty) for v in values]
            results.append((series, values, times))
            lines.append(f"| {series} | {', '.join(f'{v}: {t:.2f}' for v, t in zip(values, times))} | {exponent(values, times):.2f} | {expected} | {why} |")
    print("\n".join(lines))
    if "--write" in sys.argv:
        (ROOT / "docs/pictures/scaling.svg").write_text(svg(results))
        page = ROOT / "docs/performance.md"
        text = page.read_text()
        block = "<!-- scaling: written by tests/bench/scaling.py -->\n" + "\n".join(lines) + "\n<!-- end of scaling -->"
        page.write_text(re.sub(r"<!-- scaling: .*?<!-- end of scaling -->", lambda m: block, text, flags=re.S))


main()

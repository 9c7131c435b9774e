#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Many cases in one call: usage test_fleet.py PROGRAM

A fleet of 1,000 cases, some of them wrong, infeasible or undetermined: --jobs changes not a byte of standard output,
standard error or the exit status; every case alone says the same; the recipes of docs/fleet.md lose nothing. What a
table or a list says of a case is what its page says, and which case it was.
"""
import csv
import io
import json
import os
import pathlib
import random
import re
import signal
import subprocess
import sys
import tempfile
import time

import yaml

PROGRAM = str(pathlib.Path(sys.argv[1]).resolve())
ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
COUNT = 1000
faults = []
CASE = """case: {{format: 1, title: fan {n}}}
conventions: {{phase: lag, mass_angle: against-rotation}}
speeds: [{{id: running, speed: 1480}}]
sensors: [{{id: drive end, limit: 40, repeatability: 2}}, {{id: fan end, limit: 40, repeatability: 2}}]
planes: [{{id: disc, radius: 400, cap: {cap}}}]
runs:
  - id: as-found
    readings: {{running: {{drive end: {a:.1f} @ {b:.0f}, fan end: {c:.1f} @ {d:.0f}}}}}
  - id: trial
    masses: [{{plane: disc, mass: {mass}, angle: 0}}]
    readings: {{running: {{drive end: {e:.1f} @ {f:.0f}, fan end: {g:.1f} @ {h:.0f}}}}}
objective: {{minimise: least-squares, within_limits: {within}}}
expected:
  source: constructed
  corrections: [{{plane: disc, mass: 90, angle: 180, tolerance: {{mass: 70 %, angle: 120}}}}]
"""


def check(good, what):
    if not good:
        faults.append(what)


def write_cases(folder):
    rng = random.Random(12)
    for n in range(COUNT):
        u = rng.uniform
        text = CASE.format(n=n, cap=rng.choice([60, 2000]), mass=rng.choice([80] * 9 + [0]), within=rng.choice(["false"] * 4 + ["true"]),
                           a=u(50, 90), b=u(0, 360), c=u(50, 90), d=u(0, 360), e=u(30, 90), f=u(0, 360), g=u(30, 90),
                           h=u(0, 360))
        if n % 97 == 5:
            text = text.replace("limit: 40", "limit: forty")
        (folder / f"c{n:04d}.yaml").write_text(text)
    return [f"c{n:04d}.yaml" for n in range(COUNT)]


def run(folder, *arguments, text=None):
    done = subprocess.run([PROGRAM, *arguments], cwd=folder, input=text, capture_output=True, text=True)
    return done.returncode, done.stdout, done.stderr


def same_with_jobs(folder, command, form, files, several=("2",)):
    one = run(folder, command, "--format", form, *files)
    for jobs in several:
        check(run(folder, command, "--format", form, "--jobs", jobs, *files) == one, f"{command} --format {form} --jobs {jobs}")
    return one


def recipe(word):
    """The block of docs/fleet.md that holds this word, as a shell script."""
    blocks = re.findall(r"(?:^    .*\n|^\n)+", (ROOT / "docs/fleet.md").read_text(), re.M)
    return next("".join(line[4:] or "\n" for line in block.splitlines(True)) for block in blocks if word in block)


def shell(script, folder, **more):
    """The exit status of a script that finds the program in PATH."""
    (folder / "bin").mkdir(exist_ok=True)
    if not (folder / "bin/countermass").exists():
        (folder / "bin/countermass").symlink_to(PROGRAM)
    environment = {**os.environ, "PATH": f"{folder / 'bin'}:{os.environ['PATH']}", **more}
    return subprocess.run(["sh", "-c", script], cwd=folder, env=environment, capture_output=True, check=False).returncode


def try_parallel(folder, table, status):
    """Names with blanks, the greatest status, headings once."""
    (folder / "fleet").mkdir()
    renamed = {}
    for line in table[1:]:
        name = line.split()[-1]
        renamed[name] = "fleet/" + name.replace("c", "fan  no ")
        (folder / renamed[name]).write_text((folder / name).read_text())
    script = recipe("parallel").replace("--sshlogin alpha,beta --workdir .", "--will-cite --jobs 2")
    check("--jobs 2" in script, "the recipe for parallel is found")
    check(shell(script, folder) == status, "GNU parallel: the exit status")
    wanted = table[:1] + [line.replace(name, renamed[name]) for line, name in zip(table[1:], renamed)]
    check((folder / "fleet.txt").read_text().splitlines() == wanted, "GNU parallel: the table")


def try_array(folder):
    """3,000 long names in the tasks of an array: far beyond what one call of xargs takes."""
    work = folder / "array"
    (work / "fleet").mkdir(parents=True)
    names = [f"fleet/{n:04d} {'long name ' * 22}.yaml" for n in range(3000)]
    wrong = {7: "case: {format: 1}", 2990: None}
    for n, name in enumerate(names):
        (work / name).write_text(wrong.get(n) or (folder / "good.yaml").read_text())
    tasks, script, found = 2, recipe("#SBATCH"), []
    check(sum(len(name) for name in names) / tasks > 2 * 128 * 1024, "a task has more names than one call of xargs takes")
    one = run(work, "solve", names[0])[0]
    for task in range(tasks):
        wanted = 2 if task == 7 % tasks else one
        status = shell(script, work, SLURM_ARRAY_TASK_ID=str(task), SLURM_ARRAY_TASK_COUNT=str(tasks), SLURM_CPUS_PER_TASK="2")
        check(status == wanted, f"task {task} of an array: exit status {status}")
    for part in sorted((work / "out").iterdir()):
        found += [line[line.index("fleet/"):] for line in part.read_text().splitlines()[1:]]
    check(sorted(found) == names, f"an array: {len(found)} lines for {len(names)} cases")


def demo(name):
    return str(ROOT / "cases/demo" / name)


def words(folder, *arguments):
    """The page, its lines joined."""
    return " ".join(run(folder, *arguments)[1].split())


def try_verdicts(folder):
    """Rows against pages: which machine must stop, which masses are not to be mounted."""
    files = [demo(name) for name in ("wrong-side.yaml", "bad-day.yaml", "min-max.yaml")]
    told = [json.loads(run(folder, "check", "--so-far", "--format", "json", f)[1])["so_far"]["verdict"] for f in files]
    check(told == ["stop", "go-on", "untold"], f"the demonstration cases tell {told}")
    for command, form in (("check --so-far --table", "json"), ("check --so-far --table", "yaml")):
        rows = yaml.safe_load(run(folder, *command.split(), "--format", form, *files)[1])
        check([row["verdict"] for row in rows] == told, f"{command} --format {form}: the verdict")
    lines = run(folder, "check", "--so-far", "--table", *files)[1].splitlines()
    check([line.split()[-2] for line in lines] == ["verdict"] + told, "check --so-far --table: the verdict")
    check("verdict" in lines[0] and run(folder, "check", "--table", *files)[1].split("\n")[1].split()[-2] == "-", "no run on its way")
    for more in ([], ["--table"]):
        sheet = rows_of(run(folder, "check", "--so-far", *more, "--format", "csv", *files)[1])
        check([(line["file"], line["verdict"]) for line in sheet if line["verdict"]] == list(zip(files, told)),
              f"check --so-far {more} --format csv: the verdict")

    hot = folder / "hot.yaml"  # predicted over its alarm
    hot.write_text(CASE.format(n=1, cap=1, mass=80, within="false", a=60, b=0, c=60, d=10, e=80, f=30, g=70, h=20)
                   .replace("limit: 40", "limit: 40, alarm: 45"))
    check("Do not mount anything yet" in words(folder, "solve", files[0]), "the last run of the demonstration case")
    check("Do not run with these masses" in words(folder, "solve", str(hot)), "a prediction over the alarm")
    files = [files[0], str(hot), demo("turbine-generator.yaml"), str(ROOT / "cases/tutorial/1-as-found.yaml")]
    wanted = ["not-yet", "over-alarm", "yes", None]
    full = json.loads(run(folder, "solve", "--format", "json", *files)[1])
    rows = json.loads(run(folder, "solve", "--table", "--format", "json", *files)[1])
    sheet = rows_of(run(folder, "solve", "--table", "--format", "csv", *files)[1])
    lines = run(folder, "solve", "--table", *files)[1].splitlines()
    check([r["mount"] for r in full] == [r["mount"] for r in rows] == wanted, "solve: what the page says of mounting")
    check([r["mount"] or None for r in sheet] == wanted, "solve --table --format csv: mount")
    check([line.split()[-2] for line in lines] == ["mount"] + [w or "-" for w in wanted], "solve --table: mount")
    check([r["warnings"] for r in rows] == [sum(w["severity"] != "note" for w in r["warnings"]) for r in full],
          "warnings of a row: no notes")
    check("3 warnings below" in words(folder, "solve", files[0]) and rows[0]["warnings"] == 3, "as many as the page says")


def rows_of(text):
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def try_names(folder):
    """Cases of one title are told apart; none is without a line; names that are no UTF-8."""
    twins = ["twin-a.yaml", "twin-b.yaml", "none.yaml", "tight.yaml"]
    text = (folder / "good.yaml").read_text()
    for name in twins[:2]:
        (folder / name).write_text(text)
    (folder / "none.yaml").write_text(text[:text.index("  - id: trial")] + text[text.index("objective:"):])
    (folder / "tight.yaml").write_text(re.sub("cap: \\d+", "cap: 0.001", text).replace("within_limits: false", "within_limits: true"))
    for command in ("solve", "check", "influence", "planes"):
        check([r["file"] for r in json.loads(run(folder, command, "--format", "json", *twins)[1])] == twins, f"{command}: json")
        listed = list(yaml.safe_load_all(run(folder, command, "--format", "yaml", *twins)[1]))
        check([r["file"] for r in listed] == twins and list(listed[0])[2:4] == ["case", "file"], f"{command}: yaml")
        check(re.findall(r"^File: (.*)$", run(folder, command, *twins)[1], re.M) == twins, f"{command}: text")
        check("File: " not in run(folder, command, twins[0])[1], f"{command}: a single case stands alone")
    sheet = rows_of(run(folder, "solve", "--format", "csv", *twins)[1])
    check({line["file"] for line in sheet} == set(twins), "solve --format csv: the file of each line")
    short = [(line["file"], line["status"]) for line in sheet if line["table"] == "status"]
    check(short == [("none.yaml", "undetermined"), ("tight.yaml", "infeasible")], f"solve --format csv: cases without an answer {short}")
    alone = rows_of(run(folder, "solve", "--format", "csv", "tight.yaml")[1])
    check(len(alone) == 1 and alone[0]["status"] == "infeasible" and "file" not in alone[0], "solve --format csv of one of them")

    odd = b"odd-\xff\xc0\xaf\xed\xa0\x80\xf8-\xc3\xa4.yaml"
    shown = "odd-" + 7 * "\ufffd" + "-\u00e4.yaml"
    nameless = re.sub(", title: fan [0-9]+", "", text)
    check(nameless != text, "a case without a title")
    (folder / os.fsdecode(odd)).write_text(nameless.replace("conventions: {", "conventions: {rotation: clockwise, seen_from: here, "))
    for arguments in ("solve", "solve --format json", "solve --format yaml", "solve --format csv", "solve --table",
                      "solve --table --format json", "solve --table --format csv", "report", "check --format json",
                      "verify --format json"):
        done = subprocess.run([PROGRAM, *arguments.split(), os.fsdecode(odd), "twin-a.yaml"], cwd=folder, capture_output=True, check=False)
        try:
            check(shown in done.stdout.decode("utf-8"), f"{arguments}: U+FFFD for what is no UTF-8")
        except UnicodeDecodeError:
            check(False, f"{arguments}: no UTF-8")


def large(planes=24, sensors=40):
    """A case whose sets of planes take minutes to compare."""
    rng = random.Random(5)
    ids = [f"x{i}" for i in range(sensors)]

    def one(name, **more):
        readings = {i: f"{rng.uniform(20, 90):.2f} @ {rng.uniform(0, 360):.1f}" for i in ids}
        return {"id": name, **more, "readings": {"s": readings}}
    return json.dumps({
        "case": {"format": 1, "title": "many planes"}, "conventions": {"phase": "lag", "mass_angle": "against-rotation"},
        "speeds": [{"id": "s", "speed": 3000}], "sensors": [{"id": i, "limit": 20, "repeatability": 1} for i in ids],
        "planes": [{"id": f"plane number {j}", "radius": 100, "cap": 50} for j in range(planes)],
        "runs": [one("as-found")] + [one(f"t{j}", masses=[{"plane": f"plane number {j}", "mass": 10, "angle": 0}]) for j in range(planes)],
        "objective": {"minimise": "min-max"}})


def try_stop(folder):
    """An interrupt: the case at hand says that it was cut, those after it are named by number only."""
    for k in range(4):
        (folder / f"large{k}.yaml").write_text(large())
    files = ["good.yaml"] + [f"large{k}.yaml" for k in range(4)]
    for jobs, number in ((1, signal.SIGINT), (2, signal.SIGTERM)):
        process = subprocess.Popen([PROGRAM, "planes", "--table", "--format", "json", "--jobs", str(jobs), *files], cwd=folder,
                                   stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        time.sleep(2)
        process.send_signal(number)
        rows, messages = process.communicate(timeout=60)
        rows = [(row["file"], row["status"]) for row in json.loads(rows)]
        check(rows == [("good.yaml", "optimal")] + [(f, "stopped") for f in files[1:1 + jobs]], f"stopped with {jobs} jobs: {rows}")
        check(f"{4 - jobs} of 5 cases not looked at" in messages, f"stopped with {jobs} jobs: {messages}")
        check(process.returncode == 1, f"stopped with {jobs} jobs: exit {process.returncode}")


def try_widths(folder):
    """The best set in full; columns that leave room for a name within 80."""
    best = json.loads(run(folder, "planes", "--format", "json", demo("fit-list.yaml"))[1])["sets"][0]["planes"]
    line = run(folder, "planes", "--table", demo("fit-list.yaml"))[1].splitlines()[1]
    check(", ".join(best) + "  " in line and len(", ".join(best)) > 21, "planes --table: the best set in full")
    (folder / "fan.yml").write_text((folder / "twin-a.yaml").read_text())
    for command in ("solve", "check --so-far", "planes", "verify"):
        for line in run(folder, *command.split(), "--table", "fan.yml")[1].splitlines():
            check(len(line) <= 80, f"{command} --table: {len(line)} columns")


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        files = write_cases(folder)
        status, output, messages = same_with_jobs(folder, "solve", "json", files)
        results = json.loads(output)
        kinds = [r.get("status", r["result"]) for r in results]
        check(status == 2 and len(results) == COUNT, "one entry a case, the greatest exit status")
        for kind in ("optimal", "infeasible", "undetermined", "error"):
            check(kind in kinds, f"the fleet has a case that is {kind}")
        check([m.split(":")[0] for m in messages.splitlines() if "forty" in m][::2]
              == [f for f, k in zip(files, kinds) if k == "error"], "messages in the order of the cases")

        table = same_with_jobs(folder, "solve", "text", ["--table", *files])[1].splitlines()
        wrong = [(line, kind) for line, kind in zip(table[1:], kinds) if line.split()[0] != kind]
        check(not wrong, f"a line a case, in order: {wrong[:3]}")
        check([line.split()[-1] for line in table[1:]] == files, "its file")
        rows = json.loads(run(folder, "solve", "--table", "--format", "json", "--jobs", "2", *files)[1])
        for row, result in zip(rows, results):
            if result.get("status") == "optimal":
                worst = max(p["after"]["amplitude"] / p["limit"] for p in result["predicted"])
                check(abs(row["worst_after"] - worst) < 1e-12 and row["value"] == result["objective"]["value"],
                      f"row of {row['file']}")

        some = files[:60]
        for command in ("check", "verify", "planes"):
            for form in ("text", "json", "yaml"):
                same_with_jobs(folder, command, form, some, ("2", "7"))
            same_with_jobs(folder, command, "text", ["--table", *some])
        examples = sorted(str(p) for p in (ROOT / "cases").glob("[dp]*/*.yaml"))  # with and without readings
        for command in ("check", "verify", "solve"):
            check(0 <= same_with_jobs(folder, command, "text", examples)[0] <= 2, f"{command} of all examples")
        for n in (0, 5, 17, 41):
            alone = run(folder, "solve", "--format", "json", files[n])
            named = {"file": files[n]}
            check(kinds[n] == "error" and alone[1] == "" or {**json.loads(alone[1]), **named} == results[n], f"{files[n]} alone")
        twice = [run(folder, "solve", "--jobs", jobs, "-", "-", files[0], text=(folder / files[1]).read_text()) for jobs in "13"]
        check(twice[0] == twice[1], "standard input twice")

        try_parallel(folder, table, status)
        (folder / "good.yaml").write_text((folder / files[kinds.index("optimal")]).read_text())
        try_array(folder)
        try_verdicts(folder)
        try_names(folder)
        try_widths(folder)
        try_stop(folder)
    print("\n".join(faults) if faults else
          f"{COUNT} cases: {', '.join(f'{kinds.count(k)} {k}' for k in sorted(set(kinds)))}; --jobs changes nothing")
    return 1 if faults else 0


sys.exit(main())

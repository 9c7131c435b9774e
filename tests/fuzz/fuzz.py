#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Runs the fuzz targets and keeps count.

usage: fuzz.py FOLDER short             every target, fixed seed and number of executions, from the committed corpus
       fuzz.py FOLDER long TARGET RUNS  RUNS executions from the corpus and what earlier runs left in WORK; a line is
                                        added to log.tsv and the table of docs/reliability.md is written anew
       fuzz.py FOLDER corpus TARGET     the committed corpus again: the smallest inputs that reach what WORK reaches
       fuzz.py - table                  only the table

FOLDER is where the targets were built; WORK is the folder FUZZ_WORK names (default: FOLDER/work); FUZZ_LOG names
another log.
Every target: no crash, no leak, nothing over 1 s and nothing over 512 MB. Whole commands take some 20 times as long
under the sanitizers: there 10 s stand for one. Inputs that once broke something lie in
regressions/TARGET and are run first, always.
"""
import datetime
import glob
import os
import re
import resource
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
LOG = os.environ.get("FUZZ_LOG", os.path.join(HERE, "log.tsv"))
PAGE = os.path.join(ROOT, "docs", "reliability.md")
BEGIN, END = "<!-- fuzzing: written by tests/fuzz/fuzz.py -->", "<!-- end of fuzzing -->"
PUBLISHED = [os.path.join(ROOT, "cases", name) for name in ("published", "invalid", "demo")]

# name: longest input, executions of the short run, dictionary, more seeds, what goes in, executions asked for
TARGETS = {
    "values": (96, 40000, "values.dict", [], "units, numbers, phasors and readings", 10000000),
    "csv": (512, 15000, "csv.dict", [], "tables of readings", 10000000),
    "case": (4096, 6000, "case.dict", PUBLISHED, "case files", 1000000),
    "record": (2048, 3000, "case.dict", [], "influence records", 1000000),
    "command": (256, 3000, "command.dict", [], "command lines", 1000000),
    "structured": (160, 150, None, [], "random valid cases and what must hold of their answers", 0),
}
WHOLE_COMMANDS = ("case", "command", "structured")
SANITIZERS = {"ASAN_OPTIONS": "quarantine_size_mb=32:malloc_context_size=5", "OPENBLAS_NUM_THREADS": "1"}


def launch(folder, target, options, places):
    command = [os.path.join(folder, "fuzz_" + target), "-timeout=15", "-rss_limit_mb=512", "-malloc_limit_mb=512",
               "-report_slow_units=1", "-close_fd_mask=3", "-print_final_stats=1", *options, *places]
    result = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, errors="replace",
                            env={**os.environ, **SANITIZERS})
    return result.returncode, result.stdout


def stat(text, name):
    found = re.findall(r"stat::%s:\s+(\d+)" % name, text)
    return int(found[-1]) if found else 0


def committed(target):
    return [os.path.join(HERE, "corpus", target), *TARGETS[target][3]]


def common_options(target, artifacts):
    length, _, dictionary, _, _, _ = TARGETS[target]
    os.makedirs(artifacts, exist_ok=True)
    options = ["-max_len=%d" % length, "-artifact_prefix=" + os.path.join(artifacts, "")]
    if dictionary:
        options.append("-dict=" + os.path.join(HERE, dictionary))
    return options


def regressions(folder, target):
    inputs = sorted(glob.glob(os.path.join(HERE, "regressions", target, "*")))
    if not inputs:
        return 0
    code, text = launch(folder, target, [], inputs)
    if code:
        print(text[-4000:])
        sys.exit("fuzz_%s: an input that was mended breaks again" % target)
    return len(inputs)


def slowest(folder, target, artifacts):
    """Seconds of processor time of the slowest input. libFuzzer measures by the clock on the wall, and sets aside what
    looks slow on a busy machine: it is run again by itself here, and forgotten when it is not slow."""
    most = 0
    for name in glob.glob(os.path.join(artifacts, "slow-unit-*")):
        before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
        launch(folder, target, [], [name])
        took = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before
        most = max(most, took)
        if took < most_seconds(target):
            os.remove(name)
    return most


def most_seconds(target):
    return 10 if target in WHOLE_COMMANDS else 1


def verdict(folder, target, code, text, artifacts):
    if code or slowest(folder, target, artifacts) >= most_seconds(target):
        print(text[-6000:])
        sys.exit("fuzz_%s: found something; see %s" % (target, artifacts))


def short(folder):
    for target, (_, runs, _, _, about, _) in TARGETS.items():
        again = regressions(folder, target)
        artifacts = os.path.join(folder, "artifacts-short", target)
        options = common_options(target, artifacts) + ["-seed=1", "-runs=%d" % runs]
        with tempfile.TemporaryDirectory() as found:  # what is new goes there, not among the committed
            code, text = launch(folder, target, options, [found, *committed(target)])
        verdict(folder, target, code, text, artifacts)
        print("fuzz_%-11s %6d executions, %d regressions: %s" % (target, stat(text, "number_of_executed_units"), again, about),
              flush=True)


def work_folder(folder, target):
    place = os.path.join(os.environ.get("FUZZ_WORK", os.path.join(folder, "work")), target)
    os.makedirs(place, exist_ok=True)
    return place


def commit():
    return subprocess.run(["git", "-C", ROOT, "log", "-1", "--format=%h"], capture_output=True, text=True).stdout.strip()


def long(folder, target, runs):
    work, artifacts = work_folder(folder, target), os.path.join(folder, "artifacts", target)
    regressions(folder, target)
    options = common_options(target, artifacts) + ["-runs=%d" % runs]
    code, text = launch(folder, target, options, [work, *committed(target)])
    took = slowest(folder, target, artifacts)
    line = [datetime.datetime.now(datetime.timezone.utc).strftime("%Y-%m-%d %H:%M"), commit(), target,
            str(stat(text, "number_of_executed_units")), str(len(os.listdir(work))),
            str(stat(text, "peak_rss_mb")), "%.1f" % took, "found something" if code or took >= most_seconds(target) else "clean"]
    with open(LOG, "a", encoding="utf-8") as log:
        log.write("\t".join(line) + "\n")
    print("\t".join(line))
    table()
    verdict(folder, target, code, text, artifacts)


def corpus(folder, target):
    place = os.path.join(HERE, "corpus", target)
    fresh = place + ".new"
    os.makedirs(fresh, exist_ok=True)
    options = [option for option in common_options(target, os.path.join(folder, "artifacts", target)) if "dict" not in option]
    code, text = launch(folder, target, ["-merge=1", *options], [fresh, place, work_folder(folder, target)])
    if code:
        print(text[-2000:])
        sys.exit("fuzz_%s: merging failed" % target)
    print("fuzz_%s: %d inputs, %d bytes; in %s" % (target, len(os.listdir(fresh)), sum(
        os.path.getsize(os.path.join(fresh, name)) for name in os.listdir(fresh)), fresh))


def rows():
    with open(LOG, encoding="utf-8") as log:
        return [line.rstrip("\n").split("\t") for line in log if line.strip() and not line.startswith("#")]


def table_lines():
    lines = ["| target | what goes in | executions | asked | peak memory, MB | corpus here | last run |",
             "| --- | --- | --- | --- | --- | --- | --- |"]
    for target, (_, _, _, _, about, asked) in TARGETS.items():
        runs = [row for row in rows() if row[2] == target]
        clean = [row for row in runs if row[7] == "clean"]
        if not clean:
            continue
        seeds = len(os.listdir(os.path.join(HERE, "corpus", target)))
        lines.append("| `fuzz_%s` | %s | %s | %s | %d | %d inputs | %s, %s |" % (
            target, about, format(sum(int(row[3]) for row in clean), ","), format(asked, ",") if asked else "-",
            max(int(row[5]) for row in clean), seeds, clean[-1][0], clean[-1][1]))
    return lines


def table():
    if not os.path.exists(PAGE):
        return
    with open(PAGE, encoding="utf-8") as page:
        before, _, rest = page.read().partition(BEGIN)
    if not rest:
        return
    after = rest.partition(END)[2]
    with open(PAGE, "w", encoding="utf-8") as page:
        page.write(before + BEGIN + "\n" + "\n".join(table_lines()) + "\n" + END + after)


def main():
    folder, what = sys.argv[1:3]
    if what == "short":
        short(folder)
    elif what == "long":
        long(folder, sys.argv[3], int(sys.argv[4]))
    elif what == "corpus":
        corpus(folder, sys.argv[3])
    else:
        table()


main()

#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Every call that can fail, made to fail, on every command.

usage: test_faults.py FAULTS [short|long|sanitize]

FAULTS is the program built from faults.c. The commands are those it lists itself; the cases are the smallest ones under
cases/ that together use every key and every objective that any case there uses, and a few wrong ones.
short: some calls of every kind; sanitize: fewer, for a build with the address sanitizer, which is slow to start;
long: every call on one case of each command, and many on the others.
"""
import concurrent.futures
import os
import subprocess
import sys
import tempfile

from ground import ROOT, commands, covering_cases, options_of, takes_cases

KINDS = ["memory", "stream", "room", "arena", "read", "write", "sync", "rename", "unlink", "close", "open", "ask", "output",
         "lapack", "diverge", "thread", "short", "signal", "term", "kill"]
TO_FILES = {"write", "sync", "rename", "unlink"}
OF_CASES = {"stream", "room", "lapack", "diverge", "read"}
UNDER_SANITIZER = {"memory", "stream", "arena", "write", "rename", "output", "lapack"}
# Every option stands in one of these: a new one cannot be forgotten.
OPTION_LINES = [line.split("|") for line in """
solve|--trade-off|--proof|--format|json|--output|FOLDER/out|cases/demo/exhaust-fan.yaml
solve|--format|csv|--output|FOLDER/out|cases/tutorial/5-whole.yaml
solve|--format|text|--output|FOLDER/out|cases/tutorial/4-half.yaml
solve|--table|--output|FOLDER/out|cases/tutorial/4-half.yaml|cases/demo/bad-day.yaml
solve|--format|json|--output|FOLDER/out|cases/tutorial/4-half.yaml|cases/tutorial/5-whole.yaml
solve|cases/tutorial/4-half.yaml|FOLDER/missing.yaml|cases/tutorial/5-whole.yaml
solve|--jobs|3|--output|FOLDER/out|cases/tutorial/4-half.yaml|cases/tutorial/5-whole.yaml|cases/demo/exhaust-fan.yaml
solve|--output|FOLDER/out|-
solve|--format|yaml|-|-
solve|--record-from|cases/tutorial/exhauster-record.yaml|--output|FOLDER/out|cases/tutorial/6-a-year-later.yaml
solve|--output|FOLDER/out|--plot|FOLDER/rec|cases/demo/exhaust-fan.yaml
solve|tests/fail/wide.yaml
check|--so-far|--format|csv|--output|FOLDER/out|cases/demo/bad-day.yaml
check|--so-far|--table|cases/demo/exhaust-fan.yaml|cases/demo/bad-day.yaml
influence|--record|FOLDER/rec|tests/fail/wide.yaml
influence|--output|FOLDER/out|--record|FOLDER/rec|cases/tutorial/5-whole.yaml
influence|--record|FOLDER/rec|--plot|FOLDER/out|cases/tutorial/4-half.yaml
influence|--output|FOLDER/out|--record|FOLDER/rec|--plot|FOLDER/new|cases/demo/exhaust-fan.yaml
planes|--at-most|2|--must|inlet disc|--best|2|--format|csv|--output|FOLDER/out|cases/tutorial/4-half.yaml
planes|--never|free side|--jobs|2|--table|cases/demo/exhaust-fan.yaml|cases/demo/exhaust-fan.yaml
place|--time|20|--split|drive side: 60 @ 40|--merge|20 @ 10 + 30 @ 80|--output|FOLDER/out|cases/demo/exhaust-fan.yaml
place|--time|1|--output|FOLDER/out|--plot|FOLDER/rec|cases/demo/fit-list.yaml
trial|--plane|drive side|--output|FOLDER/out|cases/demo/exhaust-fan.yaml
verify|--table|--output|FOLDER/out|cases/published/turbine-two-planes.yaml|cases/published/turbine-left-on.yaml
report|--output|FOLDER/out|cases/tutorial/5-whole.yaml
report|--output|FOLDER/out|cases/demo/fit-list.yaml
completion|--shell|zsh
new|--output|FOLDER/new
schema|--output|FOLDER/out
solve|--help
--help
--version
""".strip().split("\n")]
STANDARD_INPUT = "cases/tutorial/4-half.yaml"
WRONG = ["cases/invalid/unknown-plane.yaml", "cases/invalid/repeated-key.yaml", "cases/invalid/colon-without-blank.yaml"]
ENVIRONMENT = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "ASAN_OPTIONS": "allocator_may_return_null=1"}


def run(program, *arguments):
    with open(os.path.join(ROOT, STANDARD_INPUT), "rb") as given:
        return subprocess.run([program, *map(str, arguments)], cwd=ROOT, env=ENVIRONMENT, stdin=given, stdout=subprocess.PIPE,
                              stderr=subprocess.PIPE, text=True)


def program(faults):
    return [faults, "plain", "0", "0", "-"]


def lines_for(faults, command, cases):
    """Command lines of one command; FOLDER stands for a folder of its own."""
    options, with_case = options_of(program(faults), command), takes_cases(program(faults), command)
    for k, case in enumerate(cases if with_case else [None]):
        end = [case] if with_case else []
        if k == 1 and "--record" not in options:
            end.append(cases[0])
        if "--record" in options and k % 2:
            yield [command, "--record", "FOLDER/rec", *end]
        elif "--plot" in options and k % 5 == 2:
            yield [command, "--plot", "FOLDER/rec", *end]
        elif k % 3 == 0:
            yield [command, *end]
        else:
            form = ["--format", ("text", "json", "yaml")[k % 3]] if "--format" in options else []
            yield [command, *form, "--output", "FOLDER/out", *end]


def attempt(faults, kind, first, step, line):
    with tempfile.TemporaryDirectory() as folder:
        words = [word.replace("FOLDER", folder) for word in line]
        return kind, line, run(faults, kind, first, step, folder, *words)


def kinds_for(line, mode):
    to_files = any("FOLDER/" in word and not word.endswith(".yaml") for word in line)
    cases = any(word == "-" or word.endswith(".yaml") for word in line)
    for kind in KINDS:
        if kind in TO_FILES and not to_files or kind in OF_CASES and not cases or kind == "thread" and "--jobs" not in line:
            continue
        if mode != "sanitize" or kind in UNDER_SANITIZER:
            yield kind


def check_options(faults):
    """The program's own options, less those that some line has."""
    known = set().union(*(options_of(program(faults), command) for command in commands(program(faults))))
    missing = known - {word for line in OPTION_LINES for word in line}
    if missing:
        sys.exit("options in no line of the plan: " + " ".join(sorted(missing)))


def plan(faults, mode):
    for line in OPTION_LINES if mode != "sanitize" else OPTION_LINES[::4]:
        for kind in kinds_for(line, mode):
            yield kind, 0, {"long": 60, "short": 3, "sanitize": 1}[mode], line
    cases = covering_cases()
    print("cases: " + " ".join(os.path.basename(name) for name in cases))
    for turn, command in enumerate(commands(program(faults))):
        own = cases[turn % 4::4] if mode != "long" else cases
        for k, line in enumerate(lines_for(faults, command, own + WRONG[turn % 3:turn % 3 + 1])):
            if mode == "sanitize" and k % 3 != turn % 3:
                continue
            for kind in kinds_for(line, mode):
                if mode == "long" and k == len(own) // 3:
                    yield kind, 1, 1, line
                else:
                    yield kind, 0, {"long": 60, "short": 3, "sanitize": 1}[mode], line


def no_other_file_becomes_a_record(faults):
    """A question about the target that fails is not taken for an answer: a case named by --record stays what it is."""
    case = os.path.join(ROOT, "cases/tutorial/5-whole.yaml")
    with open(case, encoding="utf-8") as text:
        before = text.read()
    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryDirectory() as own:
        name = os.path.join(folder, "job.yaml")
        for number in range(1, 7):
            with open(name, "w", encoding="utf-8") as out:
                out.write(before)
            run(faults, "ask", number, 999, own, "influence", "--record", name, "cases/demo/exhaust-fan.yaml")
            with open(name, encoding="utf-8") as text:
                if text.read() != before:
                    sys.exit("question %d failed, and --record replaced a case" % number)


def main():
    faults, mode = sys.argv[1], sys.argv[2] if len(sys.argv) > 2 else "short"
    check_options(faults)
    no_other_file_becomes_a_record(faults)
    tried, failed, functions = {kind: 0 for kind in KINDS}, 0, set()
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        for kind, line, result in pool.map(lambda task: attempt(faults, *task), plan(faults, mode)):
            words = result.stdout.split()
            tried[kind] += int(words[0]) if words else 0
            functions |= {(kind, word) for word in words[3:]}
            if result.returncode:
                failed += 1
                print(" ".join(line) + "\n" + result.stderr[-2500:])
    print("faults tried: " + ", ".join("%s %d" % (kind, count) for kind, count in tried.items()))
    expected = UNDER_SANITIZER if mode == "sanitize" else KINDS
    idle = [kind for kind in expected if tried[kind] == 0]
    idle += [kind + " of " + name for kind in ("lapack", "diverge") if kind in expected and mode != "sanitize"
             for name in run(*program(faults), "lapack-calls").stdout.split() if (kind, name) not in functions]
    if failed or idle:
        sys.exit("%d command lines ended badly%s" % (failed, "; never tried: " + ", ".join(idle) if idle else ""))


main()

#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Cases with random mistakes: whatever stands in the file, the program answers by its rules.

usage: test_mutated_cases.py PROGRAM [COUNT [SEED]]; KEEP=FOLDER keeps the cases that failed

Each round takes a case of cases/, changes it in one to three places (numbers, words, bytes, lines) and runs one
command on it. Asserted: an exit status of the table, within bounded time; nothing on standard output and at least one
line FILE:LINE:COLUMN or FILE: on standard error when the case is wrong; JSON without NaN or infinity, which a strict
parser reads, and no null where an optimal answer has a number; pages of at most 80 columns, apart from long words; no
report of a sanitizer.
"""
import json
import os
import random
import re
import subprocess
import sys
import tempfile

COMMANDS = ["check", "influence", "solve", "solve", "tolerance", "trial", "planes", "verify"]
NUMBERS = ["0", "-1", "1e308", "-1e308", "1e-308", "5e-324", "1e-320", "1e999", "1e-999", "nan", ".inf", "0.0", "-0",
           "1e150", "1e-150", "999999999999999999999", "0 @ 0", "1 @ 1e300", "1e300 @ 45", "1e-300 @ 45", "1 @ -720",
           "12 g", "3 mm", "2 mil pp", "50 Hz", "5 %", "1,5", "0x10", "", "~", "[]", "{}", "1 @ 359.9999999999999"]
WORDS = ["true", "NO", "service", "P1", "lag", "lead", "with-rotation", "min-max", "least-squares", "least-mass",
         "least-change", "worst-case", "expected", "confidence", "\"\"", "x" * 200, "&a x", "*a", "!t x", "@1", "{a: 1}",
         "[1, 2]", "'", "\"", "\u00e9\u20ac", "csv", "null"]
NUMBER = re.compile(r"(?<![\w.])[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?(?![\w.])")
WORD = re.compile(r"(?<=: )[A-Za-z][\w -]*")
NOT_A_NUMBER = re.compile(r"(?<![\w-])-?(?:nan|inf)\b", re.I)
ERROR_LINE = re.compile(r"(:\d+:\d+: |: )")


def change_number(text, rng):
    places = list(NUMBER.finditer(text))
    if not places:
        return text
    place = rng.choice(places)
    return text[:place.start()] + rng.choice(NUMBERS) + text[place.end():]


def scale_number(text, rng):
    places = list(NUMBER.finditer(text))
    if not places:
        return text
    place = rng.choice(places)
    return text[:place.start()] + repr(float(place[0]) * 10.0 ** rng.randint(-12, 12)) + text[place.end():]


def change_word(text, rng):
    places = list(WORD.finditer(text))
    if not places:
        return text
    place = rng.choice(places)
    return text[:place.start()] + rng.choice(WORDS) + text[place.end():]


def swap_words(text, rng):
    places = list(WORD.finditer(text))
    if len(places) < 2:
        return text
    to, source = rng.choice(places), rng.choice(places)
    return text[:to.start()] + source[0] + text[to.end():]


def drop_line(text, rng):
    lines = text.split("\n")
    del lines[rng.randrange(len(lines))]
    return "\n".join(lines)


def repeat_line(text, rng):
    lines = text.split("\n")
    at = rng.randrange(len(lines))
    return "\n".join(lines[:at] + [lines[rng.randrange(len(lines))]] + lines[at:])


def indent_line(text, rng):
    lines = text.split("\n")
    at = rng.randrange(len(lines))
    lines[at] = lines[at][2:] if rng.random() < 0.5 else "  " + lines[at]
    return "\n".join(lines)


def change_byte(text, rng):
    at = rng.randrange(len(text))
    return text[:at] + rng.choice("{}[]:,#&*!|>'\"%@`\t\n -\udcff\udc80\u2028\x01") + text[at + rng.randint(0, 1):]


def change_objective(text, rng):
    extra = rng.choice(["minimise: min-max", "minimise: least-mass", "minimise: worst-case", "minimise: least-change",
                        "minimise: expected", "minimise: confidence", "within_limits: true", "use_planes: [P1]",
                        "influence_error: 5 % each", "influence_error: 0", "drop_rows: []", "fixed: {P1: 0 @ 0}"])
    if "\nobjective:" in text and not text.rstrip().endswith("objective:"):
        return re.sub(r"\nobjective:[^\n]*\n", "\nobjective:\n  " + extra + "\n", text, count=1)
    return text + "\nobjective:\n  " + extra + "\n"


MUTATIONS = [change_number] * 4 + [scale_number] * 3 + [change_word, swap_words, drop_line, drop_line, repeat_line,
                                                        indent_line, change_byte, change_objective, change_objective]


def refuse_constant(name):
    raise ValueError("JSON holds " + name)


def check_numbers(result):
    """Numbers that an optimal answer always has; a NaN inside would be written as null."""
    if result.get("result") != "solve" or result["status"] != "optimal":
        return
    numbers = [result["objective"][key] for key in ("value", "bound", "gap")]
    for entry in result["corrections"]:
        numbers += [entry["mass"], entry["angle"], entry["change"]["mass"], entry["change"]["angle"]]
    for entry in result["predicted"]:
        for side in ("before", "after"):
            if entry[side] is not None:
                numbers += [entry[side]["amplitude"]] + ([] if "pair" in entry else [entry[side]["phase"]])  # an axis has none
    assert None not in numbers, "null for a number of an optimal answer"


def check_outcome(form, text, done):
    assert done.returncode in (0, 1, 2), "exit status %d" % done.returncode
    assert b"runtime error" not in done.stderr and b"Sanitizer" not in done.stderr, "sanitizer"
    out = done.stdout.decode("utf-8")
    err = done.stderr.decode("utf-8", "replace")
    if done.returncode == 2:
        assert out == "", "standard output with exit status 2"
        assert err and all(ERROR_LINE.search(line) for line in err.split("\n") if line), "no place in the message"
        return
    assert out.strip(), "no result"
    if form == "json":
        check_numbers(json.loads(out, parse_constant=refuse_constant))
    else:
        found = re.search(NOT_A_NUMBER, out) and not re.search(NOT_A_NUMBER, text)
        assert not found, "the page holds a number that is none"
        for line in out.split("\n"):
            assert len(line) <= 80 or len(max(line.split(), key=len)) > 40, "wide: " + line


def run_round(program, texts, path, rng):
    name = rng.choice(sorted(texts))
    text = texts[name]
    for _ in range(rng.randint(1, 3)):
        text = rng.choice(MUTATIONS)(text, rng) or " "
    with open(path, "wb") as out:
        out.write(text.encode("utf-8", "surrogateescape"))
    command, form = rng.choice(COMMANDS), rng.choice(["json", "json", "text"])
    done = subprocess.run([program, command, "--format", form, path], capture_output=True, timeout=20)
    try:
        check_outcome(form, text, done)
    except (AssertionError, ValueError) as trouble:
        return "%s of %s (%s): %s\n%s" % (command, name, form, trouble, done.stderr.decode("utf-8", "replace")[:1500])
    return None


def main():
    program = sys.argv[1]
    cases = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "cases")
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 1000
    rng = random.Random(int(sys.argv[3]) if len(sys.argv) > 3 else 1)
    texts = {}
    for where, _, names in os.walk(cases):
        if os.path.basename(where) == "invalid":
            continue
        for name in names:
            if name.endswith(".yaml"):
                with open(os.path.join(where, name), encoding="utf-8") as file:
                    texts[name] = file.read()
    failures = 0
    keep = os.environ.get("KEEP")
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "case.yaml")
        for index in range(count):
            try:
                trouble = run_round(program, texts, path, rng)
            except subprocess.TimeoutExpired:
                trouble = "more than 20 s"
            if trouble:
                failures += 1
                print("round %d: %s" % (index, trouble))
                if keep:
                    os.replace(path, os.path.join(keep, "case%d.yaml" % index))
    print("%d mutated cases, %d failures" % (count, failures))
    return 1 if failures or not texts else 0


if __name__ == "__main__":
    sys.exit(main())

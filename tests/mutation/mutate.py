#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Would the tests notice? One-line mistakes are put into the solver and the conventions, one at a time.

usage: mutate.py WORK [FIRST [LAST]]    mutants FIRST to LAST - 1 of the chosen ones (default: all)
       mutate.py list                   only lists them

WORK is a folder of its own: the engine is compiled there once and linked as a shared library, so that a mutant costs one
compilation and one link. The mutants are drawn with a fixed seed from all places of FILES where an operator of SWAPS
fits; in code, not in comments, messages or tables of words. A mutant that no longer compiles is passed over.
The tests run from fast to slow until one fails. What all of them let pass is printed at the end, and stands with its
reason in survivors.md: a survivor without one fails this script.
"""
import json
import os
import random
import re
import shlex
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
PYTHON = "/usr/bin/python3"
SEED, COUNT = 20260314, 120
FILES = ["engine/model/units.c", "engine/model/signs.c", "engine/case/weights.c", "engine/case/discs.c",
         "engine/case/to_problem.c", "engine/fit/system.c", "engine/fit/determine.c",
         *["engine/optimise/%s.c" % name for name in (
             "build", "capped", "complete", "cone", "confidence", "conic", "feasible", "inner", "least_squares", "mend",
             "pairs", "presolve", "recheck", "scaling", "solve", "then", "trade_off", "zero")]]
SWAPS = [(r" \+ ", " - "), (r" - ", " + "), (r" \* ", " / "), (r" / ", " * "), (r" \+= ", " -= "), (r" -= ", " += "),
         (r" \*= ", " /= "), (r" /= ", " *= "), (r" < ", " <= "), (r" <= ", " < "), (r" > ", " >= "), (r" >= ", " > "),
         (r" == ", " != "), (r" != ", " == "), (r" && ", " || "), (r" \|\| ", " && "), (r"\bcreal\(", "cimag("),
         (r"\bcimag\(", "creal("), (r"\bconj\(", "("), (r"\bsqrt\(", "("), (r"\btrue\b", "false"), (r"\bfalse\b", "true"),
         (r"\bfmax\(", "fmin("), (r"\bfmin\(", "fmax("), (r"\bcos\(", "sin("), (r"\bsin\(", "cos("), (r"\(!", "("),
         (r"= -(?=[a-z(])", "= "), (r"return -(?=[a-z(])", "return "), (r"\bmost\(", "least("), (r" 1 : ", " -1 : ")]
UNITS = ["optimise/cones", "optimise/least_squares", "optimise/proofs", "model/units", "case/read", "case/documents",
         "fit/condition", "fit/determine", "fit/fit", "planes/compare", "planes/turned", "planes/tree", "spread/simulate"]
QUICK = ["tests/reference/test_runs.py"]
THOROUGH = ["tests/reference/" + name for name in ("test_recover.py", "test_pairs.py", "test_random_cases.py", "test_worth.py", "test_planes.py", "test_then.py",
                                                   "test_optimise.py")] # for what the quick ones let pass


# ---- mutants ----

def code_lines(text):
    """Number and text of the lines that are code; comments are blanked."""
    blank = re.sub(r"/\*.*?\*/", lambda found: re.sub(r"[^\n]", " ", found[0]), text, flags=re.S)
    for number, line in enumerate(blank.split("\n")):
        if line.startswith(" ") and '"' not in line and line.strip():
            yield number, line


def places():
    found = []
    for name in FILES:
        with open(os.path.join(ROOT, name), encoding="utf-8") as file:
            for number, line in code_lines(file.read()):
                for pattern, instead in SWAPS:
                    found += [(name, number, place.start(), place.end(), instead) for place in re.finditer(pattern, line)]
    return found


def chosen():
    return random.Random(SEED).sample(places(), 2 * COUNT)[:COUNT]


def mutated(mutant):
    name, number, start, end, instead = mutant
    with open(os.path.join(ROOT, name), encoding="utf-8") as file:
        lines = file.read().split("\n")
    before = lines[number]
    lines[number] = before[:start] + instead + before[end:]
    return "\n".join(lines), before.strip(), lines[number].strip()


# ---- building ----

def run(words, **options):
    return subprocess.run(words, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, **options).returncode


def flags(*packages):
    return shlex.split(subprocess.run(["pkg-config", "--cflags", "--libs", *packages], capture_output=True, text=True,
                                      check=True).stdout)


class Shop:
    """The engine's objects, the library of them, and the test programs that link it."""

    def __init__(self, work):
        self.work, self.build = work, os.path.join(work, "build")
        subprocess.run(["cmake", "-S", ROOT, "-B", self.build, "-DCM_TESTS=ON", "-DCM_HARDEN=OFF", "-DCMAKE_BUILD_TYPE=Release",
                        "-DCMAKE_EXPORT_COMPILE_COMMANDS=ON"], check=True, stdout=subprocess.DEVNULL)
        subprocess.run(["cmake", "--build", self.build, "--target", "engine", "-j2"], check=True, stdout=subprocess.DEVNULL)
        with open(os.path.join(self.build, "compile_commands.json"), encoding="utf-8") as file:
            entries = [entry for entry in json.load(file) if "engine.dir" in entry["command"]]
        self.commands = {os.path.relpath(entry["file"], ROOT): self.visible(entry) for entry in entries}
        self.objects = {name: words[words.index("-o") + 1] for name, words in self.commands.items()}
        self.library = os.path.join(work, "libmutant.so")
        self.tests, self.thorough = [], []

    def visible(self, entry):
        """The command that compiles a file with all names visible."""
        words = [word for word in shlex.split(entry["command"]) if word not in ("-fvisibility=hidden", "-Werror")]
        target = os.path.join(self.work, "objects", os.path.relpath(entry["file"], ROOT).replace("/", "_") + ".o")
        os.makedirs(os.path.dirname(target), exist_ok=True)
        words[words.index("-o") + 1] = target
        return words

    def compile(self, name, source=None):
        words = [word if word != os.path.join(ROOT, name) else source or word for word in self.commands[name]]
        if source:
            words[-1:] = ["-I", os.path.dirname(os.path.join(ROOT, name)), words[-1]]
        return run([*words, "-O1", "-w"])

    def link(self):
        return run(["gcc", "-shared", "-o", self.library, *self.objects.values(), *flags("yaml-0.1"),
                    "-L/usr/lib/x86_64-linux-gnu/openblas-serial", "-lopenblas", "-llapacke", "-lm"])

    def program(self, name, sources, *more):
        target = os.path.join(self.work, name)
        code = run(["gcc", "-O1", "-w", "-std=c17", "-D_POSIX_C_SOURCE=200809L", "-Iinclude", "-Iengine", "-Itests/unit", "-Icli",
                    "-o", target, *sources, self.library, "-Wl,-rpath," + self.work, *more, "-lopenblas", "-lm", "-lpthread"])
        if code:
            sys.exit("cannot build " + name)
        return target

    def prepare(self):
        for name in self.commands:
            if self.compile(name):
                sys.exit("cannot compile " + name)
        if self.link():
            sys.exit("cannot link the library")
        cunit = flags("cunit")
        for unit in UNITS:
            source = os.path.join("tests/unit", unit + ".c")
            if os.path.exists(os.path.join(ROOT, source)):
                self.tests.append([self.program("unit_" + unit.replace("/", "_"), [source, "tests/unit/suite.c"], *cunit)])
        cli = [os.path.join("cli", name) for name in sorted(os.listdir(os.path.join(ROOT, "cli"))) if name.endswith(".c")]
        program = self.program("countermass", cli)
        driver = self.program("optimise_driver", ["tests/reference/optimise_driver.c"])
        self.tests.append(["sh", "tests/published/verify.sh", program])
        self.tests.append([PYTHON, "tests/reference/optimise_reference.py", driver, "70", "11"])
        self.tests += [[PYTHON, name, program] for name in QUICK]
        self.thorough = [[PYTHON, "tests/reference/optimise_reference.py", driver]]
        self.thorough += [[PYTHON, name, program] for name in THOROUGH if os.path.exists(os.path.join(ROOT, name))]

    def killer(self, tests):
        """The first test that fails; None: all pass. A test that does not end fails."""
        for words in tests:
            try:
                if run(words, timeout=300, env={**os.environ, "OPENBLAS_NUM_THREADS": "1"}):
                    return os.path.basename(words[1] if len(words) > 1 else words[0])
            except subprocess.TimeoutExpired:
                return "time"
        return None

    def attempt(self, mutant, tests):
        """`broken`, the name of the test that noticed, or None."""
        name = mutant[0]
        source = os.path.join(self.work, "mutant_" + os.path.basename(name))
        text = mutated(mutant)[0]
        with open(source, "w", encoding="utf-8") as file:
            file.write(text)
        if self.compile(name, source) or self.link():
            self.compile(name)
            return "broken"
        noticed = self.killer(tests)
        self.compile(name)
        return noticed


# ---- the account ----

def words_of(mutant):
    _, before, after = mutated(mutant)
    return "%s:%d: %s -> %s" % (mutant[0], mutant[1] + 1, before, after)


def known_survivors():
    with open(os.path.join(HERE, "survivors.md"), encoding="utf-8") as file:
        return file.read()


def main():
    if sys.argv[1] == "list":
        print("\n".join(words_of(mutant) for mutant in chosen()))
        return
    shop = Shop(os.path.abspath(sys.argv[1]))
    shop.prepare()
    if shop.killer(shop.tests + shop.thorough):
        sys.exit("without a mutant a test fails")
    first, last = int(sys.argv[2]) if len(sys.argv) > 2 else 0, int(sys.argv[3]) if len(sys.argv) > 3 else COUNT
    made, killed, survivors = 0, 0, []
    for number, mutant in list(enumerate(chosen()))[first:last]:
        noticed = shop.attempt(mutant, shop.tests)
        if noticed == "broken":
            continue
        made += 1
        killed += noticed is not None
        if not noticed:
            survivors.append(mutant)
        print("%3d %-22s %s" % (number, noticed or "passes the quick ones", words_of(mutant)), flush=True)
    for mutant in list(survivors):
        noticed = shop.attempt(mutant, shop.thorough)
        print("    %-22s %s" % (noticed or "SURVIVES", words_of(mutant)), flush=True)
        if noticed:
            killed += 1
            survivors.remove(mutant)
    print("%d mutants, %d noticed, %d survive" % (made, killed, len(survivors)))
    unknown = [line for line in map(words_of, survivors) if line.split(": ", 1)[1] not in known_survivors()]
    print("\n".join(unknown))
    sys.exit(len(unknown) > 0)


main()

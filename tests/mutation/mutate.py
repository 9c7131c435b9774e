#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Would the tests notice? One-line mistakes are put into the solver and the conventions, one at a time.

usage: mutate.py WORK [FIRST [LAST]]    mutants FIRST to LAST - 1 of the chosen ones (default: all) that results.tsv lacks
       mutate.py WORK again             those that survived, once more: the tests may be better now
       mutate.py list                   only lists them
       mutate.py write                  the section of docs/reliability.md, from results.tsv and survivors.md

WORK is a folder of its own: the engine is compiled there, plain and with the sanitizers, and linked as shared libraries, so
that a mutant costs one or two compilations and links. The mutants are drawn with a fixed seed from all places of FILES where an operator of SWAPS
fits; in code, not in comments, messages or tables of words. A mutant that does not compile or link counts for nothing.
The tests run from fast to slow until one fails: the unit tests, the same under the sanitizers, then the scripts; these not
for a mutant that survivors.md calls equivalent, which no test can notice. A test that takes more
than a minute and twenty times what it takes without a mutant no longer ends, and says so in the results.
Every survivor stands with its reason in survivors.md: one without fails this script.
"""
import collections
import glob
import json
import os
import random
import re
import shlex
import signal
import subprocess
import sys
import time

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
# The programs that a line of Python or shell tests: PROGRAM and the two drivers.
SCRIPTS = ["sh tests/published/verify.sh PROGRAM", "tests/reference/fit_reference.py FIT",
           *["tests/reference/test_%s.py PROGRAM" % name for name in (
               "turned", "check", "pairs", "runs", "recover", "random_cases")],
           "tests/reference/then_reference.py OPTIMISE", "tests/reference/optimise_reference.py OPTIMISE",
           *["tests/reference/test_%s.py PROGRAM" % name for name in ("then", "confidence")]]
# With clang: gcc does not watch what reads and writes complex numbers.
SANITIZERS = ["-g", "-fsanitize=address,undefined", "-fno-sanitize-recover=all", "-fno-omit-frame-pointer"]
RESULTS = os.path.join(HERE, "results.tsv")   # number, what noticed, the change
BROKEN, QUICK, SURVIVES = "does not compile", "passes the unit tests", "survives"
SAME = "Equivalent"                           # how a reason in survivors.md begins
ENDLESS, GUARDED = " (no longer ends)", " (sanitizers)"


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

def run(words, seconds=None):
    """The exit status; None: not at its end in time, and ended with all that it started."""
    with subprocess.Popen(words, cwd=ROOT, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                          env={**os.environ, "OPENBLAS_NUM_THREADS": "1"}, start_new_session=True) as process:
        try:
            return process.wait(seconds)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            return None


def flags(*packages):
    return shlex.split(subprocess.run(["pkg-config", "--cflags", "--libs", *packages], capture_output=True, text=True,
                                      check=True).stdout)


class Shop:
    """The engine's objects, the library of them, and the test programs that link it."""

    def __init__(self, work, compiler, *more):
        self.work, self.build, self.compiler, self.more = work, os.path.join(work, "build"), compiler, more
        subprocess.run(["cmake", "-S", ROOT, "-B", self.build, "-DCM_TESTS=ON", "-DCM_HARDEN=OFF", "-DCMAKE_BUILD_TYPE=Release",
                        "-DCMAKE_EXPORT_COMPILE_COMMANDS=ON"], check=True, stdout=subprocess.DEVNULL)
        subprocess.run(["cmake", "--build", self.build, "--target", "engine", "-j2"], check=True, stdout=subprocess.DEVNULL)
        with open(os.path.join(self.build, "compile_commands.json"), encoding="utf-8") as file:
            entries = [entry for entry in json.load(file) if "engine.dir" in entry["command"]]
        self.commands = {os.path.relpath(entry["file"], ROOT): self.visible(entry) for entry in entries}
        self.objects = {name: words[words.index("-o") + 1] for name, words in self.commands.items()}
        self.library = os.path.join(work, "libmutant.so")
        self.unfinished = os.path.join(work, "unfinished")
        self.limit = {}

    def visible(self, entry):
        """The command that compiles a file with all names visible."""
        words = [word for word in shlex.split(entry["command"]) if word not in ("-fvisibility=hidden", "-Werror")]
        target = os.path.join(self.work, "objects", os.path.relpath(entry["file"], ROOT).replace("/", "_") + ".o")
        os.makedirs(os.path.dirname(target), exist_ok=True)
        words[words.index("-o") + 1] = target
        return [self.compiler, *words[1:]]

    def compile(self, name, source=None):
        words = [word if word != os.path.join(ROOT, name) else source or word for word in self.commands[name]]
        if source:
            words[-1:] = ["-I", os.path.dirname(os.path.join(ROOT, name)), words[-1]]
        return run([*words, "-O1", "-w", "-Werror=implicit-function-declaration", *self.more])

    def link(self):
        return run([self.compiler, "-shared", *self.more, *([] if self.more else ["-Wl,-z,defs"]), "-o", self.library, *self.objects.values(), *flags("yaml-0.1"),
                    "-L/usr/lib/x86_64-linux-gnu/openblas-serial", "-lopenblas", "-llapacke", "-lm"])

    def program(self, name, sources, *more):
        target = os.path.join(self.work, name)
        code = run([self.compiler, "-O1", "-w", "-std=c17", "-D_POSIX_C_SOURCE=200809L", "-Iinclude", "-Iengine", "-Itests/unit", "-Icli",
                    "-o", target, *sources, self.library, "-Wl,-rpath," + self.work, *self.more, *more, "-lopenblas", "-lm", "-lpthread"])
        if code:
            sys.exit("cannot build " + name)
        return target

    def prepare(self):
        """Compiles what is older than the sources; all of it after a run that was cut short."""
        again = os.path.exists(self.unfinished)
        newest = max(os.path.getmtime(name) for folder in ("engine", "include") for name in glob.glob(
            os.path.join(ROOT, folder, "**", "*.[ch]"), recursive=True))
        for name, target in self.objects.items():
            is_old = again or not os.path.exists(target) or os.path.getmtime(target) < newest
            if is_old and self.compile(name):
                sys.exit("cannot compile " + name)
        if again:
            os.remove(self.unfinished)
        if self.link():
            sys.exit("cannot link the library")
        self.units = self.passing(self.unit_tests())

    def unit_tests(self):
        cunit = flags("cunit")
        for source in sorted(glob.glob("tests/unit/*/*.c", root_dir=ROOT)):
            name = source.removeprefix("tests/").removesuffix(".c").replace("/", "_")
            yield [self.program(name, [source, "tests/unit/suite.c"], *cunit)]

    def scripts(self):
        cli = sorted(glob.glob("cli/*.c", root_dir=ROOT))
        programs = {"PROGRAM": self.program("countermass", cli),
                    "OPTIMISE": self.program("optimise_driver", ["tests/reference/optimise_driver.c"]),
                    "FIT": self.program("fit_driver", ["tests/reference/fit_driver.c"])}
        for line in SCRIPTS:
            words = [programs.get(word, word) for word in line.split()]
            yield words if words[0] == "sh" else [PYTHON, *words]

    def passing(self, tests):
        """Without a mutant all of them pass; how long they take gives their limits."""
        tests = [tuple(words) for words in tests]
        for words in tests:
            start = time.monotonic()
            if run(words):
                sys.exit("without a mutant this fails: " + " ".join(words))
            self.limit[words] = 60 + 20 * (time.monotonic() - start)
        return tests

    def killer(self, tests):
        """The first test that fails; None: all pass. A test that does not end fails."""
        for words in tests:
            name = os.path.basename(words[1] if len(words) > 1 else words[0])
            status = run(words, self.limit[words])
            if status != 0:
                return name + (GUARDED if self.more else "") + (ENDLESS if status is None else "")
        return None

    def attempt(self, mutant, tests):
        """BROKEN, the name of the test that noticed, or None."""
        name = mutant[0]
        source = os.path.join(self.work, "mutant_" + os.path.basename(name))
        with open(source, "w", encoding="utf-8") as file:
            file.write(mutated(mutant)[0])
        open(self.unfinished, "w", encoding="utf-8").close()
        broken = self.compile(name, source) or self.link()
        noticed = BROKEN if broken else self.killer(tests)
        if self.compile(name) == 0:
            os.remove(self.unfinished)
        return noticed


# ---- the account ----

def words_of(mutant):
    _, before, after = mutated(mutant)
    return "%s:%d: %s -> %s" % (mutant[0], mutant[1] + 1, before, after)


def read_results():
    if not os.path.exists(RESULTS):
        return {}
    with open(RESULTS, encoding="utf-8") as file:
        lines = [line.rstrip("\n").split("\t") for line in file]
    return {int(number): (noticed, words) for number, noticed, words in lines}


def note(results, number, noticed, words):
    """Into the file at once: a run that is cut short loses nothing."""
    results[number] = (noticed, words)
    with open(RESULTS + ".new", "w", encoding="utf-8") as file:
        file.writelines("%d\t%s\t%s\n" % (n, *results[n]) for n in sorted(results))
    os.replace(RESULTS + ".new", RESULTS)
    print("%3d %-22s %s" % (number, noticed, words), flush=True)


def go_through(numbered, results, waiting, notice, otherwise):
    for number, mutant in numbered:
        if results.get(number, (None,))[0] == waiting:
            note(results, number, notice(mutant) or otherwise, words_of(mutant))


def make(work, first, last, again):
    numbered, results = list(enumerate(chosen()))[first:last], read_results()
    for number, mutant in numbered:
        if number in results and results[number][1] != words_of(mutant):
            sys.exit("results.tsv is of other sources; without it the run starts anew")
    plain, guarded = Shop(os.path.join(work, "plain"), "gcc"), Shop(os.path.join(work, "sanitized"), "clang", *SANITIZERS)
    plain.prepare()
    guarded.prepare()

    def by_units(mutant):
        return plain.attempt(mutant, plain.units) or guarded.attempt(mutant, guarded.units)

    if again:
        go_through(numbered, results, SURVIVES, by_units, QUICK)
    go_through(numbered, results, None, by_units, QUICK)
    same = [pair for pair in numbered if reasons().get(without_line(words_of(pair[1])), "").startswith(SAME)]
    go_through(same, results, QUICK, lambda mutant: None, SURVIVES)
    if any(noticed == QUICK for noticed, _ in results.values()):
        scripts = plain.passing(plain.scripts())
        go_through(numbered, results, QUICK, lambda mutant: plain.attempt(mutant, scripts), SURVIVES)


def reasons():
    """What survivors.md says of each change."""
    with open(os.path.join(HERE, "survivors.md"), encoding="utf-8") as file:
        return dict(re.findall(r"^## (.*)\n\n((?:.+\n)+)", file.read(), flags=re.M))


def without_line(words):
    return re.sub(r":\d+: ", ": ", words, count=1)


def unexplained():
    return [words for noticed, words in read_results().values() if noticed == SURVIVES and without_line(words) not in reasons()]


def section():
    results = read_results()
    made = [(noticed, words) for noticed, words in results.values() if noticed not in (BROKEN, QUICK)]
    killers = collections.Counter(noticed for noticed, _ in made if noticed != SURVIVES)
    left = [without_line(words) for noticed, words in made if noticed == SURVIVES]
    same = [words for words in left if reasons()[words].startswith(SAME)]
    ends = sum(count for name, count in killers.items() if name.endswith(ENDLESS))
    yield "Drawn: %d; without those that do not compile: %d. Noticed: %d, of these by a test that no longer ends: %d. Surviving: %d," % (
        len(results), len(made), len(made) - len(left), ends, len(left))
    yield "of these equivalent: %d, not noticed: %d." % (len(same), len(left) - len(same))
    yield ""
    yield "| first noticed by | mutants |"
    yield "| --- | --- |"
    yield from ("| %s | %d |" % pair for pair in killers.most_common())
    yield ""
    for words in left:
        yield "- `%s`: %s" % (words, " ".join(reasons()[words].split()))


def write():
    page = os.path.join(ROOT, "docs/reliability.md")
    with open(page, encoding="utf-8") as file:
        text = file.read()
    first, last = "<!-- mutants: written by tests/mutation/mutate.py -->\n", "<!-- end of mutants -->"
    before, after = text[:text.index(first) + len(first)], text[text.index(last):]
    with open(page, "w", encoding="utf-8") as file:
        file.write(before + "\n".join(section()) + "\n" + after)


def main():
    more = sys.argv[2:]
    if sys.argv[1] == "list":
        print("\n".join(words_of(mutant) for mutant in chosen()))
        return
    if sys.argv[1] != "write":
        again = more == ["again"]
        bounds = [0, COUNT] if again else [int(word) for word in more] + [0, COUNT][len(more):]
        make(os.path.abspath(sys.argv[1]), *bounds, again)
    if unexplained():
        sys.exit("survivors without a reason in survivors.md:\n" + "\n".join(unexplained()))
    if sys.argv[1] == "write":
        write()


main()

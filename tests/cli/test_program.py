# SPDX-License-Identifier: MIT
"""The program as a user runs it: exit status, streams, forms of results, files, pipes.

usage: test_program.py [PROGRAM]
JSON is read by Python's json, YAML by PyYAML: both independent of the writers under test.
"""
import collections
import glob
import json
import math
import os
import pty
import re
import subprocess
import sys
import tempfile
import unicodedata
import unittest

import yaml

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.path.join(ROOT, "build", "countermass")
DEMO = "cases/demo/turbine-generator.yaml"

SMALL = """
case: {format: 1, title: fan}
conventions: {phase: lag, mass_angle: against-rotation}
speeds: [{id: service, speed: 1500}]
sensors:
  - {id: A, limit: %(limit)s}
  - {id: B, limit: %(limit)s}
planes:
  - {id: P1, radius: 200, cap: 500}
  - {id: P2, radius: 200, cap: 500}
runs:
  - {id: as-found, readings: {service: {A: 8.5 @ 60, B: 6.5 @ 205}}}
  - {id: trial 1, masses: [{plane: P1, mass: 10, angle: 270}], readings: {service: {A: 6 @ 125, B: 4.5 @ 230}}}
%(more)s
%(rest)s
"""
SECOND_TRIAL = ("  - {id: trial 2, masses: [{plane: P2, mass: 12, angle: 180}], "
                "readings: {service: {A: 6 @ 35, B: 10.5 @ 160}}}")


def small(limit=20, more=SECOND_TRIAL, rest=""):
    return SMALL % {"limit": limit, "more": more, "rest": rest}


def run(*arguments, text=None, **options):
    return subprocess.run([PROGRAM, *arguments], cwd=ROOT, input=text, capture_output=True, text=True,
                          timeout=60, **options)


def columns(line):
    """Terminal columns of a line."""
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
               for c in line)


class Files(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)

    def file(self, name, text):
        path = os.path.join(self.folder.name, name)
        with open(path, "w", encoding="utf-8") as out:
            out.write(text)
        return path

    def path(self, name):
        return os.path.join(self.folder.name, name)


class CommandLine(unittest.TestCase):
    def test_version_and_help(self):
        version = run("--version")
        self.assertEqual((version.returncode, version.stderr), (0, ""))
        self.assertRegex(version.stdout, r"^countermass \d+\.\d+\.\d+\n$")
        overview = run("--help")
        self.assertEqual(overview.returncode, 0)
        for command in ("check", "influence", "solve", "verify", "schema", "new"):
            self.assertIn(command, overview.stdout)
            help_ = run(command, "--help")
            self.assertEqual((help_.returncode, help_.stderr), (0, ""))
            self.assertIn("Example:", help_.stdout)
            for line in help_.stdout.splitlines() + overview.stdout.splitlines():
                self.assertLessEqual(len(line), 80)

    def wrong(self, *arguments):
        result = run(*arguments)
        self.assertEqual(result.returncode, 2, arguments)
        self.assertEqual(result.stdout, "", arguments)
        self.assertNotEqual(result.stderr, "", arguments)
        return result.stderr

    def test_wrong_command_lines(self):
        self.wrong()
        self.wrong("solve")
        self.assertIn("solve", self.wrong("sovle", DEMO))
        self.assertIn("--format", self.wrong("solve", "--formt", "json", DEMO))
        self.assertIn("did you mean --format;", self.wrong("solve", "--formt=json", DEMO))
        self.assertNotIn("did you mean", self.wrong("report", "--format", "json", DEMO))  # not an option of that command
        self.wrong("solve", "--format", "xml", DEMO)
        self.wrong("solve", DEMO, "--format")
        self.wrong("solve", "--help=yes", DEMO)
        self.wrong("schema", DEMO)
        self.wrong("schema", "--format", "json")
        self.wrong("solve", "--output", "", DEMO)
        for number in (" 2", "2 ", "08", "+2", "0", "0x2", "", "1000000"):
            self.assertIn("--jobs takes N", self.wrong("solve", "--jobs", number, DEMO))
        for seconds in (" 2", "0x2", "inf", "+2", "-1", "", "2 s"):
            self.assertIn("--time takes SECONDS", self.wrong("place", "--time", seconds, DEMO))

    def test_options_given_twice(self):
        for option, values in (("--jobs", "12"), ("--format", ("json", "json")), ("--output", ("a", "a")), ("--plot", ("a", "b"))):
            first, second = values
            self.assertIn(f"{option} is given twice", self.wrong("solve", option, first, f"{option}={second}", DEMO))
        for line in (("planes", "--must", "P1", "--must", "P2"), ("solve", "--table", "--table"), ("solve", "--help", "--help")):
            self.assertEqual(run(*line, DEMO).returncode, 0, line)

    def test_forms_of_options(self):
        plain = run("solve", "--format", "json", DEMO)
        self.assertEqual(run("solve", DEMO, "--format=json").stdout, plain.stdout)
        self.assertEqual(run("solve", "--format", "json", "--", DEMO).stdout, plain.stdout)


class Overwriting(Files):
    """No file that a command reads is written by it, under whatever name, and none twice."""

    def contents(self):
        held = {}
        for name in filter(os.path.isfile, map(self.path, os.listdir(self.folder.name))):
            with open(name, encoding="utf-8") as file:
                held[name] = file.read()
        return held

    def refused(self, words, *arguments, of=os.devnull):
        before = self.contents()
        with open(of, encoding="utf-8") as given:
            result = subprocess.run([PROGRAM, *arguments], cwd=ROOT, stdin=given, capture_output=True, text=True, timeout=60)
        self.assertEqual((result.returncode, result.stdout), (2, ""), arguments)
        self.assertIn(words, result.stderr)
        self.assertEqual(self.contents(), before)

    def test_cases(self):
        case = self.file("case.yaml", small())
        other = self.file("other.yaml", small(limit=30))
        linked, twin = self.path("linked.yaml"), self.path("twin.yaml")
        os.symlink(case, linked)
        os.link(case, twin)
        roundabout = os.path.join(self.folder.name, ".", "case.yaml")
        for command, option in (("solve", "--output"), ("influence", "--record"), ("solve", "--plot"), ("verify", "--output"),
                                ("report", "--output")):
            self.refused(f"countermass {command}: {option} would overwrite {case}, which is read; choose another name",
                         command, option, case, case)
            for name in (linked, twin, roundabout):
                self.refused(f"{option} would overwrite {name}, the same file as {case}, which is read", command, option, name, case)
        self.refused("--output would overwrite", "solve", "--output", other, case, other)
        self.refused(f"-: --output would overwrite {case}, which this case is read from", "solve", "--output", case, "-", of=case)

    def test_what_a_case_names(self):
        record, table = self.path("record.yaml"), "run,speed,sensor,amplitude,phase\nas-found,service,A,8.5,60\nas-found,service,B,6.5,205\n"
        first = self.file("first.yaml", small())
        self.assertEqual(run("influence", "--record", record, first).returncode, 0)
        naming = self.file("naming.yaml", small(more="", rest="influence: [{record: record.yaml}]"))
        for command, option in (("solve", "--output"), ("influence", "--record"), ("solve", "--plot")):
            self.refused(f"naming.yaml: {option} would overwrite {record}, which this case is read from", command, option, record,
                         naming)
        self.refused(f"--output would overwrite {record}, which is read", "solve", "--record-from", record, "--output", record, first)
        self.file("found.csv", table)
        tabled = self.file("tabled.yaml", small().replace("{service: {A: 8.5 @ 60, B: 6.5 @ 205}}", "{csv: found.csv}"))
        self.assertEqual(run("solve", tabled).returncode, 0, run("solve", tabled).stderr)
        self.refused("which this case is read from", "solve", "--output", self.path("found.csv"), tabled)
        self.refused("which this case is read from", "solve", "--output", self.path("found.csv"), first, tabled, first)

    def test_one_name_twice(self):
        case, name = self.file("case.yaml", small()), self.path("out")
        self.refused("--output and --record name the same file", "influence", "--output", name, "--record", name, case)
        self.refused("--output and --plot name the same file", "solve", "--output", name, "--plot", name, case)
        within = self.path("within")
        os.mkdir(within)
        os.symlink(within, self.path("door"))
        os.symlink("within/out", self.path("dangling"))
        for one, other in (("out", "./out"), ("within/out", "within//out"), ("within/out", "within/../within/out"),
                           ("within/out", "door/out"), ("within/out", "dangling"), ("dangling", "door/out")):
            with self.subTest(one=one, other=other):
                for first, second in ((self.path(one), self.path("") + other), (self.path("") + other, self.path(one))):
                    result = subprocess.run([PROGRAM, "solve", "--output", first, "--plot", second, case], capture_output=True, text=True)
                    self.assertEqual((result.returncode, result.stdout), (2, ""))
                    self.assertIn("--output and --plot name the same file", result.stderr)
                    self.assertEqual(os.listdir(within), [])
        bare = subprocess.run([PROGRAM, "solve", "--output", "out", "--plot", name, case], cwd=self.folder.name, capture_output=True)
        self.assertEqual(bare.returncode, 2)
        self.assertFalse(os.path.exists(name))
        apart = run("solve", "--output", name, "--plot", os.path.join(within, "out"), case)  # one name in two folders
        self.assertEqual((apart.returncode, os.listdir(within)), (0, ["out"]))
        self.assertEqual(run("solve", "--output", name, case).returncode, 0)
        self.assertEqual(run("solve", "--output", name, case).returncode, 0)  # an earlier result may be replaced


class Streams(Files):
    def test_cases_that_cannot_be_opened(self):
        missing = run("solve", "no-such-file.yaml")
        self.assertEqual((missing.returncode, missing.stdout), (2, ""))
        self.assertRegex(missing.stderr, r"^no-such-file\.yaml: \S")
        folder = run("solve", "--format", "json", self.folder.name)
        self.assertEqual((folder.returncode, folder.stdout), (2, ""))
        self.assertTrue(folder.stderr.startswith(self.folder.name + ": "), folder.stderr)

    def test_wrong_case(self):
        path = self.file("wrong.yaml", small().replace("phase: lag", "phase: lagging"))
        for form in ("text", "json", "yaml"):
            result = run("solve", "--format", form, path)
            self.assertEqual((result.returncode, result.stdout), (2, ""))
            self.assertRegex(result.stderr, r"^%s:3:22: \S" % path)

    def test_standard_input(self):
        named = run("solve", "--format", "json", self.file("fan.yaml", small()))
        piped = run("solve", "--format", "json", "-", text=small())
        self.assertEqual((piped.returncode, piped.stdout), (0, named.stdout))
        wrong = run("check", "-", text=small().replace("phase: lag", "phase: lagging"))
        self.assertEqual(wrong.returncode, 2)
        self.assertTrue(wrong.stderr.startswith("-:3:22: "), wrong.stderr)

    def test_results_and_messages_apart(self):
        result = run("solve", "--format", "json", DEMO)
        self.assertEqual(result.returncode, 0)
        json.loads(result.stdout)

    def test_disk_full_and_closed_pipe(self):
        for command in (["solve", DEMO], ["new"], ["--help"], ["--version"], ["manual"], ["completion"], ["solve", "--help"]):
            with open("/dev/full", "w", encoding="utf-8") as full:
                result = subprocess.run([PROGRAM, *command], cwd=ROOT, stdout=full, stderr=subprocess.PIPE, text=True)
            self.assertEqual(result.returncode, 3, command)
            self.assertEqual(result.stderr, "countermass: standard output: No space left on device\n", command)
        reader, writer = os.pipe()
        os.close(reader)
        result = subprocess.run([PROGRAM, "solve", DEMO], cwd=ROOT, stdout=writer, stderr=subprocess.PIPE)
        os.close(writer)
        self.assertEqual(result.returncode, 3)

    def test_standard_output_closed_from_the_start(self):
        result = subprocess.run(["sh", "-c", '"$0" solve "$1" >&-', PROGRAM, DEMO], cwd=ROOT, capture_output=True)
        self.assertEqual(result.returncode, 3)


class Harmless(Files):
    """What cases and file names hold does not steer the terminal that messages are read on, nor does it make lines."""

    STEERING = "\x1b[31m\x07\r\u202e\u2066\x85\u200b"

    def harmless(self, result, lines=None):
        self.assertNotRegex(result.stderr, "[\x00-\x09\x0b-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u206f]")
        self.assertIn("\ufffd", result.stderr)
        if lines:
            self.assertEqual(result.stderr.count("\n"), lines, result.stderr)

    def test_cases(self):
        bad = json.dumps(self.STEERING + "\nforged:1:1: all is well Kühl")
        for there, how in (("phase: lag", f"phase: {bad}"), ("{id: P1, radius: 200, cap: 500}", f"{{id: P1, {bad}: 200}}"),
                           ("plane: P1", f"plane: {bad}"), ("8.5 @ 60", bad), ("{A: 6 @ 35, B: 10.5 @ 160}", f"{{csv: {bad}}}"),
                           ("mass: 12", f"mass: {bad}")):
            result = run("check", "-", text=small().replace(there, how))
            self.assertEqual(result.returncode, 2, how)
            self.harmless(result)
            self.assertTrue(all(line.startswith("-:") for line in result.stderr.splitlines()), result.stderr)
            self.assertIn("Kühl", result.stderr)
        for more in (f"rotor: {{grade: {bad}}}", f"limits: {{standard: {bad}}}", f"influence: [{{record: {bad}}}]"):
            self.harmless(run("check", "-", text=small(rest=more)))
        told = run("solve", "-", text=small().replace("- {id: trial 2,", f"- {{id: trial 2, leave_out: {{sensors: [A], because: {bad}}},"))
        self.assertIn("all is well", told.stderr)
        self.harmless(told)
        self.assertFalse([line for line in told.stderr.splitlines() if line.startswith("forged")])

    def test_names_of_files_and_options(self):
        name = self.path("a" + self.STEERING + "\nb")
        self.harmless(run("solve", name), lines=1)
        self.harmless(run("solve", "--output", name + "/c", DEMO), lines=1)
        with open(name, "w", encoding="utf-8") as out:
            out.write(small().replace("phase: lag", "phase: lagging"))
        self.harmless(run("new", "--output", name), lines=1)
        self.harmless(run("solve", name), lines=1)
        self.harmless(run("solve", name, name), lines=2)
        self.harmless(run("solve", "--output", name, name), lines=1)
        for line in (["solve", "--format", self.STEERING, DEMO], [self.STEERING], ["solve", "--" + self.STEERING, DEMO],
                     ["schema", self.STEERING], ["solve", "--output", name, "--plot", name, DEMO], ["solve", "--format", "x" * 3000 + "\n\x1b", DEMO]):
            self.harmless(run(*line), lines=1)


class Output(Files):
    def test_same_as_standard_output(self):
        target = self.path("out.json")
        result = run("solve", "--format", "json", "--output", target, DEMO)
        self.assertEqual((result.returncode, result.stdout), (0, ""))
        with open(target, encoding="utf-8") as written:
            self.assertEqual(written.read(), run("solve", "--format", "json", DEMO).stdout)
        self.assertEqual(os.listdir(self.folder.name), ["out.json"])

    def test_old_file_stays_whole(self):
        target = self.file("out.json", "old")
        wrong = self.file("wrong.yaml", "case: {format: 1}\n")
        self.assertEqual(run("solve", "--output", target, wrong).returncode, 2)
        with open(target, encoding="utf-8") as old:
            self.assertEqual(old.read(), "old")
        for bad in (self.path("no/such/folder/out.json"), self.folder.name):
            result = run("solve", "--output", bad, DEMO)
            self.assertEqual((result.returncode, result.stdout), (3, ""), bad)
            self.assertIn(bad, result.stderr)
        self.assertEqual(sorted(os.listdir(self.folder.name)), ["out.json", "wrong.yaml"])

    def test_disk_full(self):
        """A file that may not grow (as on a full disk) leaves the old one in place."""
        target = self.file("out.json", "old")
        script = 'ulimit -f 0; trap "" XFSZ; exec "$0" solve --format json --output "$1" "$2"'
        result = subprocess.run(["sh", "-c", script, PROGRAM, target, DEMO], cwd=ROOT, capture_output=True)
        self.assertEqual(result.returncode, 3, result.stderr)
        with open(target, encoding="utf-8") as old:
            self.assertEqual(old.read(), "old")
        self.assertEqual(os.listdir(self.folder.name), ["out.json"])


class SeveralCases(Files):
    def test_wrong_case_in_its_place(self):
        wrong = self.file("wrong.yaml", small().replace("phase: lag", "phase: lagging"))
        good = self.file("fan.yaml", small())
        for command in ("solve", "influence", "check"):
            result = run(command, "--format", "json", good, wrong, good)
            self.assertEqual(result.returncode, 2)
            first, error, last = json.loads(result.stdout)
            self.assertEqual(first, last)
            self.assertEqual(first["result"], command)
            self.assertEqual((error["result"], error["file"]), ("error", wrong))
            self.assertEqual([set(m) for m in error["messages"]], [{"line", "column", "text"}])
            self.assertEqual((error["messages"][0]["line"], error["messages"][0]["column"]), (3, 22))
            documents = list(yaml.safe_load_all(run(command, "--format", "yaml", good, wrong, good).stdout))
            self.assertEqual(documents, [first, error, last])

    def test_greatest_exit_status(self):
        good = self.file("fan.yaml", small())
        infeasible = self.file("infeasible.yaml", small(limit=1e-3, more="", rest="objective: {minimise: least-mass, "
                                                        "use_planes: [P1]}"))
        self.assertEqual(run("solve", good, good).returncode, 0)
        self.assertEqual(run("solve", infeasible, good).returncode, 1)
        self.assertEqual(run("solve", infeasible, "no-such-file", good).returncode, 2)

    def test_missing_file_in_a_list(self):
        error = json.loads(run("solve", "--format", "json", "no-such-file", DEMO).stdout)[0]
        self.assertEqual((error["result"], error["file"]), ("error", "no-such-file"))
        self.assertEqual(len(error["messages"]), 1)

    def test_tolerances_have_the_unit_of_what_they_are_for(self):
        corrections = "expected: {source: hand, corrections: [{plane: P1, mass: 10.0561, angle: 325.6%s}]%s}"
        misfits = {", tolerance: 5 mm": "a tolerance in mm does not fit 'mass', which is in g",
                   ", tolerance: 5 g": "a tolerance in g does not fit 'angle', which is in degrees and takes no unit",
                   ", tolerance: {mass: 1 um pp}": "does not fit 'mass', which is in g",
                   ", tolerance: {angle: 1 mm}": "does not fit 'angle'"}
        for tolerance, message in misfits.items():
            case = self.file("t.yaml", small(rest=corrections % (tolerance, "")))
            for command in ("verify", "check", "solve"):
                result = run(command, case)
                self.assertEqual((result.returncode, result.stdout), (2, ""), tolerance)
                self.assertRegex(result.stderr, r"t\.yaml:15:\d+: ")
                self.assertIn(message, result.stderr)
                self.assertEqual(result.stderr.count("\n"), 1)
        everywhere = run("verify", self.file("t.yaml", small(rest=corrections % ("", ", tolerance: 5 mm"))))
        self.assertIn("does not fit 'mass'", everywhere.stderr)
        amplitude = "expected: {source: hand, predicted: [{speed: service, sensor: A, before: {amplitude: 8.5, phase: 60}, tolerance: %s}]}"
        for tolerance, status in (("{amplitude: 0.001 mm pp, phase: 1}", 0), ("{amplitude: 1 mm/s rms}", 2), ("0.1 %", 0), ("0.1", 0)):
            result = run("verify", self.file("t.yaml", small(rest=amplitude % tolerance)))
            self.assertEqual(result.returncode, status, tolerance + result.stderr)
        for tolerance in (", tolerance: {mass: 20 g, angle: 120}", ", tolerance: {mass: 0.02 kg, angle: 120}", ", tolerance: 200 %"):
            self.assertEqual(run("verify", self.file("t.yaml", small(rest=corrections % (tolerance, "")))).returncode, 0, tolerance)
        nothing = small(rest="expected: {source: hand, corrections: [{plane: P1, mass: 0, angle: 90, tolerance: 30 g}]}")
        self.assertEqual(run("verify", self.file("t.yaml", nothing)).returncode, 0)  # beside 0 no angle is compared

    def test_what_failed_shows_how(self):
        """Numbers that differ are not printed alike."""
        found = json.loads(run("solve", "--format", "json", self.file("s.yaml", small())).stdout)["corrections"][0]["mass"]
        for expected in (found * (1 + 1e-9), math.nextafter(found, 1e9)):
            rest = f"expected: {{source: hand, corrections: [{{plane: P1, mass: {expected!r}, tolerance: 0}}]}}"
            page = run("verify", self.file("v.yaml", small(rest=rest)))
            row = re.search(r"corrections P1 mass +(\S+) +(\S+) +0 +FAILS", page.stdout)
            self.assertEqual(page.returncode, 1)
            self.assertNotEqual(row[1], row[2])

    def test_verify_is_one_object(self):
        with_expected = self.file("good.yaml", small(rest="expected: {source: made, corrections: "
                                                     "[{plane: P1, mass: 10.0561, tolerance: 0.001}]}"))
        without = self.file("without.yaml", small())
        result = run("verify", "--format", "json", with_expected, "no-such-file", without)
        tree = json.loads(result.stdout)
        self.assertEqual(result.returncode, 2)
        self.assertEqual(tree["result"], "verify")
        self.assertEqual([case["pass"] for case in tree["cases"]], [True, False, False])
        self.assertEqual(tree["cases"][1]["result"], "error")
        self.assertEqual(run("verify", with_expected, without).returncode, 1)
        self.assertEqual(run("verify", without).returncode, 1)
        check = tree["cases"][0]["checks"][0]
        self.assertEqual(list(check), ["what", "expected", "found", "tolerance", "pass"])
        self.assertTrue(abs(check["found"] - check["expected"]) <= check["tolerance"] and check["pass"])


def numbers(tree):
    if isinstance(tree, dict):
        for value in tree.values():
            yield from numbers(value)
    elif isinstance(tree, list):
        for value in tree:
            yield from numbers(value)
    elif isinstance(tree, float):
        yield tree


class Results(Files):
    def test_yaml_and_json_are_one_tree(self):
        for command in ("solve", "influence", "check", "verify"):
            for case in (DEMO, "cases/published/turbine-two-planes.yaml"):
                tree = json.loads(run(command, "--format", "json", case).stdout)
                again = yaml.safe_load(run(command, "--format", "yaml", case).stdout)
                self.assertEqual(tree, again, (command, case))
                self.assertTrue(all(math.isfinite(x) for x in numbers(tree)))

    def test_solve(self):
        tree = json.loads(run("solve", "--format", "json", DEMO).stdout)
        self.assertEqual(list(tree)[:9], ["result", "format", "case", "status", "objective", "corrections", "predicted",
                                          "condition", "warnings"])
        self.assertEqual(list(tree["objective"])[:4], ["minimise", "value", "bound", "gap"])
        self.assertEqual([c["plane"] for c in tree["corrections"]], ["P1", "P2", "P3", "P4", "P5"])
        for correction in tree["corrections"]:
            self.assertEqual(list(correction)[:5], ["plane", "mass", "angle", "at_cap", "change"])
            self.assertTrue(0 <= correction["angle"] < 360)
        rows = [(p["speed"], p["sensor"]) for p in tree["predicted"]]
        self.assertEqual(rows, [(v, b + a) for v in ("near first critical", "service") for b in "123456" for a in "xy"])
        for row in tree["predicted"]:
            self.assertEqual(list(row)[:6], ["speed", "sensor", "unit", "limit", "before", "after"])
        self.assertEqual([s["speed"] for s in tree["condition"]["by_speed"]], ["near first critical", "service"])
        for warning in tree["warnings"]:
            self.assertTrue({"code", "message"} <= set(warning))

    def test_influence(self):
        tree = json.loads(run("influence", "--format", "json", DEMO).stdout)
        self.assertEqual(list(tree["coefficients"][0])[:6], ["speed", "sensor", "plane", "value", "std", "unit"])
        self.assertEqual(len(tree["coefficients"]), 24 * 5)
        self.assertEqual(set(tree["coefficients"][0]["value"]), {"amplitude", "phase"})
        self.assertIn("overall", tree["condition"])

    def test_no_title_is_the_file(self):
        path = self.file("untitled.yaml", small().replace(", title: fan", ""))
        self.assertEqual(json.loads(run("solve", "--format", "json", path).stdout)["case"], "untitled.yaml")

    def test_infeasible(self):
        path = self.file("case.yaml", small(limit=1, rest="objective: {minimise: least-mass, use_planes: [P1]}"))
        result = run("solve", "--format", "json", path)
        tree = json.loads(result.stdout)
        self.assertEqual((result.returncode, tree["status"]), (1, "infeasible"))
        self.assertEqual((tree["corrections"], tree["predicted"]), ([], []))
        self.assertGreater(tree["limits_factor"], 1)
        self.assertTrue(tree["conflict"])
        factor = tree["limits_factor"] * 1.0001
        easier = self.file("easier.yaml", small(limit=factor, rest="objective: {minimise: least-mass, use_planes: [P1]}"))
        self.assertEqual(run("solve", easier).returncode, 0)
        page = run("solve", path).stdout
        self.assertIn("No masses on these planes keep every counted reading within its limit", page)

    def test_undetermined_and_the_line_to_paste(self):
        more = ("  - {id: half trial, masses: [{plane: P2, mass: 12, angle: 180}], readings: {service: {A: 6 @ 35}}}")
        path = self.file("case.yaml", small(more=more))
        result = run("solve", "--format", "json", path)
        tree = json.loads(result.stdout)
        self.assertEqual((result.returncode, tree["status"]), (1, "undetermined"))
        self.assertEqual((tree["corrections"], tree["predicted"]), ([], []))
        self.assertEqual(tree["undetermined"], [{"speed": "service", "sensor": "B", "planes": ["P2"]}])
        self.assertEqual(tree["drop_rows"], [["B", "service"]])
        self.assertEqual(tree["run"]["trial_on"], [])  # reading B in the last run's state is enough
        self.assertIn("half trial", tree["run"]["message"])
        lines = run("solve", path).stdout.splitlines()
        start = lines.index("    objective:")
        pasted = "\n".join(line[4:] for line in lines[start:start + 2])
        with open(path, encoding="utf-8") as case:
            again = self.file("again.yaml", case.read() + pasted + "\n")
        self.assertEqual(run("solve", again).returncode, 0, pasted)
        self.assertEqual(run("check", path).returncode, 1)

    def test_undetermined_names_the_trial(self):
        path = self.file("case.yaml", small(more="  - {id: again, readings: {service: {A: 8.5 @ 60, B: 6.5 @ 205}}}"))
        tree = json.loads(run("solve", "--format", "json", path).stdout)
        self.assertEqual(tree["run"]["trial_on"], ["P2"])
        self.assertEqual([u["planes"] for u in tree["undetermined"]], [["P2"], ["P2"]])
        self.assertEqual(tree["drop_rows"], [])  # nothing that counts would be left
        page = " ".join(run("solve", path).stdout.split())
        self.assertIn("a trial mass on P2", page)
        self.assertIn("2 sensors at service (A, B): the runs do not tell how they answer to P2.", page)
        self.assertEqual((page.count("to P2."), page.count("undetermined")), (1, 0))  # once is enough
        self.assertIn("The simplest way on is to do without P2: the runs tell what the other planes do.", page)
        self.assertEqual(len(tree["warnings"]), 2)  # each in full
        lines = run("solve", path).stdout.splitlines()
        start = lines.index("    objective:")
        self.assertLess(start, next(i for i, line in enumerate(lines) if "a trial mass on P2" in line))
        pasted = "\n".join(line[4:] for line in lines[start:start + 2])
        self.assertIn("use_planes: [P1]", pasted)
        with open(path, encoding="utf-8") as case:
            again = self.file("again.yaml", case.read() + pasted + "\n")
        self.assertEqual(run("solve", again).returncode, 0, pasted)

    def test_no_way_round_a_plane_that_is_not_told(self):
        # what P2 carries in the reference run is not what it carries now: leaving it alone needs its influence too
        rest = "now: {masses: [{plane: P2, mass: 5, angle: 0}]}"
        page = run("solve", self.file("case.yaml", small(more="", rest=rest)))
        self.assertEqual(page.returncode, 1)
        self.assertNotIn("use_planes", page.stdout)

    def test_over_alarm_is_no(self):
        path = self.file("case.yaml", small(rest="objective: {use_planes: [P1]}").replace("{id: A,", "{id: A, alarm: 0.5,"))
        result = run("solve", "--format", "json", path)
        self.assertEqual(result.returncode, 1)
        self.assertIn("over-alarm", [w["code"] for w in json.loads(result.stdout)["warnings"]])


class Pages(Files):
    def assert_narrow(self, text):
        self.assertTrue(text)
        for line in text.splitlines():
            self.assertLessEqual(columns(line), 80, line)
            self.assertEqual(line, line.rstrip())
        self.assertNotIn("\033", text)

    def test_every_case_fits_eighty_columns(self):
        for case in sorted(glob.glob(os.path.join(ROOT, "cases/demo/*.yaml")) +
                           glob.glob(os.path.join(ROOT, "cases/published/*.yaml"))):
            with open(case, encoding="utf-8") as text:
                has_runs = "\nruns:" in text.read()
            for command in ("solve", "influence", "check", "verify") if has_runs else ("verify",):
                self.assert_narrow(run(command, os.path.relpath(case, ROOT)).stdout)

    def test_findings_of_one_kind_stand_together(self):
        grouped = 0
        for case in sorted(glob.glob(os.path.join(ROOT, "cases/demo/*.yaml"))):
            kinds = collections.Counter((f["severity"].capitalize(), f["code"]) for f in
                                        json.loads(run("check", "--format", "json", case).stdout)["findings"])
            page = run("check", case).stdout
            for (severity, code), count in kinds.items():
                full = 2 if count > 3 else count
                self.assertEqual(len(re.findall(rf"- {severity}, {code}[ :]", page)), full, (case, code))
                more = re.findall(rf"- {severity}, {code}, (\d+)\s+more\s+of\s+this\s+kind", page)
                self.assertEqual(more, [str(count - 2)] if count > 3 else [], (case, code))
                grouped += count > 3
        self.assertGreater(grouped, 0)

    def test_hostile_ids(self):
        text = small()
        for old, new in (("A", "軸受" * 30), ("B", "b" * 200), ("P1", "p [1], {x}: \\u202e#\\\\" * 8), ("P2", "e\\u0301" * 120)):
            text = (text.replace("{id: %s," % old, '{id: "%s",' % new).replace("{%s:" % old, '{"%s":' % new)
                    .replace(", %s:" % old, ', "%s":' % new).replace("plane: %s," % old, 'plane: "%s",' % new))
        path = self.file("hostile.yaml", text)
        for command in ("solve", "influence", "check"):
            page = run(command, path)
            self.assertEqual(page.returncode, 0, page.stderr)
            self.assert_narrow(page.stdout)
            self.assertNotIn("\u202e", page.stdout)
            tree = json.loads(run(command, "--format", "json", path).stdout)
            self.assertEqual(tree, yaml.safe_load(run(command, "--format", "yaml", path).stdout))
        table = run("solve", path).stdout.split("PREDICTED VIBRATION")[1].splitlines()[1:5]
        ends = {columns(line) for line in table[2:]}
        self.assertEqual(len(ends), 1, table)

    def test_page_of_solve(self):
        page = run("solve", DEMO).stdout
        order = ["SUMMARY", "WHAT TO MOUNT", "PREDICTED VIBRATION", "BEFORE ANYTHING TURNS"]
        places = [page.index(title) for title in order]
        self.assertEqual(places, sorted(places))
        words = " ".join(page.split())
        for sentence in ("No masses on these planes can do better than", "degrees against rotation from the reference mark",
                         "If these masses stay on, add:", "Masses come loose.", "overspeed of 3300 r/min",
                         "Starts follow the plant's own procedures.", "Local codes and licensed practice come first."):
            self.assertIn(sentence, words)
        for word in ("base state", "certificate", " row "):
            self.assertNotIn(word, page)

    def test_assumed_overspeed_is_said_aloud(self):
        words = " ".join(run("solve", self.file("fan.yaml", small())).stdout.split())
        self.assertIn("an overspeed of 1650 r/min that is assumed: 1.1 times the highest speed in the case", words)

    def on_terminal(self, **environment):
        reader, writer = pty.openpty()
        clean = {k: v for k, v in os.environ.items() if k != "NO_COLOR"}
        process = subprocess.Popen([PROGRAM, "solve", DEMO], cwd=ROOT, stdout=writer, stderr=subprocess.DEVNULL,
                                   env={**clean, **environment})
        os.close(writer)
        out = b""
        try:
            while chunk := os.read(reader, 65536):
                out += chunk
        except OSError:
            pass
        os.close(reader)
        self.assertEqual(process.wait(), 0)
        return out

    def test_colour_only_on_terminals(self):
        self.assertIn(b"\033[", self.on_terminal())
        self.assertNotIn(b"\033[", self.on_terminal(NO_COLOR="1"))


class Documents(Files):
    def test_new_replaces_nothing(self):
        with tempfile.TemporaryDirectory() as folder:
            name = os.path.join(folder, "job.yaml")
            self.assertEqual(run("new", "--output", name).returncode, 0)
            with open(name, "a", encoding="utf-8") as out:
                out.write("# filled in\n")
            again = run("new", "--output", name)
            self.assertEqual(again.returncode, 2)
            self.assertIn("already exists", again.stderr)
            with open(name, encoding="utf-8") as text:
                self.assertTrue(text.read().endswith("# filled in\n"))

    def test_new_case_can_be_solved(self):
        new = run("new")
        self.assertEqual((new.returncode, new.stderr), (0, ""))
        self.assertIn(run("check", self.file("new.yaml", new.stdout)).returncode, (0,))
        self.assertEqual(run("solve", self.path("new.yaml")).returncode, 0)

    def test_schema_is_json(self):
        self.assertIn("properties", json.loads(run("schema").stdout))
        target = self.path("schema.json")
        self.assertEqual(run("schema", "--output", target).returncode, 0)
        with open(target, encoding="utf-8") as written:
            json.load(written)


if __name__ == "__main__":
    if len(sys.argv) > 1:
        PROGRAM = os.path.abspath(sys.argv.pop(1))
    unittest.main(verbosity=1)

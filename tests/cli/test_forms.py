# SPDX-License-Identifier: MIT
"""Results for spreadsheets and as pictures: RFC 4180, no formulas, well-formed SVG, the numbers of the JSON.

usage: test_forms.py [PROGRAM]
CSV is read by Python's csv in strict mode, SVG by its XML parser: both independent of the writers under test.
"""
import csv
import io
import json
import os
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as xml

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.path.join(ROOT, "build", "countermass")
DEMO = "cases/demo/turbine-generator.yaml"
FAN = "cases/demo/exhaust-fan.yaml"
FIT = "cases/demo/fit-list.yaml"
CASES = {"solve": DEMO, "influence": DEMO, "planes": DEMO, "check": DEMO, "tolerance": FAN, "trial": FAN, "place": FIT}
SVG = "{http://www.w3.org/2000/svg}"

EVIL = ["=1+1", "+1", "-1", "@SUM(A1)", "\u0009=1", " =1", "\uff1d1", "a,b", 'a"b', "a\u2028b", "<b>&amp;", "]]>", "--><x>"]


def hostile():
    """A small case whose ids are what spreadsheets and browsers stumble over."""
    planes, sensors = [e for e in EVIL if "\t" not in e][:4], [e for e in EVIL if "\t" not in e][4:]
    runs = [{"id": "as-found", "readings": {"=s": {s: "%d @ %d" % (40 + i, 20 * i) for i, s in enumerate(sensors)}}}]
    for k, p in enumerate(planes):
        runs.append({"id": "=run %d" % k, "masses": [{"plane": p, "mass": 10, "angle": 30 * k}],
                     "readings": {"=s": {s: "%d @ %d" % (30 + (7 * i + 11 * k) % 23, (20 * i + 50 * k) % 360)
                                         for i, s in enumerate(sensors)}}})
    return json.dumps({
        "case": {"format": 1, "title": "=HYPERLINK(\"http://example.invalid\")<script>"},
        "conventions": {"phase": "lag", "mass_angle": "against-rotation", "rotation": "clockwise", "seen_from": "<i>"},
        "speeds": [{"id": "=s", "speed": 3000}],
        "sensors": [{"id": s, "limit": 30, "repeatability": 1} for s in sensors],
        "planes": [{"id": p, "radius": 100, "position": 10 * i} for i, p in enumerate(planes)], "runs": runs})


def run(*arguments, text=None, status=(0, 1)):
    done = subprocess.run([PROGRAM, *arguments], cwd=ROOT, input=text.encode() if text else None, capture_output=True,
                          timeout=120, check=False)
    assert done.returncode in status, (arguments, done.returncode, done.stderr)
    return done.stdout.decode("utf-8")


def table(text):
    """Lines of a CSV text as maps, after checking its form."""
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    lines = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert len(lines) > 1 and len({len(line) for line in lines}) == 1
    assert len(set(lines[0])) == len(lines[0])
    return [dict(zip(lines[0], line)) for line in lines[1:]]


class Sheets(unittest.TestCase):
    def same(self, cell, value):
        if isinstance(value, bool):
            self.assertEqual(cell, str(value).lower())
        elif isinstance(value, (int, float)):
            self.assertEqual(float(cell), value)
        else:
            self.assertEqual(cell, value or "")

    def test_numbers_are_those_of_the_json(self):
        for command, key, fields in (
                ("solve", "corrections", ["plane", "mass", "angle", "at_cap", "change.mass", "spread90"]),
                ("solve", "predicted", ["speed", "sensor", "unit", "limit", "before.amplitude", "after.phase", "within"]),
                ("influence", "coefficients", ["speed", "sensor", "plane", "value.amplitude", "value.phase", "std", "unit"]),
                ("planes", "sets", ["status", "value", "total_mass", "pareto"]),
                ("check", "findings", ["code", "severity", "message"]),
                ("trial", "planes", ["plane", "possible", "mass", "upper"]),
                ("place", "placements", ["plane", "site", "angle", "mass"])):
            result = json.loads(run(command, "--format", "json", CASES[command]))
            lines = table(run(command, "--format", "csv", CASES[command]))
            lines = [line for line in lines if line.get("table", key) == key]  # the name that docs/results.md gives
            self.assertEqual(len(lines), len(result[key]), (command, key))
            for line, entry in zip(lines, result[key]):
                for field in fields:
                    value = entry
                    for part in field.split("."):
                        value = value[part]
                    self.same(line[field.replace(".", "_")], value)

    def test_tolerance(self):
        result = json.loads(run("tolerance", "--format", "json", FAN))
        lines = [line for line in table(run("tolerance", "--format", "csv", FAN)) if line["table"] == "bearings"]
        self.assertEqual([float(line["value"]) for line in lines],
                         [b["value"] for b in result["permissible"]["bearings"]])

    def test_no_cell_is_a_formula(self):
        case = hostile()
        for command in ("solve", "influence", "check", "planes"):
            for line in csv.reader(io.StringIO(run(command, "--format", "csv", "-", text=case), newline="")):
                for cell in line:
                    try:
                        float(cell)
                    except ValueError:
                        self.assertNotRegex(cell, r"^[\s]*[=+\-@\uff1d\uff0b\uff0d\uff20]")
        lines = table(run("influence", "--format", "csv", "-", text=case))
        self.assertIn("'=1+1", {line["plane"] for line in lines})
        self.assertIn('a"b', {line["sensor"] for line in lines})
        self.assertIn("a,b", {line["sensor"] for line in lines})

    def test_other_separators(self):
        """Spreadsheets that separate by semicolon or tab see no formula either, nor does quoting fail them."""
        ids = ["x;=cmd|' /C calc'!A0", "y; +1+1", "z;\"=1", "a;@b", "c;-5", "\u202edrow\u2066", "d;\uff1d1", "e;f",
               "\u00a0=1", "\u3000 +1", "f;\u2003@c"]
        turned = {"\u202e", "\u2066"}
        case = json.loads(hostile())
        case["case"]["title"] = "two lines\n=1+1;\t=2"
        case["planes"] = [{"id": i, "radius": 100} for i in ids]
        case["runs"] = case["runs"][:1] + [
            {"id": "run " + i, "masses": [{"plane": i, "mass": 10, "angle": 0}], "readings": case["runs"][1 + k % 4]["readings"]}
            for k, i in enumerate(ids)]
        case = json.dumps(case)
        for command in ("influence", "check", "solve", "planes", "trial"):
            text = run(command, "--format", "csv", "-", text=case)
            self.assertFalse(turned & set(text), command)
            for separator in ",;\t":
                for line in csv.reader(io.StringIO(text, newline=""), delimiter=separator):
                    for cell in line:
                        try:
                            float(cell)
                        except ValueError:
                            self.assertNotRegex(cell, r'^[\s"]*[=+\-@\uff1d]', (command, separator, line))
        for line in run("influence", "--format", "csv", "-", text=case).split("\r\n"):
            for cell in next(csv.reader([line]), []):
                if ";" in cell and "\n" not in cell:  # each such cell stands in quotes
                    self.assertIn('"' + cell.replace('"', '""') + '"', line)
        planes = {line["plane"] for line in csv.DictReader(io.StringIO(run("influence", "--format", "csv", "-", text=case), newline=""))}
        self.assertEqual(planes, {"x;'=cmd|' /C calc'!A0", "y;' +1+1", "z;'\"=1", "a;'@b", "c;'-5", "\ufffddrow\ufffd", "d;'\uff1d1",
                                  "e;f", "'\u00a0=1", "'\u3000 +1", "f;'\u2003@c"})
        for form in ("json", "yaml"):  # nothing is lost there, and no reader is steered
            text = run("influence", "--format", form, "-", text=case)
            self.assertFalse(turned & set(text))
        self.assertIn(ids[5], {c["plane"] for c in json.loads(run("influence", "--format", "json", "-", text=case))["coefficients"]})

    def test_several_cases_and_wrong_ones(self):
        lines = table(run("solve", "--format", "csv", DEMO, FIT))
        self.assertEqual(len({line["case"] for line in lines}), 2)
        lines = table(run("solve", "--format", "csv", DEMO, "cases/invalid/nan.yaml", status=(2,)))
        self.assertEqual([line["line"] for line in lines if line["table"] == "error"][0].isdigit(), True)

    def test_verified_cases_and_rows(self):
        lines = table(run("verify", "--format", "csv", "cases/published/grade-g04.yaml", "cases/published/grade-g40.yaml"))
        self.assertEqual({line["case"] for line in lines}, {"cases/published/grade-g04.yaml", "cases/published/grade-g40.yaml"})
        self.assertTrue(all(line["pass"] == "true" for line in lines))
        lines = table(run("solve", "--table", "--format", "csv", DEMO, FIT))
        self.assertEqual([line["file"] for line in lines], [DEMO, FIT])


class Pictures(unittest.TestCase):
    def draw(self, command, case, text=None):
        with tempfile.TemporaryDirectory() as folder:
            path = os.path.join(folder, "picture.svg")
            run(command, "--plot", path, case, text=text)
            return xml.parse(path).getroot()

    def well_made(self, root):
        self.assertEqual(root.tag, SVG + "svg")
        title, words = root.find(SVG + "title"), root.find(SVG + "desc")
        self.assertTrue(title.text and words.text)
        self.assertEqual(root.get("aria-labelledby"), "%s %s" % (title.get("id"), words.get("id")))
        x, y, width, height = map(float, root.get("viewBox").split())
        self.assertTrue(width > 100 and height > 100 and (x, y) == (0, 0))
        for element in root.iter():
            self.assertNotIn(element.tag, (SVG + "script", SVG + "image", SVG + "foreignObject", SVG + "a"))
            self.assertFalse([a for a in element.attrib if a.startswith("on") or "href" in a])

    def test_every_command_draws(self):
        for command, case in CASES.items():
            root = self.draw(command, case)
            self.well_made(root)
            self.assertTrue(len(list(root.iter(SVG + "text"))) > 5, command)

    def test_hostile_text_stays_text(self):
        for command in ("solve", "influence", "check", "planes"):
            root = self.draw(command, "-", hostile())
            self.well_made(root)
        self.assertTrue(any("<b>&amp;" in "".join(t.itertext()) for t in self.draw("solve", "-", hostile()).iter(SVG + "text")))

    def test_wrong_command_lines(self):
        with tempfile.TemporaryDirectory() as folder:
            path = os.path.join(folder, "picture.svg")
            run("solve", "--plot", path, DEMO, FIT, status=(2,))
            run("verify", "--plot", path, DEMO, status=(2,))
            run("solve", "--plot", "-", DEMO, status=(2,))
            run("solve", "--plot", os.path.join(folder, "no", "folder.svg"), DEMO, status=(3,))
            self.assertEqual(os.listdir(folder), [])


class Report(unittest.TestCase):
    def test_needs_the_direction_of_rotation(self):
        case = hostile().replace('"rotation": "clockwise", ', "")
        done = subprocess.run([PROGRAM, "report", "-"], input=case.encode(), capture_output=True, check=False)
        self.assertEqual((done.returncode, done.stdout), (2, b""))
        self.assertTrue(done.stderr.decode().startswith("-:1:1: "))
        self.assertIn("rotation", done.stderr.decode())

    def test_the_same_every_time_and_whole_or_not_at_all(self):
        first, second = run("report", DEMO), run("report", DEMO)
        self.assertEqual(first, second)
        self.assertTrue(first.startswith("<!DOCTYPE html>") and first.endswith("</html>\n"))
        with tempfile.TemporaryDirectory() as folder:
            path = os.path.join(folder, "report.html")
            run("report", "cases/invalid/nan.yaml", "--output", path, status=(2,))
            self.assertEqual(os.listdir(folder), [])

    def test_a_run_that_missed_its_prediction(self):
        with open(os.path.join(ROOT, DEMO), encoding="utf-8") as file:
            case = file.read()
        wrong = case.replace("mass: 150, angle: 195}]", "mass: 150, angle: 15}]")
        self.assertNotEqual(case, wrong)
        page = run("report", "-", text=wrong)
        self.assertTrue("Runs that missed their prediction, and what may be behind it" in page)
        self.assertFalse("Runs that missed" in run("report", DEMO))

    def test_residual_unbalance(self):
        result = json.loads(run("tolerance", "--format", "json", FAN))
        page = run("report", FAN)
        self.assertTrue("Residual unbalance at the bearings" in page)
        self.assertTrue("%.0f" % result["permissible"]["bearings"][0]["value"] in page)
        self.assertFalse("Residual unbalance at the bearings" in run("report", DEMO))

    def test_without_an_answer(self):
        page = run("report", FAN)
        self.assertTrue("Summary" in page)
        case = json.loads(hostile())
        case["sensors"][0]["limit"] = 1e-3
        case["objective"] = {"minimise": "least-mass"}
        for p in case["planes"]:
            p["cap"] = 1
        page = run("report", "-", text=json.dumps(case), status=(1,))
        self.assertTrue("No masses on these planes" in page)
        del case["runs"]
        del case["objective"]
        self.assertTrue("no readings yet" in run("report", "-", text=json.dumps(case)))


if __name__ == "__main__":
    if len(sys.argv) > 1:
        PROGRAM = os.path.abspath(sys.argv.pop(1))
    unittest.main()

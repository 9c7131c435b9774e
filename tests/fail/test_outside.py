#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""What the program reaches for: watched from outside, by the system calls it makes.

usage: test_outside.py PROGRAM

No other program is started, no network is used, and no file outside the case's folder is opened unless the command line
names it. Cases that try to lead out (absolute names, .., links) are refused, and what they point to is never opened.
"""
import os
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

from ground import ROOT, commands, covering_cases, takes_cases

PROGRAM = os.path.abspath(sys.argv.pop(1)) if len(sys.argv) > 1 else os.path.join(ROOT, "build", "countermass")
SYSTEM = ("/lib/", "/lib64/", "/usr/lib/", "/etc/ld.so", "/proc/", "/sys/", "/dev/null", "/usr/share/locale/", "/etc/localtime",
          "/usr/share/zoneinfo/")
FORBIDDEN = re.compile(r"^(?:\d+ +)?(?:\[pid +\d+\] )?(socket|connect|bind|vfork|fork|ptrace|mount|setuid|chroot)\(", re.M)
OPENED = re.compile(r'(?:open|openat|openat2|creat)\((?:AT_FDCWD, )?"([^"]*)", ([^)]*)\) = (\d+)')

CASE = """case: {format: 1}
conventions: {phase: lag, mass_angle: with-rotation}
speeds: [{id: s, speed: 1500}]
sensors: [{id: A, repeatability: 1}]
planes: [{id: P1, radius: 200}]
runs:
  - {id: a, readings: %(readings)s}
  - {id: b, masses: [{plane: P1, mass: 10, angle: 270}], readings: {s: {A: 6 @ 125}}}
%(more)s
"""
PLAIN = "{s: {A: 8.5 @ 60}}"
TABLE = "run,speed,sensor,amplitude,phase\na,s,A,8.5,60\n"
SWEEP = "speed,sensor,amplitude,phase\n1000,A,8.5,60\n1100,A,8.6,61\n1200,A,8.8,63\n"


def watch(*words, folder=ROOT):
    """The command's result and what strace saw."""
    with tempfile.NamedTemporaryFile("r", suffix=".trace") as trace:
        result = subprocess.run(["strace", "-f", "-qq", "-s", "4096", "-o", trace.name, "-e",
                                 "trace=open,openat,openat2,creat,execve,execveat,socket,connect,bind,fork,vfork,ptrace,mount,setuid,chroot",
                                 PROGRAM, *words], cwd=folder, capture_output=True, text=True, timeout=20)
        return result, trace.read()


class Outside(unittest.TestCase):
    def setUp(self):
        self.outer = tempfile.mkdtemp()
        self.addCleanup(shutil.rmtree, self.outer)
        self.folder = os.path.join(self.outer, "job")
        os.mkdir(self.folder)

    def put(self, name, text):
        path = os.path.join(self.outer, name)
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        return path

    def test_no_other_program_no_network_no_other_file(self):
        target = os.path.join(self.outer, "result")
        cases = covering_cases()[-4:]
        for command in commands([PROGRAM]):
            for case in cases if takes_cases([PROGRAM], command) else [None]:
                words = [command, *([case] if case else [])]
                _, trace = watch(*words)
                self.assertEqual(len(re.findall(r"execve(?:at)?\(", trace)), 1, words)
                self.assertIsNone(FORBIDDEN.search(trace), words)
                opened = [name for name, _, _ in OPENED.findall(trace) if not name.startswith(SYSTEM)]
                home = os.path.dirname(case) if case else "nowhere"
                self.assertEqual([name for name in opened if os.path.dirname(name) != home], [], words)
                self.assertFalse(os.path.exists(target))

    def outside(self, text, *words):
        """Runs `check` on a case and returns exit status, messages, and the opened files outside its folder."""
        self.put("job/case.yaml", text)
        result, trace = watch("check", *words, "job/case.yaml", folder=self.outer)
        names = [os.path.realpath(os.path.join(self.outer, name)) for name, _, _ in OPENED.findall(trace)
                 if not name.startswith(SYSTEM)]
        return result, [name for name in names if not name.startswith(os.path.realpath(self.folder) + "/")]

    def lead_out(self):
        """Names in the case that lead to secret.txt beside the folder."""
        secret = self.put("secret.txt", TABLE)
        os.symlink(secret, os.path.join(self.folder, "link.csv"))
        os.symlink(self.outer, os.path.join(self.folder, "up"))
        os.symlink("link.csv", os.path.join(self.folder, "link-to-link.csv"))
        return [secret, "../secret.txt", "x/../../secret.txt", "./../secret.txt", "link.csv", "up/secret.txt", "link-to-link.csv",
                "/etc/passwd", "../../../../../../../../etc/passwd"]

    def test_names_that_lead_out(self):
        for name in self.lead_out():
            for text in (CASE % {"readings": "{csv: %s}" % name, "more": ""},
                         CASE % {"readings": PLAIN, "more": "influence: [{record: %s}]" % name},
                         CASE % {"readings": PLAIN, "more": "sweep: [{run: a, csv: %s}]" % name}):
                with self.subTest(name=name, text=text.split("\n")[-3:]):
                    result, opened = self.outside(text)
                    self.assertEqual(opened, [])
                    self.assertEqual(result.returncode, 2, result.stderr)
                    self.assertNotIn("root:", result.stderr + result.stdout)

    def test_a_table_in_the_folder_is_read(self):
        self.put("job/table.csv", TABLE)
        result, opened = self.outside(CASE % {"readings": "{csv: table.csv}", "more": ""})
        self.assertEqual((result.returncode, opened), (0, []), result.stderr)

    def test_a_record_that_the_command_line_names(self):
        self.put("job/first.yaml", CASE % {"readings": PLAIN, "more": ""})
        record = os.path.join(self.outer, "record.yaml")
        subprocess.run([PROGRAM, "influence", "--record", record, "job/first.yaml"], cwd=self.outer, check=True,
                       capture_output=True)
        text = CASE % {"readings": PLAIN, "more": "influence: [{record: record.yaml, uncertainty: {size: 5 %}}]"}
        refused, opened = self.outside(text)
        self.assertEqual((refused.returncode, opened), (2, []))
        result, opened = self.outside(text, "--record-from", "record.yaml")
        self.assertEqual((result.returncode, opened), (0, [os.path.realpath(record)]), result.stderr)

    def test_a_table_called_dash_is_not_standard_input(self):
        self.put("job/case.yaml", CASE % {"readings": "{csv: -}", "more": ""})
        result = subprocess.run([PROGRAM, "check", "case.yaml"], cwd=self.folder, input=TABLE, capture_output=True, text=True,
                                timeout=20)
        self.assertEqual(result.returncode, 2, result.stderr)

    def test_names_of_devices_and_pipes_in_the_folder(self):
        os.mkfifo(os.path.join(self.folder, "pipe.csv"))
        for text in (CASE % {"readings": PLAIN, "more": "influence: [{record: pipe.csv}]"},
                     CASE % {"readings": "{csv: pipe.csv}", "more": ""},
                     CASE % {"readings": PLAIN, "more": "sweep: [{run: a, csv: pipe.csv}]"}):
            result, _ = self.outside(text)
            self.assertEqual(result.returncode, 2, result.stderr)


unittest.main()

#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Places that refuse: a full disk, a file that may not grow, a folder that may not be written, closed and broken pipes,
and signals while a file is written. The old file stays whole, and what failed is said.

usage: test_places.py PROGRAM
As root a small file system is mounted for the full disk; else the limit on the size of files stands for it.
"""
import os
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import unittest

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = sys.argv.pop(1) if len(sys.argv) > 1 else os.path.join(ROOT, "build", "countermass")
CASE = os.path.join(ROOT, "cases", "demo", "turbine-generator.yaml")
OLD = "record: what was there before\n"  # a record takes the place of records only
NOBODY = 65534
SIGNALS = [signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGUSR1, signal.SIGUSR2, signal.SIGALRM, signal.SIGXCPU, signal.SIGPROF]


def run(*arguments, **options):
    return subprocess.run([PROGRAM, *arguments], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                          timeout=60, **options)


class Places(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.mkdtemp()
        self.addCleanup(shutil.rmtree, self.folder)
        self.target = os.path.join(self.folder, "result")

    def put_old(self, folder=None):
        self.target = os.path.join(folder or self.folder, "result")
        with open(self.target, "w", encoding="ascii") as file:
            file.write(OLD)

    def assert_refused(self, result, folder=None):
        """Exit 3, a message that names the file, the old content, nothing else in the folder."""
        self.assertEqual(result.returncode, 3, result.stderr)
        self.assertIn(self.target + ": cannot be written", result.stderr)
        with open(self.target, encoding="ascii") as file:
            self.assertEqual(file.read(), OLD)
        self.assertEqual(os.listdir(folder or self.folder), ["result"])

    def refused_everywhere(self, folder=None, **options):
        for arguments in (["solve", "--output"], ["influence", "--record"], ["solve", "--format", "json", "--output"]):
            self.assert_refused(run(arguments[0], *arguments[1:], self.target, CASE, **options), folder)

    def test_no_room_on_the_disk(self):
        if os.geteuid() != 0:
            return self.test_file_that_may_not_grow()
        small = os.path.join(self.folder, "small")
        os.mkdir(small)
        subprocess.run(["mount", "-t", "tmpfs", "-o", "size=12k", "tmpfs", small], check=True)
        try:
            self.put_old(small)
            self.refused_everywhere(small)
        finally:
            subprocess.run(["umount", small], check=True)
        return None

    def test_file_that_may_not_grow(self):
        self.put_old()
        self.refused_everywhere(preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096)))

    def test_little_memory(self):
        """Room for the program but not for the linear algebra, or not for so many threads: said, not waited for."""
        for megabytes, words in ((60, []), (100, []), (140, []), (700, ["--jobs", "8"])):
            size = megabytes << 20
            result = run("solve", *words, *[CASE] * 8,
                         preexec_fn=lambda most=size: resource.setrlimit(resource.RLIMIT_AS, (most, most)))
            self.assertEqual(result.returncode, 3, (megabytes, result.stderr))
            self.assertIn("out of memory", result.stderr)

    def test_interrupted_search_keeps_its_answer(self):
        """An interrupt of `place` ends the search, not what is made of it."""
        case = os.path.join(ROOT, "cases", "demo", "fit-list.yaml")
        whole = run("place", case)
        for hundredths in range(2, 40, 6):
            with subprocess.Popen([PROGRAM, "place", "--time", "30", case], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                                  text=True) as running:
                time.sleep(hundredths / 100)
                running.send_signal(signal.SIGINT)
                page, messages = running.communicate(timeout=60)
            if running.returncode != -signal.SIGINT:  # before the program had begun
                self.assertIn(running.returncode, (0, 1), messages)
                self.assertIn(whole.stdout.splitlines()[0], page)

    def test_standard_output_that_may_not_grow(self):
        with open(self.target, "w", encoding="ascii") as out:
            result = subprocess.run([PROGRAM, "solve", CASE], stdout=out, stderr=subprocess.PIPE, text=True, timeout=60,
                                    preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096)))
        self.assertEqual(result.returncode, 3)
        self.assertIn("standard output", result.stderr)

    def test_folder_that_may_not_be_written(self):
        os.chmod(self.folder, 0o755)
        self.put_old()
        program = os.path.join(tempfile.mkdtemp(), "program")
        self.addCleanup(shutil.rmtree, os.path.dirname(program))
        shutil.copy(PROGRAM, program)
        os.chmod(os.path.dirname(program), 0o755)
        case = os.path.join(os.path.dirname(program), "case.yaml")
        shutil.copy(CASE, case)
        os.chmod(case, 0o644)
        os.chmod(self.folder, 0o555)
        become = {"user": NOBODY, "group": NOBODY, "extra_groups": []} if os.geteuid() == 0 else {}
        for option in (["solve", "--output"], ["influence", "--record"]):
            self.assert_refused(subprocess.run([program, option[0], option[1], self.target, case], text=True, cwd="/",
                                               stdout=subprocess.PIPE, stderr=subprocess.PIPE, timeout=60, **become))
        os.chmod(self.folder, 0o755)

    def test_folder_that_is_not_there(self):
        missing = os.path.join(self.folder, "no", "result")
        result = run("solve", "--output", missing, CASE)
        self.assertEqual(result.returncode, 3)
        self.assertIn(missing + ": cannot be written: No such file", result.stderr)

    def test_full_device(self):
        for option in ("solve --output /dev/full", "influence --record /dev/full"):
            result = run(*option.split(), CASE)
            self.assertEqual(result.returncode, 3)
            self.assertIn("/dev/full: cannot be written: No space", result.stderr)
        with open("/dev/full", "w", encoding="ascii") as full:
            result = subprocess.run([PROGRAM, "check", CASE], stdout=full, stderr=subprocess.PIPE, text=True, timeout=60)
        self.assertEqual(result.returncode, 3)
        self.assertIn("standard output: No space", result.stderr)

    def test_reader_that_leaves(self):
        reading, writing = os.pipe()
        os.close(reading)
        result = subprocess.run([PROGRAM, "solve", CASE], stdout=writing, stderr=subprocess.PIPE, text=True, timeout=60)
        os.close(writing)
        self.assertEqual(result.returncode, 3)
        self.assertIn("standard output: Broken pipe", result.stderr)

    def test_closed_streams(self):
        closed = subprocess.run(["sh", "-c", '"$1" solve "$2" >&-', "sh", PROGRAM, CASE], stderr=subprocess.PIPE, text=True,
                                timeout=60)
        self.assertEqual(closed.returncode, 3)
        self.assertIn("standard output", closed.stderr)
        closed = subprocess.run(["sh", "-c", '"$1" solve - <&-', "sh", PROGRAM], stderr=subprocess.PIPE, text=True, timeout=60)
        self.assertEqual(closed.returncode, 3)
        self.assertIn("-: cannot be read", closed.stderr)

    def test_closed_streams_never_end_up_in_the_file(self):
        self.put_old()
        subprocess.run(["sh", "-c", '"$1" solve --output "$3" "$2" <&- >&- 2>&-', "sh", PROGRAM, CASE, self.target], timeout=60)
        expected = run("solve", CASE).stdout
        with open(self.target, encoding="utf-8") as file:
            self.assertIn(file.read(), (OLD, expected))

    def test_signals_at_any_time(self):
        expected = run("solve", "--format", "json", CASE).stdout
        start = time.monotonic()
        run("solve", "--format", "json", "--output", self.target, CASE)
        took = time.monotonic() - start
        for k in range(24):
            self.put_old()
            process = subprocess.Popen([PROGRAM, "solve", "--format", "json", "--output", self.target, CASE],
                                       stderr=subprocess.DEVNULL)
            time.sleep(took * (k + 0.5) / 24)
            process.send_signal(SIGNALS[k % len(SIGNALS)])
            self.assertIn(process.wait(60), (0, -SIGNALS[k % len(SIGNALS)]))
            with open(self.target, encoding="utf-8") as file:
                self.assertIn(file.read(), (OLD, expected))
            self.assertEqual(os.listdir(self.folder), ["result"])


unittest.main()

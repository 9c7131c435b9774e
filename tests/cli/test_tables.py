#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Help, man page and completions against each other: usage test_tables.py PROGRAM

They are made from one table, so what is tried is that nothing gets lost on the way: every command that `--help` lists
has a help with one example that runs, a section in the man page with the same options, and is completed by bash.
"""
import pathlib
import re
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
PROGRAM = str(pathlib.Path(sys.argv[1]).resolve())
faults = []


def check(good, what):
    if not good:
        faults.append(what)


def output(*arguments):
    done = subprocess.run([PROGRAM, *arguments], capture_output=True, text=True)
    check(done.returncode == 0 and not done.stderr, f"{arguments}: exit {done.returncode} {done.stderr}")
    return done.stdout


def complete(script, *words):
    """What bash would offer after these words."""
    line = " ".join(f"'{w}'" for w in words)
    code = (f"{script}\ncompopt() {{ :; }}\nCOMP_WORDS=({line}); COMP_CWORD={len(words) - 1}\n"
            f"_countermass countermass '{words[-1]}' '{words[-2]}'\nprintf '%s\\n' \"${{COMPREPLY[@]}}\"")
    return subprocess.run(["bash", "-c", code], capture_output=True, text=True, check=True).stdout.split()


def run_example(line, folder, here):
    """The example as it stands, run in the folder `here`, with the program first in PATH."""
    environment = {"PATH": f"{folder / 'bin'}:/usr/bin:/bin", "LC_ALL": "C.UTF-8", "OPENBLAS_NUM_THREADS": "1"}
    done = subprocess.run(["bash", "-c", line], cwd=here, env=environment, capture_output=True, text=True, timeout=60)
    check(done.returncode <= 1, f"example `{line}`: exit {done.returncode} {done.stderr[-300:]}")


def main():
    overview = output("--help")
    commands = re.findall(r"^  ([a-z]+) +\S", overview.split("countermass COMMAND --help")[0], re.M)
    check(len(commands) >= 11, f"too few commands: {commands}")
    manual = output("manual").replace("\\-", "-").replace("\\&", "")
    sections = dict(re.findall(r"^\.SS (\S+)\n(.*?)(?=^\.S[SH] )", manual, re.M | re.S))
    check(list(sections) == commands, "commands of the man page")
    script = output("completion", "--shell", "bash")
    check(set(complete(script, "countermass", "")) >= set(commands), "bash completes commands")
    zsh = output("completion", "--shell", "zsh")
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        empty = folder / "empty"  # `new` replaces no case
        empty.mkdir()
        (folder / "bin").mkdir()
        (folder / "bin" / "countermass").symlink_to(PROGRAM)
        (folder / "cases").symlink_to(ROOT / "cases")
        case = (ROOT / "cases/demo/turbine-generator.yaml").read_text()
        case = case.replace("rotor: {", "rotor: {mass: 60000 kg, grade: G2.5, ")  # so that it serves every command
        (folder / "case.yaml").write_text(case)
        for command in commands:
            text = output(command, "--help")
            options = re.findall(r"^  (--[a-z-]+)", text, re.M)
            check("--help" in options, f"{command} --help names --help")
            check(options == re.findall(r"^\.B (--\S+)", sections[command], re.M), f"options of {command} in the man page")
            check(sorted(complete(script, "countermass", command, "--")) == sorted(options), f"bash completes {command}")
            check(f"        {command}) _arguments" in zsh, f"zsh completes {command}")
            examples = text.split("\nExample:\n")[1].split("\n\n")[0].strip().splitlines()
            check(len(examples) == 1, f"{command} --help has one example")
            check(all(len(line) <= 80 for line in text.splitlines()), f"{command} --help fits 80 columns")
            run_example(examples[0], folder, empty if command == "new" else folder)
    check(complete(script, "countermass", "solve", "--format", "j") == ["json"], "bash completes values")
    check(complete(script, "countermass", "solve", "--format", "=", "j") == ["json"], "bash completes values after =")
    check(complete(script, "countermass", "solve", "--format=j") == ["--format=json"], "bash completes --format=j as one word")
    check("'*--format=[" in zsh and "'*--help[" in zsh, "zsh completes values after =")
    check(all(len(line) <= 80 for line in overview.splitlines()), "--help fits 80 columns")
    print("\n".join(faults) if faults else f"help, man page and completions of {len(commands)} commands agree")
    return 1 if faults else 0


sys.exit(main())

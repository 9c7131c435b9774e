#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Which room may include which: reads the #include lines of engine/ and cli/ and fails on a wrong one.

It also keeps the things that belong in one file there: the allocator, LAPACK, libyaml, files and locale; and one that
clang does not have out of all.
"""
import pathlib
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
ROOMS = {
    "base": [],
    "tree": ["base"],
    "linalg": ["base"],
    "model": ["base"],
    "case": ["tree", "model", "standards"],
    "fit": ["linalg", "model"],
    "optimise": ["linalg", "model"],
    "spread": ["fit", "optimise"],
    "planes": ["fit", "optimise"],
    "place": ["optimise", "standards"],
    "shaft": ["linalg", "model"],
    "standards": ["model"],
    "evidence": ["fit", "standards"],
    "starts": ["fit", "optimise", "shaft", "standards"],
    "page": ["tree", "model", "standards"],
}
ONLY_IN = [
    (r"\b(malloc|calloc|realloc|free)\(", ["engine/base/session.c"]),
    (r"\b(LAPACKE_|cblas_)", ["engine/linalg/dense.c", "engine/linalg/householder.c", "engine/linalg/real.c"]),
    (r"\byaml_(parser|event|document|emitter|node)", ["engine/tree/yaml_read.c"]),
    (r"\b(fopen|open|rename|unlink|fsync)\(", ["engine/base/file.c"]),
    (r"\b(newlocale|uselocale|setlocale)\(", ["engine/base/number.c"]),
    (r"\bCMPLX\(", ["no file, for clang 14 has none: write x + y * _Complex_I"]),
]


def reachable(room):
    """A room sees what its line names and what those see."""
    seen = {room}
    todo = [room]
    while todo:
        for other in ROOMS[todo.pop()]:
            if other not in seen:
                seen.add(other)
                todo.append(other)
    return seen


def wrong_includes(path, allowed):
    for number, line in enumerate(path.read_text().splitlines(), 1):
        match = re.match(r'\s*#\s*include\s+"([^"]+)"', line)
        if match:
            target = match.group(1)
            top = target.split("/")[0]
            if top != "countermass" and target != "countermass.h" and top not in allowed:
                yield f"{path.relative_to(ROOT)}:{number}: must not include {target}"


def strays(path):
    name = str(path.relative_to(ROOT))
    text = re.sub(r"/\*.*?\*/", "", path.read_text(), flags=re.S)
    for pattern, homes in ONLY_IN:
        if name not in homes and re.search(pattern, text):
            yield f"{name}: uses {pattern}, which belongs in {homes[0]}"


def main():
    faults = []
    files = 0
    for path in sorted((ROOT / "engine").rglob("*.[ch]")):
        room = path.relative_to(ROOT / "engine").parts[0]
        files += 1
        if room not in ROOMS:
            faults.append(f"{path.relative_to(ROOT)}: no such room in the plan")
            continue
        faults += wrong_includes(path, reachable(room))
        faults += strays(path)
    for path in sorted((ROOT / "cli").glob("*.[ch]")):
        files += 1
        own = {p.name for p in (ROOT / "cli").glob("*.h")}
        faults += [f for f in wrong_includes(path, own)]
    print("\n".join(faults) if faults else f"includes of {files} files follow the plan")
    return 1 if faults or files == 0 else 0


if __name__ == "__main__":
    sys.exit(main())

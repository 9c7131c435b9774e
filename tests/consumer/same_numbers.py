# SPDX-License-Identifier: MIT
"""Fails unless two files of JSON documents, one after the other, say the same, numbers to 1e-9 of the larger (static
and shared OpenBLAS may choose other kernels): same_numbers.py FILE FILE"""
import json
import sys


def documents(name):
    text, decoder, at, found = open(name).read().strip(), json.JSONDecoder(), 0, []
    while at < len(text):
        one, at = decoder.raw_decode(text, at)
        found.append(one)
        while at < len(text) and text[at].isspace():
            at += 1
    return found


def differs(a, b, where):
    if isinstance(a, float) and isinstance(b, (int, float)) or isinstance(b, float) and isinstance(a, int):
        return [where] if abs(a - b) > 1e-9 * max(abs(a), abs(b), 1e-3) else []
    if type(a) is not type(b):
        return [where]
    if isinstance(a, dict):
        if list(a) != list(b):
            return [where]
        return [w for k in a for w in differs(a[k], b[k], f"{where}.{k}")]
    if isinstance(a, list):
        if len(a) != len(b):
            return [where]
        return [w for i, (x, y) in enumerate(zip(a, b)) for w in differs(x, y, f"{where}[{i}]")]
    return [] if a == b else [where]


one, other = (documents(name) for name in sys.argv[1:3])
faults = differs(one, other, "")
if faults or not one:
    sys.exit(f"{len(faults)} differences: {faults[:5]}")

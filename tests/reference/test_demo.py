# SPDX-License-Identifier: MIT
"""The committed demonstration cases are what make_demo.py writes, byte for byte."""
import pathlib
import sys
import make_demo

folder = pathlib.Path(__file__).parents[2] / "cases" / "demo"
stale = [name for name, make in make_demo.CASES.items()
         if (folder / name).read_text() != make_demo.text_of(make)]
print(f"demonstration cases: {len(make_demo.CASES)} made again, {len(stale)} differ {' '.join(stale)}")
sys.exit(1 if stale else 0)

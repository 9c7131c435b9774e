# SPDX-License-Identifier: MIT
"""How a test says that a check against the outside held.

The line goes to standard output; tests/validation.py gathers the lines of a
whole test run into docs/validation.md.  Say only what was asserted just before.
"""


def outside(what, source, mark, result):
    """what: the quantity of ours; source: who says so; mark: how we know the source
    (READ, value from memory, computed from its inputs, constructed, reference library,
    common practice); result: what was asserted, with its tolerance.  Same text every run."""
    cells = [" ".join(str(cell).split()).replace("|", "/") for cell in (what, source, mark, result)]
    print("outside | " + " | ".join(cells))

# SPDX-License-Identifier: MIT
"""The whole study behind the figures of docs/theory/evidence.md: 780 mistakes, 390 right runs.

    /usr/bin/python3 tests/reference/study_mistakes.py PROGRAM
"""
import sys
import test_mistakes

if __name__ == "__main__":
    sys.argv[2:] = ["780"]
    sys.exit(test_mistakes.main())

# SPDX-License-Identifier: MIT
"""The whole go/no-go study: 780 mistakes, 390 right runs.

    /usr/bin/python3 tests/reference/study_so_far.py PROGRAM
"""
import sys
import test_so_far

if __name__ == "__main__":
    sys.argv[2:] = ["780"]
    sys.exit(test_so_far.main())

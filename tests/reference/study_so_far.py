# SPDX-License-Identifier: MIT
"""The whole go/no-go study: 650 mistakes, 325 right runs.

    /usr/bin/python3 tests/reference/study_so_far.py PROGRAM
"""
import sys
import test_so_far

if __name__ == "__main__":
    sys.argv[2:] = ["650"]
    sys.exit(test_so_far.main())

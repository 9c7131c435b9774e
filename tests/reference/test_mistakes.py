# SPDX-License-Identifier: MIT
"""What was really mounted: simulated mistakes against what `check` says of them.

    /usr/bin/python3 tests/reference/test_mistakes.py PROGRAM [JOBS]

A mistake is distinguishable when, in exact readings, its kind is more than 20
times as likely as any other explanation.  Asked of these: the true kind ranks
first in at least 95 %.  Asked of right runs: at most 2 % are accused.
"""
import collections
import sys
from mistakes_made import KINDS, Job, Responses, check_all, mounted


def kinds_of(explanation):
    return {explanation["kind"], *([explanation["and"]["kind"]] if "and" in explanation else [])}


def ratio_of(explanations, kind):
    """Likelihood of the true kind over that of the best other one."""
    own = max([e["likelihood"] for e in explanations if e["kind"] == kind and "and" not in e], default=0)
    other = max([e["likelihood"] for e in explanations if not (e["kind"] == kind and "and" not in e)], default=0)
    return own / other if other > 0 else float("inf") if own > 0 else 0.0


def study(program, jobs, right):
    responses = Responses()
    made = [KINDS[i % len(KINDS)] for i in range(jobs)]
    exact = check_all(program, [Job(responses, i, k, 0).text() for i, k in enumerate(made)])
    noisy = check_all(program, [Job(responses, i, k).text() for i, k in enumerate(made)])
    fine = check_all(program, [Job(responses, 50000 + i, None).text() for i in range(right)])
    table = collections.defaultdict(lambda: [0, 0, 0, []])
    for i, kind in enumerate(made):
        clear, found = mounted(exact[i]), mounted(noisy[i])
        row = table[kind]
        row[0] += 1
        if clear is None or ratio_of(clear, kind) <= 20:
            continue
        row[1] += 1
        good = found is not None and found[0]["kind"] == kind and "and" not in found[0]
        row[2] += good
        if not good:
            row[3].append((i, [(e["kind"], e.get("and", {}).get("kind"), round(e["likelihood"], 3))
                               for e in found[:2]] if found else None))
    return table, sum(mounted(r) is not None for r in fine)


def main():
    program = sys.argv[1]
    jobs = int(sys.argv[2]) if len(sys.argv) > 2 else 104
    right = max(100, jobs // 2)
    table, accused = study(program, jobs, right)
    for kind, (made, clear, found, wrong) in table.items():
        print(f"  {kind:24s} made {made:4d}, distinguishable {clear:4d}, ranked first {found:4d}  {wrong[:3]}")
    clear, found = (sum(r[i] for r in table.values()) for i in (1, 2))
    share, false = found / max(1, clear), accused / right
    print(f"mistakes: {jobs} made, {clear} distinguishable, {100 * share:.1f} % of them ranked first; "
          f"{accused} of {right} right runs accused ({100 * false:.1f} %)")
    good = clear > jobs / 2 and share >= 0.95 and false <= 0.02
    print("outside | what was really mounted, from a run that misses its prediction | simulated jobs on the reference "
          "shaft model, mistakes made by other code | constructed | true kind first in at least 95 % of distinguishable "
          "mistakes; at most 2 % of right runs accused")
    print(f"{int(good)} passed, {int(not good)} failed")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())

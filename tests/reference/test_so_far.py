# SPDX-License-Identifier: MIT
"""Go or no-go: mistakes found on the way up, by `check --so-far`.

    /usr/bin/python3 tests/reference/test_so_far.py PROGRAM [JOBS]

Jobs as in test_mistakes.py; the correction run has been read at a third of
service speed, then at half of it.  A mistake is distinguishable when exact
readings up to half speed make its kind more than 20 times as likely as any
other explanation.  Asked: at least 80 % of these stop the run by half speed,
and less than 2 % of right runs are stopped at either speed.
"""
import sys
from mistakes_made import KINDS, SPEEDS, Job, Responses, check_all, mounted
from test_mistakes import ratio_of

STEPS = (SPEEDS["third"], SPEEDS["half"])


def stopped(program, jobs):
    """Which jobs are stopped at one of the steps."""
    stop = [False] * len(jobs)
    for rpm in STEPS:
        results = check_all(program, [j.text(upto=rpm) for j in jobs], "--so-far")
        stop = [a or r["so_far"]["verdict"] == "stop" for a, r in zip(stop, results)]
    return stop


def wrong_card(result):
    """What is wrong with a card: rows by speed, every one with numbers that make sense."""
    speeds = [SPEEDS[r["speed"]] for r in result["card"]]
    good = speeds == sorted(speeds) and len(speeds) == 48 and all(
        r["abort"] > r["predicted"]["amplitude"] and r["spread90"] > 0 and r["abort_from"] in ("spread", "alarm", "trip")
        for r in result["card"])
    read = sum("measured" in r for r in result["card"])
    return [] if good and read == 24 else [f"card: {len(speeds)} rows, {read} read"]


def main():
    program = sys.argv[1]
    jobs = int(sys.argv[2]) if len(sys.argv) > 2 else 78
    responses = Responses()
    made = [KINDS[i % len(KINDS)] for i in range(jobs)]
    quiet = [Job(responses, i, k, 0) for i, k in enumerate(made)]
    exact = check_all(program, [j.text(upto=STEPS[-1]) for j in quiet], "--so-far")
    found = stopped(program, [Job(responses, i, k) for i, k in enumerate(made)])
    clear = [mounted(r) is not None and ratio_of(mounted(r), k) > 20 for r, k in zip(exact, made)]
    far = [j.distance(STEPS[-1]) > 10 for j in quiet]
    right = max(100, jobs // 2)
    false = sum(stopped(program, [Job(responses, 70000 + i, None) for i in range(right)]))
    count, hits = sum(clear), sum(f for f, c in zip(found, clear) if c)
    wrong = wrong_card(exact[0])
    figures = (f"{100 * hits / max(1, count):.1f} % of {count} distinguishable mistakes stopped by half speed; "
               f"{false} of {right} right runs stopped")
    print(f"go or no-go: {jobs} mistakes; {figures}; of {sum(far)} whose exact readings lie more than sqrt(10) standard "
          f"deviations away, whatever the kind, {100 * sum(f for f, c in zip(found, far) if c) / max(1, sum(far)):.1f} %")
    print("outside | go or no-go on the way up | simulated jobs on the reference shaft model, mistakes made by other "
          "code | constructed | at least 80 % of distinguishable mistakes stopped by half speed; less than 2 % of right "
          "runs stopped")
    good = count >= jobs / 20 and hits >= 0.8 * count and false < 0.02 * right and not wrong
    print("\n".join(wrong + [f"{int(good)} passed, {int(not good)} failed"]))
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())

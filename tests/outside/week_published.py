#!/usr/bin/env python3
"""Places published job-shop instances and compares the last finish with the published optimum.

    week_published.py ORACLE

ORACLE is the path of the built `oracle` program. Source: tests/data/scheduling/SOURCE.md. On a machine that does nothing
else, the small ones come to their optimum within a second, the others to within one in a hundred of it in ten. A machine
that builds meanwhile gets further tries, each with three times as long, since what is checked is the answer and not the
clock. Every placement is verified. BAYWRIGHT_TEST_LONG=1 takes all instances.
"""

import json
import os
import pathlib
import sys
import time

from week_check import ask, week_faults

DATA = pathlib.Path(__file__).parent.parent / "data" / "scheduling"
LONG = bool(os.environ.get("BAYWRIGHT_TEST_LONG"))
# Name, published optimum, seconds, the most that the answer may be above it in percent.
INSTANCES = [
    ("ft06", 55, 1, 0),
    ("la01", 666, 1, 0),
    ("la02", 655, 1, 0),
    ("la03", 597, 1, 0),
    ("ft10", 930, 10, 1),
    ("la16", 945, 10, 1),
]
if LONG:
    INSTANCES += [("ft20", 1165, 10, 1), ("abz5", 1234, 10, 1)]
TRIES = 3


def main():
    failed = 0
    for name, optimum, seconds, percent in INSTANCES:
        case = json.loads((DATA / f"{name}.week.json").read_text())
        began = time.monotonic()
        most = (100 + percent) * optimum // 100
        for further in range(TRIES):
            answer = ask(sys.argv[1], [{**case, "budget_ms": 1000 * seconds * 3**further}])[0]
            finish = answer.get("finish", 0)
            if finish <= most:
                break
        taken = time.monotonic() - began
        found = week_faults(case, answer)
        if not optimum <= finish <= most:
            found.append(f"not from the optimum to {percent} % above it")
        if answer.get("bound", 0) > optimum:
            found.append("the bound is above the optimum")
        failed += bool(found)
        print(f"{name}: {finish}, optimum {optimum}, bound {answer.get('bound')}, {taken:.1f} s {found or ''}")
    print(f"{len(INSTANCES) - failed} passed, {failed} failed")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()

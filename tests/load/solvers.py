#!/usr/bin/env python3
"""Time per answer of the rules beside CP-SAT's, on the same instances: tests/load/solvers.py ORACLE [REPORT]

The instances and the models of OR-Tools' CP-SAT are those of tests/outside, where every answer is compared at length. Here
both are asked on one core, in the order rules, CP-SAT, rules. The rules' time is taken by the clock within their process,
from the case once read to the answer not yet written; CP-SAT's is the processor time of its search alone, without
building the model. So what else the machine does can make only the rules look slower. No time is ever a reason to fail:
that both find the same is. With REPORT it takes more instances and writes a table of ratios.
"""
import datetime
import importlib.metadata
import json
import os
import pathlib
import random
import subprocess
import sys
import time

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "outside"))

import availability_cpsat
import report
import running
import sequence_cpsat
import week_cpsat

ORACLE = os.path.abspath(sys.argv[1])
REPORT = sys.argv[2] if len(sys.argv) > 2 else None


class Kind:
    """One kind of question: how many instances, what CP-SAT finds, what an answer says, and in how many of a hundred they
    must be the same at least."""

    def __init__(self, name, cases, optimum, found, same=100):
        self.name, self.cases, self.optimum, self.found, self.same = name, cases, optimum, found, same

    def answers(self, kind):
        """The rules' answers, each with the seconds that it took."""
        lines = "".join(json.dumps(case) + "\n" for case in self.cases)
        run = subprocess.run([ORACLE, "--timed", kind], input=lines, capture_output=True, text=True, check=True)
        answers = [json.loads(line) for line in run.stdout.splitlines()]
        assert len(answers) == len(self.cases), (kind, len(answers), len(self.cases))
        return [self.found(answer) for answer in answers], [answer["nanos"] / 1e9 for answer in answers]

    def measured(self, kind):
        """Prints and gives the line of the table, and whether enough answers are the same."""
        first, before = self.answers(kind)
        solved, taken = [], []
        for case in self.cases:
            solver = availability_cpsat.Solver(1, 60)
            solved.append(self.optimum(case, solver))
            taken.append(solver.worked)
        second, after = self.answers(kind)
        # What the solver did not prove in a minute is no reason to fail.
        proven = [answers for answers in zip(first, second, solved) if answers[2] is not False]
        same = sum(one == other == best for one, other, best in proven)
        fine = 100 * same >= self.same * len(proven)
        print("ok    " if fine else "FAILED", f"{kind}: {same} of {len(proven)} answers are the same", flush=True)
        ours, theirs = [report.Spread(times) for times in (before + after, taken)]
        ratio = [report.ratio(theirs.median, ours.median), report.ratio(theirs.late, ours.late)]
        return (self.name, f"{same} of {len(proven)}", str(ours), str(theirs), " and ".join(ratio)), fine


def kinds(dice):
    """The questions, by the oracle's name for them."""
    many = lambda count, longer: longer if REPORT else count
    availability = [availability_cpsat.random_case(dice, at) for at in range(many(100, 300))]
    sequences = [sequence_cpsat.problem(dice) for _ in range(many(100, 500))]
    weeks = week_cpsat.small_cases(dice, many(10, 50))
    return {
        "availability": Kind(
            "earliest finish of a job of up to 4 steps", availability,
            lambda case, solver: [best] if (best := availability_cpsat.optimum(case, solver)) else [], availability_cpsat.placed_at),
        "sequence": Kind(
            "order of up to 14 steps", sequences, sequence_cpsat.optimum, lambda answer: answer["cost"]),
        # A search for a budget of nodes proves not every week; 98 of 100 is what is asked of it.
        "week": Kind(
            "week of 2 to 4 jobs", weeks,
            lambda case, solver: week_cpsat.Week(case).optimum(solver), week_cpsat.placed_at, 98 if REPORT else 90),
    }


os.sched_setaffinity(0, running.CLIENT)
began = time.monotonic()
results, lines = [], []
for name, kind in kinds(random.Random(2)).items():
    line, fine = kind.measured(name)
    lines.append(line)
    results.append(fine)
versions = " ".join(subprocess.run([ORACLE, "--version"], capture_output=True, text=True, check=True).stdout.split())
text = report.section(
    "The rules beside a solver", ("what", "same answer", "baywright", "CP-SAT", "ratio"), lines,
    ["Median and 95th percentile of the time per answer, and CP-SAT's divided by ours of each.",
     "The instances and the models are those of `tests/outside`, written to be plainly right: a variable for each minute of work "
     "in pieces. CP-SAT's time is the processor time of its search, without building the model.",
     "A week is searched until it is proven or its two million nodes are spent; CP-SAT proves lateness, finish and standing one "
     "after another.",
     f"Measured in one run of {(time.monotonic() - began) / 60:.1f} minutes, in the order rules, CP-SAT, rules; one core of "
     f"{len(running.CORES)} ({running.processor()}), one worker; {versions}, OR-Tools "
     f"{importlib.metadata.version('ortools')}; {datetime.date.today()}."])
print(text)
if REPORT:
    report.write(REPORT, "solvers", text)
print(f"{sum(results)} passed, {len(results) - sum(results)} failed")
sys.exit(not all(results))

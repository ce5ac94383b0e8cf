#!/usr/bin/env python3
"""Compares the first answer for a car that may change bays with the optimum that OR-Tools' CP-SAT proves.

    stays_cpsat.py ORACLE [--cases 100] [--seed 1]

ORACLE is the path of the built `oracle` program. It is run once, with every case on its standard input. Prints the
number of cases that agree and that do not, and ends with 1 if one does not.

Reference: CP-SAT of OR-Tools 9.15.6755. As in availability_cpsat.py every minute of every step is a variable of its
own. Each step chooses its bay; where that is another one than that of the step before, the car moves when the step
begins. The objective is lexicographic: the earliest finish, the latest start, the fewest stays, the smallest bay codes.
Compared are finish, start and the bays of all stays, or that there is no placement at all.

BAYWRIGHT_TEST_LONG=1 takes 300 cases.
"""

import argparse
import json
import os
import random
import subprocess
import sys

from ortools.sat.python import cp_model

from availability_cpsat import Solver, allow_pieces, minutes_of, random_case, waited

NEEDS = [[], [], ["cover"], ["drain"]]
ROOMS = [["cover"], ["drain"], ["cover", "drain"]]


class Model(cp_model.CpModel):
    """A case as variables: what each step does, and where."""

    def __init__(self, case):
        super().__init__()
        self.first, self.until, self.slot = case["from"], case["until"], case["slot_minutes"]
        self.bays = sorted(case["bays"], key=lambda bay: bay["code"].encode())
        self.people, self.plan = case["technicians"], case["plan"]
        within = lambda pairs: minutes_of(pairs, self.first, self.until)
        self.open = [within(bay["open"]) for bay in self.bays]
        self.held = [within(bay["held"]) for bay in self.bays]
        self.free = [within(p["working"]) - within(p["busy"]) for p in self.people]
        self.slots = (self.until - self.first - 1) // self.slot
        self.slot_place = self.new_int_var(0, self.slots, "")
        self.start = self.moment()
        self.add(self.start == self.first + self.slot * self.slot_place)
        self.in_bay, self.moves, self.begins, self.passed = [], [], [], []
        ends = []
        for place in range(len(self.plan["steps"])):
            ends.append(self.step(place, ends))
        self.finish = self.moment()
        self.add_max_equality(self.finish, self.passed)
        self.stand()

    def moment(self):
        return self.new_int_var(self.first, self.until, "")

    def step(self, place, ends):
        """Adds a step, and answers when it ends."""
        step = self.plan["steps"][place]
        in_bay = [self.new_bool_var("") for _ in self.bays]
        self.add_exactly_one(in_bay)
        needs = set(step["features"]) | set(self.plan["features"])
        for bay, chosen in zip(self.bays, in_bay):
            if not needs <= set(bay["features"]):
                self.add(chosen == 0)
        moves = self.new_bool_var("")
        if place == 0:
            self.add(moves == 0)
        else:
            # A step without minutes is in the bay of the step before it.
            for before, now in zip(self.in_bay[-1], in_bay):
                self.add(before == now).only_enforce_if(~moves)
                self.add(before + now <= 1).only_enforce_if(moves)
            if step["minutes"] == 0:
                self.add(moves == 0)
        self.in_bay.append(in_bay)
        self.moves.append(moves)
        bounds = [self.start, *ends[-1:]]
        for earlier, passed in enumerate(self.passed):
            if self.plan["steps"][earlier]["holds"] == "car" or [earlier, place] in self.plan["before"]:
                bounds.append(passed)
        ready, end = self.moment(), self.moment()
        self.add_max_equality(ready, bounds)
        if step["minutes"] == 0:
            self.add(end == ready)
            self.begins.append(ready)
        else:
            self.begins.append(self.work(step, in_bay, moves, ready, end))
        bay_place = self.new_int_var(0, len(self.bays) - 1, "")
        self.add(bay_place == sum(bay * chosen for bay, chosen in enumerate(in_bay)))
        passed = self.moment()
        rows = [
            (bay, at, waited(step, at, self.open[bay], self.until))
            for bay in range(len(self.bays))
            for at in range(self.first, self.until + 1)
        ]
        self.add_allowed_assignments([bay_place, end, passed], [row for row in rows if row[2] is not None])
        self.passed.append(passed)
        return end

    def work(self, step, in_bay, moves, ready, end):
        """Adds the minutes of a step, and answers its first one."""
        able = [place for place, p in enumerate(self.people) if set(step["skills"]) <= set(p["skills"])]
        by = {place: self.new_bool_var("") for place in able}
        # With nobody able there is no placement.
        self.add(sum(by.values()) == 1)
        begin = self.new_int_var(self.first, self.until - 1, "")
        self.add(begin >= ready)
        worked = []
        for minute in range(self.first, self.until):
            works = self.new_bool_var("")
            worked.append(works)
            for place, chosen in by.items():
                if minute not in self.free[place]:
                    self.add_implication(works, ~chosen)
            for chosen, open_minutes in zip(in_bay, self.open):
                if minute not in open_minutes:
                    self.add_implication(works, ~chosen)
            self.add(begin <= minute).only_enforce_if(works)
            self.add(end > minute).only_enforce_if(works)
        self.add_element(begin - self.first, worked, 1)
        # The end is the minute after the last one worked.
        self.add_element(end - self.first, [0, *worked], 1)
        longest = step["minutes"] + self.plan["move_minutes"]
        self.add(sum(worked) == step["minutes"] + self.plan["move_minutes"] * moves)
        allow_pieces(self, worked, {**step, "minutes": longest})
        return begin

    def stand(self):
        """Keeps the car in the bay of each step until the next one begins, and at the end until the finish."""
        for open_minutes, chosen in zip(self.open, self.in_bay[0]):
            opens = cp_model.Domain.from_values(sorted(open_minutes))
            self.add_linear_expression_in_domain(self.start, opens).only_enforce_if(chosen)
        arrivals = [self.start, *self.begins[1:], self.finish]
        for in_bay, comes, leaves in zip(self.in_bay, arrivals, arrivals[1:]):
            for chosen, held in zip(in_bay, self.held):
                for taken in held:
                    before = self.new_bool_var("")
                    self.add(leaves <= taken).only_enforce_if(chosen, before)
                    self.add(comes > taken).only_enforce_if(chosen, ~before)
        for moves, begin in zip(self.moves, self.begins):
            self.add(begin >= self.start + 1).only_enforce_if(moves)
        self.stays = 1 + sum(self.moves)
        self.add(self.stays <= self.plan["max_stays"])
        most = min(self.plan["max_stays"], len(self.moves))
        # The bay of each stay; of one that there is not, the first.
        self.stay_bays = [self.new_int_var(0, len(self.bays) - 1, "") for _ in range(most)]
        for stay, bay in enumerate(self.stay_bays):
            for place, in_bay in enumerate(self.in_bay):
                here = self.new_bool_var("")
                self.add(sum(self.moves[: place + 1]) == stay).only_enforce_if(here)
                self.add(sum(self.moves[: place + 1]) != stay).only_enforce_if(~here)
                self.add(bay == sum(one * chosen for one, chosen in enumerate(in_bay))).only_enforce_if(here)


def optimum(case, solver):
    """(finish, start, bays) of the best placement, or None."""
    model = Model(case)
    codes = 0
    for bay in model.stay_bays:
        codes = codes * len(model.bays) + bay
    one_stay = len(model.bays) ** len(model.stay_bays)
    one_start = one_stay * (len(model.moves) + 1)
    one_finish = one_start * (model.slots + 1)
    model.minimize(one_finish * model.finish - one_start * model.slot_place + one_stay * model.stays + codes)
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None
    if status != cp_model.OPTIMAL:
        sys.exit(f"CP-SAT did not finish: {solver.status_name(status)}")
    bays = [model.bays[solver.value(bay)]["code"] for bay in model.stay_bays[: solver.value(model.stays)]]
    return solver.value(model.finish), solver.value(model.start), bays


def with_stays(dice, case):
    """The same case for a car that may change bays, with every step for one."""
    plan = case["plan"]
    count = len(plan["steps"])
    steps = [
        {**step, "two": False, "features": dice.choice(NEEDS), "holds": dice.choice(["car", "after"])}
        for step in plan["steps"]
    ]
    pairs = [[one, two] for one in range(count) for two in range(one + 1, count) if dice.random() < 0.4]
    # At least two bays, else no car could move.
    bays = case["bays"] if len(case["bays"]) > 1 else [*case["bays"], {**case["bays"][0], "code": "X", "held": []}]
    bays = [{**bay, "features": dice.choice(ROOMS)} for bay in bays]
    asked = {"before": pairs, "max_stays": dice.choice([1, 2, 3, 3]), "move_minutes": dice.choice([0, 1, 3])}
    return {**case, "bays": bays, "plan": {**plan, "features": [], "steps": steps, **asked}}


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("oracle")
    arguments.add_argument("--cases", type=int, default=300 if os.environ.get("BAYWRIGHT_TEST_LONG") else 100)
    arguments.add_argument("--seed", type=int, default=1)
    arguments = arguments.parse_args()
    dice = random.Random(arguments.seed)
    cases = [with_stays(dice, random_case(dice, at)) for at in range(arguments.cases)]
    lines = "".join(json.dumps(case) + "\n" for case in cases)
    run = subprocess.run([arguments.oracle, "availability"], input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    if len(answers) != len(cases):
        sys.exit(f"{len(cases)} cases, but {len(answers)} answers")
    failed = placed = moved = 0
    for case, answer in zip(cases, answers):
        expected = optimum(case, Solver())
        placed += expected is not None
        moved += expected is not None and len(expected[2]) > 1
        found = [(p["finish"], p["start"], [stay["bay"] for stay in p["stays"]]) for p in answer.get("placements", [])]
        if "error" in answer or found != ([] if expected is None else [expected]):
            failed += 1
            print(f"{json.dumps(case)}\n  CP-SAT {expected}\n  answered {json.dumps(answer)[:600]}")
    if 3 * placed < len(cases) or 20 * moved < len(cases):
        sys.exit(f"{placed} of {len(cases)} cases have a placement, {moved} a move; the cases are too hard to tell much")
    print(f"{placed} have a placement, {moved} with a move")
    print(f"{len(cases) - failed} passed, {failed} failed")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()

#!/usr/bin/env python3
"""Compares the first answer of availability with the optimum that OR-Tools' CP-SAT proves, on random small shops.

    availability_cpsat.py ORACLE [--cases 100] [--seed 1]

ORACLE is the path of the built `oracle` program. It is run once, with every case on its standard input. Prints the
number of cases that agree and that do not, and ends with 1 if one does not.

Reference: CP-SAT of OR-Tools 9.15.6755. The model knows nothing of gaps, passes or greedy work: every minute of every
step is a variable of its own, an automaton says which rows of minutes are allowed pieces, and the objective is
lexicographic: the earliest finish, of those the latest start, of those the smallest bay code. A step for two has two
people in the model, who lead and help; of pairs it knows nothing. Compared are finish, start and bay, or that there is
no placement at all.

BAYWRIGHT_TEST_LONG=1 takes 300 cases.
"""

import argparse
import json
import os
import random
import subprocess
import sys
import time

from availability_check import held_back, random_pairs
from ortools.sat.python import cp_model

SKILLS = ["wash", "polish", "sand"]
FEATURES = ["cover", "drain"]


class Solver(cp_model.CpSolver):
    """CP-SAT with so many workers, and so many seconds for each model; it counts what processor time all of them took."""

    def __init__(self, workers=1, seconds=None):
        super().__init__()
        self.parameters.num_workers = workers
        if seconds is not None:
            self.parameters.max_time_in_seconds = seconds
        self.worked = 0.0

    def solve(self, model, callback=None):
        began = time.process_time()
        status = super().solve(model, callback)
        self.worked += time.process_time() - began
        return status


def minutes_of(pairs, first, until):
    return {m for a, b in pairs for m in range(max(a, first), min(b, until))}


def waited(step, end, open_minutes, until):
    """The first minute by which the wait after a step that ended at `end` has passed, or None."""
    if step["wait_when"] == "any":
        return end + step["wait"] if end + step["wait"] <= until else None
    passed = 0
    for at in range(end, until + 1):
        if passed >= step["wait"]:
            return at
        passed += at in open_minutes
    return None


def allow_pieces(model, worked, step):
    """Constrains a row of minute variables to the pieces that a step allows.

    State 0: before any work. State k from 1 on: k minutes into a piece, counted up to `smallest` and then kept. State
    smallest + 1: between pieces. State smallest + 2: after the last piece.
    """
    smallest = max(step["piece"], 1) if step["splittable"] else step["minutes"]
    between, after = smallest + 1, smallest + 2
    moves = [(0, 0, 0), (0, 1, 1), (between, 0, between), (between, 1, 1), (after, 0, after)]
    for state in range(1, smallest + 1):
        moves.append((state, 1, min(state + 1, smallest)))
        # A piece that is long enough may be followed by another; a shorter one is the last.
        moves.append((state, 0, between if state == smallest else after))
    model.add_automaton(worked, 0, list(range(1, after + 1)), moves)


def optimum(case, solver):
    """(finish, start, bay) of the best placement, or None."""
    first, until, slot = case["from"], case["until"], case["slot_minutes"]
    bays = sorted(case["bays"], key=lambda bay: bay["code"].encode())
    people, steps = case["technicians"], case["plan"]["steps"]
    open_in = [minutes_of(bay["open"], first, until) for bay in bays]
    held_in = [minutes_of(bay["held"], first, until) for bay in bays]
    free = [minutes_of(p["working"], first, until) - minutes_of(p["busy"], first, until) for p in people]

    model = cp_model.CpModel()
    in_bay = [model.new_bool_var("") for _ in bays]
    model.add_exactly_one(in_bay)
    bay_place = model.new_int_var(0, len(bays) - 1, "")
    model.add(bay_place == sum(place * chosen for place, chosen in enumerate(in_bay)))
    slots = (until - first - 1) // slot
    slot_place = model.new_int_var(0, slots, "")
    start = model.new_int_var(first, until, "")
    model.add(start == first + slot * slot_place)
    finish = model.new_int_var(first, until, "")
    for bay, chosen, open_minutes, held in zip(bays, in_bay, open_in, held_in):
        if not set(case["plan"]["features"]) <= set(bay["features"]):
            model.add(chosen == 0)
        model.add_linear_expression_in_domain(start, cp_model.Domain.from_values(open_minutes)).only_enforce_if(chosen)
        for taken in held:
            before = model.new_bool_var("")
            model.add(finish <= taken).only_enforce_if(chosen, before)
            model.add(start > taken).only_enforce_if(chosen, ~before)

    held, ends, passed = held_back(case["plan"]), [], []
    for number, step in enumerate(steps):
        ready, end = model.new_int_var(first, until, ""), model.new_int_var(first, until, "")
        holding = [over for earlier, over in enumerate(passed) if number in held[earlier]]
        model.add_max_equality(ready, [start, *ends[-1:], *holding])
        if step["minutes"] == 0:
            model.add(end == ready)
        else:
            able = [place for place, p in enumerate(people) if set(step["skills"]) <= set(p["skills"])]
            if not able or step["two"] and len(people) < 2:
                return None
            by = {place: model.new_bool_var("") for place in able}
            model.add_exactly_one(by.values())
            # Whoever helps is somebody else, whatever they can do.
            helps = {place: model.new_bool_var("") for place in range(len(people))} if step["two"] else {}
            if helps:
                model.add_exactly_one(helps.values())
            for place, chosen in by.items():
                if place in helps:
                    model.add_at_most_one(chosen, helps[place])
            worked = []
            for minute in range(first, until):
                works = model.new_bool_var("")
                worked.append(works)
                for place, chosen in [*by.items(), *helps.items()]:
                    if minute not in free[place]:
                        model.add_implication(works, ~chosen)
                for chosen, open_minutes in zip(in_bay, open_in):
                    if minute not in open_minutes:
                        model.add_implication(works, ~chosen)
                model.add(ready <= minute).only_enforce_if(works)
                model.add(end > minute).only_enforce_if(works)
            model.add(sum(worked) == step["minutes"])
            allow_pieces(model, worked, step)
        over = model.new_int_var(first, until, "")
        rows = [
            (place, at, waited(step, at, open_in[place], until))
            for place in range(len(bays))
            for at in range(first, until + 1)
        ]
        model.add_allowed_assignments([bay_place, end, over], [row for row in rows if row[2] is not None])
        ends.append(end)
        passed.append(over)
    model.add_max_equality(finish, passed)

    one_start = len(bays)
    one_finish = one_start * (slots + 1)
    model.minimize(one_finish * finish - one_start * slot_place + bay_place)
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None
    if status != cp_model.OPTIMAL:
        sys.exit(f"CP-SAT did not finish: {solver.status_name(status)}")
    return solver.value(finish), solver.value(start), bays[solver.value(bay_place)]["code"]


def stretches(dice, first, until, most, longest):
    found = []
    for _ in range(dice.randint(0, most)):
        begin = dice.randint(first - 3, until)
        found.append([begin, begin + dice.randint(1, longest)])
    return found


def shifts(dice, first, until):
    """Two or three days, each with its hours and now and then a break."""
    day = (until - first) // 3 + 1
    found = []
    for begin in range(first, until, day):
        opens, closes = begin + dice.randint(0, day // 5), begin + day - dice.randint(1, day // 4)
        if dice.random() < 0.3:
            pause = dice.randint(opens + 1, closes - 1)
            found += [[opens, pause], [pause + dice.randint(0, 3), closes]]
        elif dice.random() < 0.9:
            found.append([opens, closes])
    dice.shuffle(found)
    return [pair for pair in found if pair[0] < pair[1]]


def some(dice, words, each):
    return [word for word in words if dice.random() < each]


def random_case(dice, at):
    first = dice.choice([0, 0, -7, 1000])
    until = first + dice.randint(40, 90)
    bays = [
        {
            "code": code,
            "features": some(dice, FEATURES, 0.9),
            "open": shifts(dice, first, until),
            "held": stretches(dice, first, until, 2, 8),
        }
        for code in dice.sample(["A", "a", "B", "B1", "B10", "B2", "ä"], dice.randint(1, 3))
    ]
    technicians = [
        {
            "code": f"T{place}",
            "skills": some(dice, SKILLS, 0.8),
            "working": shifts(dice, first, until),
            "busy": stretches(dice, first, until, 3, 7),
        }
        for place in range(dice.randint(1, 3))
    ]
    steps = [
        {
            "code": f"S{place}",
            "minutes": dice.choice([0, 2, 3, 5, 8, 12]),
            "skills": some(dice, SKILLS, 0.2),
            "splittable": dice.random() < 0.6,
            "piece": dice.randint(0, 4),
            "wait": dice.choice([0, 0, 1, 5, 12]),
            "wait_when": dice.choice(["any", "open"]),
            "two": dice.random() < 0.2,
            "holds": dice.choice(["car", "after"]),
        }
        for place in range(dice.randint(1, 4))
    ]
    if all(step["minutes"] == 0 for step in steps):
        steps[0]["minutes"] = 5
    plan = {"features": some(dice, FEATURES, 0.2), "steps": steps, "before": random_pairs(dice, len(steps))}
    return {
        "id": at, "from": first, "until": until, "slot_minutes": dice.choice([1, 2, 3, 5]), "count": 1,
        "bays": bays, "technicians": technicians, "plan": plan,
    }


def placed_at(answer):
    """(finish, start, bay) of each placement in an answer."""
    return [(p["finish"], p["start"], p["bay"]) for p in answer.get("placements", [])]


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("oracle")
    arguments.add_argument("--cases", type=int, default=300 if os.environ.get("BAYWRIGHT_TEST_LONG") else 100)
    arguments.add_argument("--seed", type=int, default=1)
    arguments = arguments.parse_args()
    dice = random.Random(arguments.seed)
    cases = [random_case(dice, at) for at in range(arguments.cases)]
    lines = "".join(json.dumps(case) + "\n" for case in cases)
    run = subprocess.run([arguments.oracle, "availability"], input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    if len(answers) != len(cases):
        sys.exit(f"{len(cases)} cases, but {len(answers)} answers")
    failed = placed = 0
    for case, answer in zip(cases, answers):
        expected = optimum(case, Solver())
        placed += expected is not None
        found = placed_at(answer)
        if "error" in answer or found != ([] if expected is None else [expected]):
            failed += 1
            print(f"{json.dumps(case)}\n  CP-SAT {expected}\n  answered {json.dumps(answer)[:400]}")
    if 2 * placed < len(cases):
        sys.exit(f"only {placed} of {len(cases)} cases have a placement; the cases are too hard to tell much")
    print(f"{placed} have a placement")
    print(f"{len(cases) - failed} passed, {failed} failed")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()

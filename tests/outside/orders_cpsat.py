#!/usr/bin/env python3
"""Compares fronts of orders with every order there is, and their two ends with what OR-Tools' CP-SAT proves.

    orders_cpsat.py ORACLE [--cases 300] [--ends 30] [--seed 1]

ORACLE is the path of the built `oracle` program. Plans of 3 to 8 steps are compared with brute force over all orders that
meet their pairs: the same changeover and elapsed time of each order of the front, the same order of steps, the first of
its equals, and nothing missing. Of plans of 9 to 14 steps the first and the last order of the front are compared with the
least changeover (of those the least elapsed time) and the least elapsed time (of those the least changeover) that CP-SAT
proves. Every order that is answered is walked step by step. Prints what agrees, and ends with 1 if anything does not.

Reference: CP-SAT of OR-Tools 9.15.6755, with a circuit over the steps, a place and a begin for each.

BAYWRIGHT_TEST_LONG=1 takes 1,000 plans and 200 ends of fronts.
"""

import argparse
import json
import os
import random
import subprocess
import sys

from availability_cpsat import Solver
from ortools.sat.python import cp_model


def followers(case):
    """For each step the steps that must come after it, directly or through others."""
    size = len(case["steps"])
    after = [set() for _ in range(size)]
    for first, then in case["before"]:
        after[first].add(then)
    for _ in range(size):
        for first in range(size):
            after[first] = after[first].union(*(after[then] for then in after[first]))
    return after


class Walk:
    """Steps done one after another: changeover and time so far, and the waits that still run."""

    def __init__(self, case, after):
        self.case, self.after, self.size = case, after, len(case["steps"])
        self.order, self.states = [], [(0, 0, 0, ())]

    def add(self, number):
        changeover, ready, finish, waits = self.states[-1]
        step, cost = self.case["steps"][number], self.case["cost"]
        begin = max([ready, *[passed for first, passed in waits if number in self.after[first]]])
        lost = cost[self.order[-1] + 1 if self.order else 0][number + 1]
        self.order.append(number)
        if len(self.order) == self.size:
            lost += cost[number + 1][self.size + 1]
        end = begin + lost + step["minutes"]
        passed = end + step["wait"]
        if step["holds"] == "after":
            waits = (*waits, (number, passed))
        ready = passed if step["holds"] == "car" else end
        self.states.append((changeover + lost, ready, max(finish, passed), waits))

    def back(self):
        self.order.pop()
        self.states.pop()

    def value(self):
        changeover, _, finish, _ = self.states[-1]
        return changeover, finish


def all_orders(case):
    """The front out of all orders that there are: (changeover, elapsed, order), of equal ones the first."""
    after = followers(case)
    before = [{first for first in range(len(after)) if number in after[first]} for number in range(len(after))]
    walk, first_of = Walk(case, after), {}

    def go_on():
        if len(walk.order) == walk.size:
            # Orders come by rising numbers, so that the first of its value stays.
            first_of.setdefault(walk.value(), list(walk.order))
            return
        done = set(walk.order)
        for number in range(walk.size):
            if number not in done and before[number] <= done:
                walk.add(number)
                go_on()
                walk.back()

    go_on()
    front = []
    for changeover, elapsed in sorted(first_of):
        if not front or elapsed < front[-1][1]:
            front.append((changeover, elapsed, first_of[changeover, elapsed]))
    return front


def end_of_front(case, by_changeover, solver):
    """(changeover, elapsed) with the least changeover, or the least elapsed time, and then the least of the other."""
    steps, cost, size = case["steps"], case["cost"], len(case["steps"])
    longest = sum(step["minutes"] + step["wait"] for step in steps) + (size + 2) * max(map(max, cost))
    model = cp_model.CpModel()
    place = [model.new_int_var(0, size - 1, "") for _ in steps]
    begin = [model.new_int_var(0, longest, "") for _ in steps]
    lost = [model.new_int_var(0, longest, "") for _ in steps]
    finish = model.new_int_var(0, longest, "")
    end = [begin[n] + lost[n] + step["minutes"] for n, step in enumerate(steps)]
    passed = [end[n] + step["wait"] for n, step in enumerate(steps)]
    arcs, terms = [], [[] for _ in steps]
    for j in range(size):
        first, last = model.new_bool_var(""), model.new_bool_var("")
        arcs += [(size, j, first), (j, size, last)]
        model.add(place[j] == 0).only_enforce_if(first)
        model.add(place[j] == size - 1).only_enforce_if(last)
        terms[j] += [cost[0][j + 1] * first, cost[j + 1][size + 1] * last]
        for i in range(size):
            if i == j:
                continue
            taken = model.new_bool_var("")
            arcs.append((i, j, taken))
            terms[j].append(cost[i + 1][j + 1] * taken)
            model.add(place[j] == place[i] + 1).only_enforce_if(taken)
            ready = passed[i] if steps[i]["holds"] == "car" else end[i]
            model.add(begin[j] >= ready).only_enforce_if(taken)
        model.add(lost[j] == sum(terms[j]))
        model.add(finish >= passed[j])
    model.add_circuit(arcs)
    for first, later in enumerate(followers(case)):
        for then in later:
            model.add(place[first] < place[then])
            model.add(begin[then] >= passed[first])
    changeover = sum(lost)
    weight = longest + 1
    model.minimize(weight * changeover + finish if by_changeover else weight * finish + changeover)
    status = solver.solve(model)
    assert status == cp_model.OPTIMAL, solver.status_name(status)
    return solver.value(changeover), solver.value(finish)


def plan(rng, fewest, most):
    size = rng.randint(fewest, most)
    values = rng.choice([[0, 3, 5, 8], [0, 1], list(range(40))])
    cost = [[0 if i == j else rng.choice(values) for j in range(size + 2)] for i in range(size + 2)]
    order = rng.sample(range(size), size)
    share = rng.choice([0.05, 0.2, 0.4])
    before = [[a, b] for at, a in enumerate(order) for b in order[at + 1 :] if rng.random() < share]
    waits = rng.choice([0.0, 0.4, 0.8])
    steps = [
        {
            "minutes": rng.choice([0, 5, 10, 30, 60, 90]),
            "wait": rng.choice([5, 10, 30, 60, 240]) if rng.random() < waits else 0,
            "holds": rng.choice(["car", "after", "after"]),
        }
        for _ in range(size)
    ]
    return {"steps": steps, "cost": cost, "before": before}


def answered(oracle, cases):
    lines = "".join(json.dumps(case) + "\n" for case in cases)
    run = subprocess.run([oracle, "orders"], input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    assert len(answers) == len(cases), (len(answers), len(cases))
    return answers


def is_walked(case, answer):
    """Whether each order names every step once, meets the pairs, and comes to what is said of it, none beating another."""
    after = followers(case)
    values = []
    for order in answer["front"]:
        walk = Walk(case, after)
        for number in order["order"]:
            walk.add(number)
        place = {number: at for at, number in enumerate(order["order"])}
        values.append((order["changeover"], order["elapsed"]))
        if sorted(place) != list(range(walk.size)) or len(order["order"]) != walk.size or walk.value() != values[-1]:
            return False
        if any(place[first] >= place[then] for first, then in case["before"]):
            return False
    rising = all(a[0] < b[0] and a[1] > b[1] for a, b in zip(values, values[1:]))
    bounded = answer["changeover_bound"] <= values[0][0] and answer["elapsed_bound"] <= values[-1][1]
    exact = (answer["changeover_bound"], answer["elapsed_bound"]) == (values[0][0], values[-1][1])
    return rising and bounded and (exact or not answer["proven"])


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("oracle")
    parser.add_argument("--cases", type=int, default=1000 if os.environ.get("BAYWRIGHT_TEST_LONG") else 300)
    parser.add_argument("--ends", type=int, default=200 if os.environ.get("BAYWRIGHT_TEST_LONG") else 30)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    rng = random.Random(chosen.seed)
    small = [plan(rng, 3, 8) for _ in range(chosen.cases)]
    large = [plan(rng, 9, 14) for _ in range(chosen.ends)]
    wrong = choices = 0
    for case, answer in zip(small, answered(chosen.oracle, small)):
        found = [(order["changeover"], order["elapsed"], order["order"]) for order in answer.get("front", [])]
        best = all_orders(case)
        choices += len(best) > 1
        if found != best or not answer["proven"] or not is_walked(case, answer):
            wrong += 1
            print(f"front {best}, answer {answer}, case {json.dumps(case)}")
    print(f"orders: {len(small) - wrong} fronts are those of all orders, {wrong} are not; {choices} leave a choice")
    if 10 * choices < len(small):
        sys.exit("too few of the plans leave a choice to tell much")
    missed = 0
    for case, answer in zip(large, answered(chosen.oracle, large)):
        ends = [end_of_front(case, by_changeover, Solver()) for by_changeover in (True, False)]
        front = [(order["changeover"], order["elapsed"]) for order in answer.get("front", [])]
        if not front or [front[0], front[-1]] != ends or not answer["proven"] or not is_walked(case, answer):
            missed += 1
            print(f"ends {ends}, answer {answer}, case {json.dumps(case)}")
    print(f"orders: both ends of {len(large) - missed} fronts agree with CP-SAT, of {missed} they do not")
    sys.exit(wrong + missed > 0)


if __name__ == "__main__":
    main()

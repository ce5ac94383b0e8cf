#!/usr/bin/env python3
"""Compares the order of steps with the optimum that OR-Tools' CP-SAT proves, on random problems of up to 14 steps.

    sequence_cpsat.py ORACLE [--cases 200] [--seed 1]

ORACLE is the path of the built `oracle` program. Each problem is one path from the first node to the last (Escudero 1988:
sequential ordering), with changeovers like a studio's, where few different values make many ties, or drawn at large.
Compared are the cost, and that whatever is called proven is: its bound must be the optimum, any other must not exceed it.

Reference: CP-SAT of OR-Tools 9.15.6755, with a circuit over the nodes and a place for each.

BAYWRIGHT_TEST_LONG=1 takes 500 cases.
"""

import argparse
import json
import os
import random
import subprocess
import sys

from availability_cpsat import Solver
from ortools.sat.python import cp_model


def optimum(case, solver):
    """The least cost of an order."""
    cost, size = case["cost"], len(case["cost"])
    model = cp_model.CpModel()
    place = [model.new_int_var(0, size - 1, f"place{n}") for n in range(size)]
    model.add(place[0] == 0)
    model.add(place[size - 1] == size - 1)
    arcs, terms = [], []
    for i in range(size - 1):
        for j in range(1, size):
            if i == j or (i == 0 and j == size - 1 and size > 2):
                continue
            taken = model.new_bool_var(f"{i}to{j}")
            arcs.append((i, j, taken))
            terms.append(cost[i][j] * taken)
            model.add(place[j] == place[i] + 1).only_enforce_if(taken)
    arcs.append((size - 1, 0, model.new_constant(1)))
    model.add_circuit(arcs)
    for first, then in case["before"]:
        model.add(place[first] < place[then])
    model.minimize(sum(terms))
    status = solver.solve(model)
    assert status == cp_model.OPTIMAL, solver.status_name(status)
    return round(solver.objective_value)


def problem(rng):
    size = rng.randint(2, 14) + 2
    values = rng.choice([[0, 3, 5, 8], [0, 1], list(range(60))])
    cost = [[0 if i == j else rng.choice(values) for j in range(size)] for i in range(size)]
    order = rng.sample(range(1, size - 1), size - 2)
    share = rng.choice([0.05, 0.15, 0.4])
    before = [[a, b] for at, a in enumerate(order) for b in order[at + 1 :] if rng.random() < share]
    return {"cost": cost, "before": before}


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("oracle")
    parser.add_argument("--cases", type=int, default=500 if os.environ.get("BAYWRIGHT_TEST_LONG") else 200)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    rng = random.Random(chosen.seed)
    cases = [problem(rng) for _ in range(chosen.cases)]
    lines = "".join(json.dumps(case) + "\n" for case in cases)
    output = subprocess.run([chosen.oracle, "sequence"], input=lines, capture_output=True, text=True, check=True).stdout
    answers = [json.loads(line) for line in output.splitlines()]
    assert len(answers) == len(cases), (len(answers), len(cases))
    wrong = proven = 0
    for case, answer in zip(cases, answers):
        best, order, size = optimum(case, Solver()), answer["order"], len(case["cost"])
        walked = sum(case["cost"][i][j] for i, j in zip(order, order[1:]))
        place = {node: at for at, node in enumerate(order)}
        fine = sorted(order) == list(range(size)) and order[0] == 0 and order[-1] == size - 1
        fine = fine and all(place[a] < place[b] for a, b in case["before"]) and walked == answer["cost"]
        fine = fine and answer["bound"] <= best and answer["cost"] == best
        fine = fine and (not answer["proven"] or answer["bound"] == best)
        proven += answer["proven"]
        if not fine:
            wrong += 1
            print(f"optimum {best}, answer {answer}, case {json.dumps(case)}")
    print(f"sequence: {len(cases) - wrong} agree with CP-SAT, {wrong} do not; {proven} were called proven")
    sys.exit(wrong > 0)


if __name__ == "__main__":
    main()

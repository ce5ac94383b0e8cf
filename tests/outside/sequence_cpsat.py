#!/usr/bin/env python3
"""Compares the order of steps with the optimum that OR-Tools' CP-SAT proves, on random problems of up to 14 steps,
and with what it finds for larger ones.

    sequence_cpsat.py ORACLE [--cases 100] [--sizes 30 60] [--seconds 8] [--seed 1]

ORACLE is the path of the built `oracle` program. Each problem is one path from the first node to the last (Escudero 1988:
sequential ordering), with changeovers like a studio's, where few different values make many ties, or drawn at large.
Compared are the cost, and that whatever is called proven is: its bound must be the optimum, any other must not exceed it.
Larger problems are compared with what CP-SAT finds in time: the cost is at most a twentieth or three minutes above it.

Reference: CP-SAT of OR-Tools 9.15.6755, with a circuit over the nodes and a place for each.

BAYWRIGHT_TEST_LONG=1 takes 500 cases and 27 of 20 to 150 steps.
"""

import argparse
import json
import os
import random
import subprocess
import sys

from availability_cpsat import Solver
from ortools.sat.python import cp_model


def least(case, solver):
    """The least cost of an order that was found in time, or None, and a lower bound of all."""
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
    found = round(solver.objective_value) if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else None
    return found, round(solver.best_objective_bound)


def optimum(case, solver):
    """The least cost of an order."""
    found, bound = least(case, solver)
    assert found == bound, solver.status_name()
    return found


def problem(rng, size=None):
    size = size or rng.randint(2, 14) + 2
    values = rng.choice([[0, 3, 5, 8], [0, 1], list(range(60))])
    cost = [[0 if i == j else rng.choice(values) for j in range(size)] for i in range(size)]
    order = rng.sample(range(1, size - 1), size - 2)
    share = rng.choice([0.05, 0.15, 0.4])
    before = [[a, b] for at, a in enumerate(order) for b in order[at + 1 :] if rng.random() < share]
    return {"cost": cost, "before": before}


def answered(oracle, cases):
    lines = "".join(json.dumps(case) + "\n" for case in cases)
    output = subprocess.run([oracle, "sequence"], input=lines, capture_output=True, text=True, check=True).stdout
    answers = [json.loads(line) for line in output.splitlines()]
    assert len(answers) == len(cases), (len(answers), len(cases))
    return answers


def is_walked(case, answer):
    """Whether the answer is an order of all nodes that keeps every pair, at the cost that it says."""
    order, size = answer["order"], len(case["cost"])
    place = {node: at for at, node in enumerate(order)}
    whole = sorted(order) == list(range(size)) and order[0] == 0 and order[-1] == size - 1
    in_order = all(place[a] < place[b] for a, b in case["before"])
    return whole and in_order and sum(case["cost"][i][j] for i, j in zip(order, order[1:])) == answer["cost"]


def main():
    long = bool(os.environ.get("BAYWRIGHT_TEST_LONG"))
    parser = argparse.ArgumentParser()
    parser.add_argument("oracle")
    parser.add_argument("--cases", type=int, default=500 if long else 100)
    parser.add_argument("--sizes", type=int, nargs="*", default=[20, 30, 40, 50, 60, 80, 100, 120, 150] * 3 if long else [30, 60])
    parser.add_argument("--seconds", type=int, default=60 if long else 8)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    rng = random.Random(chosen.seed)
    cases = [problem(rng) for _ in range(chosen.cases)]
    wrong = proven = 0
    for case, answer in zip(cases, answered(chosen.oracle, cases)):
        best = optimum(case, Solver())
        fine = is_walked(case, answer) and answer["bound"] <= best and answer["cost"] == best
        fine = fine and (not answer["proven"] or answer["bound"] == best)
        proven += answer["proven"]
        if not fine:
            wrong += 1
            print(f"optimum {best}, answer {answer}, case {json.dumps(case)}")
    print(f"sequence: {len(cases) - wrong} agree with CP-SAT, {wrong} do not; {proven} were called proven")
    large = [problem(rng, size + 2) for size in chosen.sizes]
    for case, answer in zip(large, answered(chosen.oracle, large)):
        best, bound = least(case, Solver(2, chosen.seconds))
        fine = is_walked(case, answer) and answer["bound"] <= answer["cost"] and answer["cost"] >= bound
        fine = fine and (best is None or answer["bound"] <= best and answer["cost"] - best <= max(best // 20, 3))
        wrong += not fine
        said = f"answered {answer['cost']} from {answer['bound']}, CP-SAT {best} from {bound}"
        print(f"{len(case['cost']) - 2} steps, {len(case['before'])} pairs: {said}{'' if fine else ': WRONG'}", flush=True)
    sys.exit(wrong > 0)


if __name__ == "__main__":
    main()

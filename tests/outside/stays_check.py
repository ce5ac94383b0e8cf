#!/usr/bin/env python3
"""Checks that every placement of a car that may change bays keeps every rule, on random shops over a few days.

    stays_check.py ORACLE [--cases 2000] [--seed 1]

ORACLE is the path of the built `oracle` program. It is run once, with every case on its standard input. Prints the
number of cases without fault and with one, and ends with 1 if one has. BAYWRIGHT_TEST_LONG=1 takes 20,000 cases.

The rules for one step are those of availability_check.py, written down there minute by minute. Here come those of
stays: bays that follow each other, moves that come with a step, waits that hold the car or only later steps, and
features that each step needs of its own bay. Whether the answer is the best there is, is the question of
stays_cpsat.py.
"""

import argparse
import json
import os
import random
import subprocess
import sys

from availability_check import Shop, random_case, step_faults

NEEDS = [[], [], ["cover"], ["drain"]]
ROOMS = [["cover"], ["drain"], ["cover", "drain"]]


def visit_faults(shop, placement, early=True):
    """The rules that a placement with stays breaks; `early` wants steps as early as they can be."""
    plan, stays = shop.case["plan"], placement["stays"]
    start, finish = placement["start"], placement["finish"]
    if not 1 <= len(stays) <= plan["max_stays"] or any(stay["bay"] not in shop.bays for stay in stays):
        return ["no stays, too many, or no such bay"]
    found = []
    if stays[0]["from"] != start or stays[-1]["to"] != finish or placement["bay"] != stays[0]["bay"]:
        found.append("stays are not from start to finish")
    for one, two in zip(stays, stays[1:]):
        if one["to"] != two["from"] or one["bay"] == two["bay"]:
            found.append("stays do not follow each other in other bays")
    for stay in stays:
        if not shop.first <= stay["from"] < stay["to"] <= shop.until:
            found.append("a stay is empty or outside the horizon")
        elif any(minute in shop.held[stay["bay"]] for minute in range(stay["from"], stay["to"])):
            found.append("bay is held")
    if (start - shop.first) % shop.slot or start not in shop.open[stays[0]["bay"]]:
        found.append("start is off its slot or in closed time")
    if [step["code"] for step in placement["steps"]] != [step["code"] for step in plan["steps"]]:
        return found + ["other steps"]
    at, ready, latest, waits = 0, start, start, []
    for place, (step, placed) in enumerate(zip(plan["steps"], placement["steps"])):
        moves = (
            place > 0 and placed["pieces"] and at + 1 < len(stays)
            and placed["pieces"][0][0] == stays[at + 1]["from"]
        )
        if moves:
            at += 1
            step = {**step, "minutes": step["minutes"] + plan["move_minutes"]}
        bay = stays[at]["bay"]
        if not set(plan["features"]) | set(step["features"]) <= set(shop.bays[bay]["features"]):
            found.append(f"{step['code']}: bay lacks a feature")
        begin = max([ready, *(passed for first, passed in waits if [first, place] in plan["before"])])
        end, broken = step_faults(shop, bay, step, placed, begin, early=early and not moves)
        found += [f"{step['code']}: {text}" for text in broken]
        passed = shop.waited(step, end, bay)
        latest = max(latest, passed)
        ready = end
        if step["holds"] == "car":
            ready = passed
        else:
            waits.append((place, passed))
    if at + 1 != len(stays):
        found.append("a stay begins when no step begins")
    if latest != finish:
        found.append(f"finish is not {latest}")
    return found


def with_stays(dice, case):
    """The same case for a car that may change bays."""
    plan = case["plan"]
    count = len(plan["steps"])
    pairs = [[one, two] for one in range(count) for two in range(one + 1, count) if dice.random() < 0.4]
    # What comes after a step comes after all that it waits for.
    for one in range(count - 1, -1, -1):
        for two in range(one + 1, count):
            if [one, two] in pairs:
                pairs += [[one, three] for first, three in list(pairs) if first == two and [one, three] not in pairs]
    steps = [
        {**step, "features": dice.choice(NEEDS), "holds": dice.choice(["car", "after"])} for step in plan["steps"]
    ]
    # At least two bays, else no car could move.
    bays = case["bays"] if len(case["bays"]) > 1 else [*case["bays"], {**case["bays"][0], "code": "X", "held": []}]
    bays = [{**bay, "features": dice.choice(ROOMS)} for bay in bays]
    asked = {"before": pairs, "max_stays": dice.choice([1, 2, 3, 3, 3]), "move_minutes": dice.choice([0, 5, 10, 10])}
    return {**case, "bays": bays, "plan": {**plan, "features": [], "steps": steps, **asked}}


def rises(shop, placements):
    return all(
        one["start"] + shop.slot <= two["start"] and one["finish"] < two["finish"]
        for one, two in zip(placements, placements[1:])
    )


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("oracle")
    arguments.add_argument("--cases", type=int, default=20000 if os.environ.get("BAYWRIGHT_TEST_LONG") else 2000)
    arguments.add_argument("--seed", type=int, default=1)
    arguments = arguments.parse_args()
    dice = random.Random(arguments.seed)
    cases = [with_stays(dice, random_case(dice, at)) for at in range(arguments.cases)]
    lines = "".join(json.dumps(case) + "\n" for case in cases)
    run = subprocess.run([arguments.oracle, "availability"], input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    if len(answers) != len(cases):
        sys.exit(f"{len(cases)} cases, but {len(answers)} answers")
    failed = placed = moved = meanwhile = 0
    for case, answer in zip(cases, answers):
        placements = answer.get("placements")
        if placements is None:
            found = [answer.get("error", "no answer")]
        else:
            shop = Shop(case) if placements else None
            found = [text for placement in placements for text in visit_faults(shop, placement)]
            if placements and not rises(shop, placements):
                found.append("starts and finishes do not rise")
            placed += bool(placements)
            moved += any(len(placement["stays"]) > 1 for placement in placements)
            meanwhile += any(step["holds"] == "after" and step["wait"] > 0 for step in case["plan"]["steps"][:-1])
        if found:
            failed += 1
            if failed <= 5:
                print(f"{json.dumps(case)}\n  {found}\n  answered {json.dumps(answer)[:900]}")
    seen = f"{placed} placed, {moved} with a move, {meanwhile} with a wait that holds single steps"
    if min(placed * 4, moved * 30, meanwhile * 10) < len(cases):
        sys.exit(f"the cases are too hard to tell much: {seen}")
    print(seen)
    print(f"{len(cases) - failed} passed, {failed} failed")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()

#!/usr/bin/env python3
"""Checks that every week that is answered keeps every rule and has the figures that it says, on random shops.

    week_check.py ORACLE [--cases 100] [--seed 1]

ORACLE is the path of the built `oracle` program. It is run once, with every case on its standard input; each case is
searched for a budget of nodes, so a run can be repeated. Prints the number of cases without fault and with one, and
ends with 1 if one has. BAYWRIGHT_TEST_LONG=1 takes 2,000 cases. In every third one cars may change bays and some steps
take two people.

The rules for one placement are those of availability_check.py and, if cars may change bays, of stays_check.py, written
down there minute by minute. Here come those between placements: no bay and no technician is in two places at once, and lateness, finish, standing and bound are
what the placements come to.
"""

import argparse
import json
import os
import random
import subprocess
import sys

from availability_check import Shop, faults, random_pairs, some
from stays_check import visit_faults, with_stays

SKILLS = ["wash", "polish", "sand"]
FEATURES = ["cover", "drain"]
DAY = 1440


def placed_faults(case, placements):
    """The rules that placements of a week break, each alone and all together."""
    bays = [
        {**bay, "held": bay["held"] + [[f["start"], f["finish"]] for f in case["fixed"] if f["bay"] == bay["code"]]}
        for bay in case["bays"]
    ]
    jobs = {job["code"]: job for job in case["jobs"]}
    if [p["job"] for p in placements] != list(jobs):
        return ["other jobs"]
    found, in_bay, at_work = [], {}, {}
    for placement in placements:
        job = jobs[placement["job"]]
        shop = Shop({**case, "bays": bays, "plan": job["plan"]})
        check = visit_faults if "stays" in placement else faults
        broken = check(shop, placement, early=False)
        if placement["start"] < job["arrives"]:
            broken.append("starts before the car is there")
        whole = {"bay": placement["bay"], "from": placement["start"], "to": placement["finish"]}
        for stay in placement.get("stays", [whole]):
            in_bay.setdefault(stay["bay"], []).append((stay["from"], stay["to"]))
        for step in placement["steps"]:
            for who in filter(None, [step["technician"], step.get("helper")]):
                at_work.setdefault(who, []).extend(map(tuple, step["pieces"]))
        found += [f"{job['code']}: {text}" for text in broken]
    for what, stretches in [*in_bay.items(), *at_work.items()]:
        ordered = sorted(stretches)
        if any(one[1] > two[0] for one, two in zip(ordered, ordered[1:])):
            found.append(f"{what} is in two places at once")
    return found


def figures(case, placements):
    """Lateness, finish and standing."""
    jobs = {job["code"]: job for job in case["jobs"]}
    late = sum(jobs[p["job"]]["weight"] * max(0, p["finish"] - jobs[p["job"]]["due"]) for p in placements)
    return late, max(p["finish"] for p in placements), sum(p["finish"] - p["start"] for p in placements)


def week_faults(case, answer):
    """What is wrong with the answer to a week."""
    if "error" in answer:
        return [answer["error"]]
    if "unplaced" in answer:
        known = {job["code"] for job in case["jobs"]}
        fine = answer["placements"] == [] and answer["unplaced"] and set(answer["unplaced"]) <= known
        return [] if fine else ["unplaced names no job, or others"]
    found = placed_faults(case, answer["placements"])
    late, finish, standing = said = figures(case, answer["placements"])
    if said != (answer["lateness"], answer["finish"], answer["standing"]):
        found.append(f"the figures are {said}")
    value = late if late > 0 else finish
    if answer["bound"] > value or answer["proven"] != (answer["bound"] == value):
        found.append("bound and proven don't agree")
    return found


def ask(oracle, cases):
    """The oracle's answers to these weeks."""
    lines = "".join(json.dumps(case) + "\n" for case in cases)
    run = subprocess.run([oracle, "week"], input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    if len(answers) != len(cases):
        sys.exit(f"{len(cases)} cases, but {len(answers)} answers")
    return answers


def hours(dice, days, each):
    found = []
    for day in range(days):
        if dice.random() < each:
            opens, closes = 480 + 15 * dice.randint(-2, 4), 1080 + 15 * dice.randint(-4, 2)
            found += [[DAY * day + opens, DAY * day + 720], [DAY * day + 720 + dice.choice([0, 45]), DAY * day + closes]]
    return found


def random_step(dice, place):
    return {
        "code": f"S{place}",
        "minutes": dice.choice([0, 20, 30, 45, 60, 90, 150, 240]),
        "skills": some(dice, SKILLS, 0.2),
        "splittable": dice.random() < 0.4,
        "piece": dice.choice([0, 15, 30, 60]),
        "wait": dice.choice([0, 0, 0, 10, 45, 240, 720]),
        "wait_when": dice.choice(["any", "any", "open"]),
        "holds": dice.choice(["car", "car", "after"]),
    }


def random_case(dice, at):
    days = dice.randint(2, 6)
    length = DAY * days

    def taken(most):
        begins = [dice.randint(0, length) for _ in range(dice.randint(0, most))]
        return [[begin, begin + dice.randint(10, 300)] for begin in begins]

    opening = hours(dice, days, 0.95)
    bays = [
        {"code": f"B{n}", "features": some(dice, FEATURES, 0.85), "open": opening if dice.random() < 0.7 else hours(dice, days, 0.9), "held": taken(2)}
        for n in range(dice.randint(1, 3))
    ]
    technicians = [
        {"code": f"T{n}", "skills": some(dice, SKILLS, 0.85), "working": hours(dice, days, 0.9), "busy": taken(3)}
        for n in range(dice.randint(1, 4))
    ]
    jobs = []
    for n in range(dice.randint(1, 10)):
        steps = [random_step(dice, place) for place in range(dice.randint(1, 5))]
        if all(step["minutes"] == 0 for step in steps):
            steps[-1]["minutes"] = 60
        plan = {"features": some(dice, FEATURES, 0.2), "steps": steps, "before": random_pairs(dice, len(steps))}
        arrives = dice.randint(-100, length // 2)
        due = arrives + dice.randint(60, length)
        jobs.append({"code": f"J{n}", "arrives": arrives, "due": due, "weight": dice.randint(1, 4), "plan": plan})
    fixed = [{"bay": dice.choice(bays)["code"], "start": a, "finish": b} for a, b in taken(2)]
    return {
        "id": at, "from": 0, "until": length, "slot_minutes": dice.choice([10, 15, 15, 30]), "bays": bays,
        "technicians": technicians, "fixed": fixed, "jobs": jobs, "budget_nodes": 200_000,
    }


def with_moves(dice, case):
    """The same week with cars that may change bays, and with steps for two."""
    jobs = []
    for job in case["jobs"]:
        moved = with_stays(dice, {**case, "plan": job["plan"]})
        steps = [{**step, "two": dice.random() < 0.15} for step in moved["plan"]["steps"]]
        jobs.append({**job, "plan": {**moved["plan"], "steps": steps}})
    return {**case, "bays": moved["bays"], "jobs": jobs}


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("oracle")
    arguments.add_argument("--cases", type=int, default=2000 if os.environ.get("BAYWRIGHT_TEST_LONG") else 100)
    arguments.add_argument("--seed", type=int, default=1)
    arguments = arguments.parse_args()
    dice = random.Random(arguments.seed)
    cases = [random_case(dice, at) for at in range(arguments.cases)]
    cases = [with_moves(dice, case) if case["id"] % 3 == 2 else case for case in cases]
    failed = placed = proven = late = moved = 0
    for case, answer in zip(cases, ask(arguments.oracle, cases)):
        found = week_faults(case, answer)
        placed += "lateness" in answer
        late += answer.get("lateness", 0) > 0
        proven += answer.get("proven", False)
        moved += any(len(placement.get("stays", [])) > 1 for placement in answer.get("placements", []))
        if found:
            failed += 1
            if failed <= 5:
                print(f"{json.dumps(case)}\n  {found}\n  answered {json.dumps(answer)[:600]}")
    print(f"{placed} of {len(cases)} weeks have room for all jobs, {late} of them are late; {proven} answers are proven; in {moved} a car is moved")
    if 4 * placed < len(cases) or 10 * late < len(cases) or 50 * moved < len(cases):
        sys.exit("the cases are too hard, or too easy, to tell much")
    print(f"{len(cases) - failed} passed, {failed} failed")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()

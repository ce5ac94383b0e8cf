#!/usr/bin/env python3
"""Checks that every placement which availability answers keeps every rule, on random shops over a few days.

    availability_check.py ORACLE [--cases 2000] [--seed 1]

ORACLE is the path of the built `oracle` program. It is run once, with every case on its standard input. Days are those
of real zones, many of them with a clock change, from Python's zoneinfo on the IANA database of PyPI `tzdata`; steps
are split, waits run overnight, some steps take two people. Prints the number of cases without fault and with one, and ends with 1 if one has.
BAYWRIGHT_TEST_LONG=1 takes 20,000 cases.

The rules are written down here once more, minute by minute, with no search: a case passes if its placements break none
of them, rise along the list, and no placement could start a slot later or end a piece sooner by plain shifting. Whether
the answer is the best there is, is the question of availability_cpsat.py.
"""

import argparse
import datetime
import json
import os
import random
import subprocess
import sys
import zoneinfo

ZONES = ["Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "America/Santiago", "Africa/Cairo"]
# Clock changes of these zones in 2026 (IANA 2026f), forward and back, by the local date.
CHANGES = {
    "Europe/Berlin": [(3, 29), (10, 25)],
    "America/New_York": [(3, 8), (11, 1)],
    "Australia/Lord_Howe": [(10, 4), (4, 5)],
    "America/Santiago": [(9, 6), (4, 5)],
    "Africa/Cairo": [(4, 24), (10, 30)],
}
SKILLS = ["wash", "polish", "sand"]
FEATURES = ["cover", "drain"]
DAY = datetime.timedelta(days=1)


def epoch_minute(zone, date, minutes):
    """A local time, in minutes since 1970 in UTC."""
    local = datetime.datetime.combine(date, datetime.time(0)) + datetime.timedelta(minutes=minutes)
    return int(local.replace(tzinfo=zone, fold=0).timestamp()) // 60


def minutes_of(pairs, first, until):
    found = set()
    for a, b in pairs:
        found.update(range(max(a, first), min(b, until)))
    return found


class Shop:
    """A case's time as sets of minutes."""

    def __init__(self, case):
        self.case = case
        self.first, self.until, self.slot = case["from"], case["until"], case["slot_minutes"]
        self.bays = {bay["code"]: bay for bay in case["bays"]}
        self.people = {person["code"]: person for person in case["technicians"]}
        of = lambda pairs: minutes_of(pairs, self.first, self.until)
        self.open = {code: of(bay["open"]) for code, bay in self.bays.items()}
        self.held = {code: of(bay["held"]) for code, bay in self.bays.items()}
        self.free = {code: of(p["working"]) - of(p["busy"]) for code, p in self.people.items()}

    def waited(self, step, end, bay):
        """The first minute by which the wait has passed."""
        if step["wait_when"] == "any" or step["wait"] == 0:
            return end + step["wait"]
        passed = 0
        for at in range(end, self.until):
            passed += at in self.open[bay]
            if passed == step["wait"]:
                return at + 1
        return self.until + 1


def held_back(plan):
    """For each step the later steps that its wait holds back: all of them, or those after it by the plan's pairs and what
    follows of them."""
    steps = plan["steps"]
    after = [set() for _ in steps]
    for first, then in plan.get("before", []):
        after[first].add(then)
    for first in reversed(range(len(steps))):
        after[first] = after[first].union(*(after[then] for then in after[first]))
    holds_car = [step.get("holds", "car") == "car" for step in steps]
    return [set(range(first + 1, len(steps))) if car else after[first] for first, car in enumerate(holds_car)]


def faults(shop, placement, early=True):
    """The rules that a placement breaks; `early` wants steps as early as they can be."""
    case, plan = shop.case, shop.case["plan"]
    bay, start, finish = placement["bay"], placement["start"], placement["finish"]
    if bay not in shop.bays:
        return ["no such bay"]
    found = []
    if not set(plan["features"]) <= set(shop.bays[bay]["features"]):
        found.append("bay lacks a feature")
    if (start - shop.first) % shop.slot or start not in shop.open[bay]:
        found.append("start is off its slot or in closed time")
    if not shop.first <= start < finish <= shop.until:
        found.append("outside the horizon")
    if any(minute in shop.held[bay] for minute in range(start, min(finish, shop.until))):
        found.append("bay is held")
    if [step["code"] for step in placement["steps"]] != [step["code"] for step in plan["steps"]]:
        return found + ["other steps"]
    held, end, passed = held_back(plan), start, []
    for number, (step, placed) in enumerate(zip(plan["steps"], placement["steps"])):
        ready = max([end, *[over for first, over in enumerate(passed) if number in held[first]]])
        end, broken = step_faults(shop, bay, step, placed, ready, early)
        found += [f"{step['code']}: {text}" for text in broken]
        passed.append(shop.waited(step, end, bay))
    if max(passed) != finish:
        found.append(f"finish is not {max(passed)}")
    return found


def step_faults(shop, bay, step, placed, ready, early):
    """When a placed step ends, and the rules that it breaks where it may begin at `ready`."""
    pieces, who, helper = placed["pieces"], placed["technician"], placed.get("helper")
    if step["minutes"] == 0:
        return ready, [] if who is None and helper is None and pieces == [] else ["nobody works on it"]
    if who not in shop.people or not pieces:
        return ready, ["no such technician, or no pieces"]
    two = step.get("two", False)
    if two != (helper is not None) or two and (helper == who or helper not in shop.people):
        return ready, ["no two people at a step for two, or a helper at one for one"]
    found = []
    if not set(step["skills"]) <= set(shop.people[who]["skills"]):
        found.append("technician lacks a skill")
    if pieces[0][0] < ready:
        found.append("too soon")
    if any(a >= b for a, b in pieces) or any(one[1] >= two[0] for one, two in zip(pieces, pieces[1:])):
        found.append("pieces are empty, touch or are out of order")
    if sum(b - a for a, b in pieces) != step["minutes"]:
        found.append("other minutes")
    smallest = max(step["piece"], 1) if step["splittable"] else step["minutes"]
    if len(pieces) > 1 and (not step["splittable"] or any(b - a < smallest for a, b in pieces[:-1])):
        found.append("a piece is too short, or the step may not be split")
    attended = shop.free[who] & shop.open[bay]
    if two:
        attended &= shop.free[helper]
    if not all(minute in attended for a, b in pieces for minute in range(a, b)):
        found.append("technician is not free, or the bay is closed")
    # As early as they can: the first piece can't be moved a minute forward, to where it would still be a piece.
    if early and len(pieces) == 1 and pieces[0][0] > ready:
        earlier = range(pieces[0][0] - 1, pieces[0][1] - 1)
        if all(minute in attended for minute in earlier):
            found.append("could begin sooner")
    return pieces[-1][1], found


def list_faults(shop, placements):
    """What is wrong with the list as a whole."""
    found = []
    if len(placements) > shop.case["count"]:
        found.append("too many")
    for one, two in zip(placements, placements[1:]):
        if two["start"] < one["start"] + shop.slot or two["finish"] <= one["finish"]:
            found.append("starts and finishes do not rise")
    for one in placements:
        # A car that only stands at first could come a slot later, if the bay is open then.
        later = one["start"] + shop.slot
        begins = next((s["pieces"][0][0] for s in one["steps"] if s["pieces"]), None)
        waits_first = shop.case["plan"]["steps"][0]["minutes"] == 0
        if not waits_first and begins is not None and later <= begins and later in shop.open[one["bay"]]:
            found.append("could start later")
    return found


def some(dice, words, each):
    return [word for word in words if dice.random() < each]


def days_of(dice, zone, dates, opens, closes, each):
    """Local hours of most of these days, each now and then with a break, in UTC minutes."""
    found = []
    for date in dates:
        if dice.random() > each:
            continue
        a, b = opens + 15 * dice.randint(-2, 2), closes + 15 * dice.randint(-2, 2)
        parts = [(a, b)]
        if dice.random() < 0.3:
            pause = dice.randrange(a + 60, b - 60, 5)
            parts = [(a, pause), (pause + dice.choice([0, 30, 45]), b)]
        found += [[epoch_minute(zone, date, x), epoch_minute(zone, date, y)] for x, y in parts]
    dice.shuffle(found)
    return [pair for pair in found if pair[0] < pair[1]]


def taken(dice, first, until, most):
    begins = [dice.randint(first - 60, until) for _ in range(dice.randint(0, most))]
    return [[begin, begin + dice.randint(1, 240)] for begin in begins]


def random_step(dice, place):
    return {
        "code": f"S{place}",
        "minutes": dice.choice([0, 15, 30, 45, 60, 90, 150, 240, 420]),
        "skills": some(dice, SKILLS, 0.2),
        "splittable": dice.random() < 0.5,
        "piece": dice.choice([0, 10, 30, 60]),
        "wait": dice.choice([0, 0, 0, 10, 45, 240, 720]),
        "wait_when": dice.choice(["any", "any", "open"]),
        "two": dice.random() < 0.15,
        "holds": dice.choice(["car", "after"]),
    }


def random_pairs(dice, size):
    """Pairs of an earlier and a later step."""
    return [[first, then] for then in range(size) for first in range(then) if dice.random() < 0.4]


def random_case(dice, at):
    name = dice.choice(ZONES)
    zone = zoneinfo.ZoneInfo(name)
    month, day = dice.choice(CHANGES[name])
    begin = datetime.date(2026, month, day) - dice.randint(0, 3) * DAY
    length = dice.randint(1, 4)
    dates = [begin + n * DAY for n in range(length)]
    first, until = epoch_minute(zone, begin, 0), epoch_minute(zone, begin + length * DAY, 0)
    # Some shops work at night, right through the change.
    opens, closes = dice.choice([(480, 1080), (480, 1080), (420, 720), (30, 480), (30, 1410)])
    hours = lambda each: days_of(dice, zone, dates, opens, closes, each)
    bays = [
        {"code": f"B{place}", "features": some(dice, FEATURES, 0.85), "open": hours(0.95), "held": taken(dice, first, until, 3)}
        for place in range(dice.randint(1, 3))
    ]
    technicians = [
        {"code": f"T{place}", "skills": some(dice, SKILLS, 0.8), "working": hours(0.85), "busy": taken(dice, first, until, 4)}
        for place in range(dice.randint(1, 4))
    ]
    steps = [random_step(dice, place) for place in range(dice.randint(1, 4))]
    if all(step["minutes"] == 0 for step in steps):
        steps[-1]["minutes"] = 60
    plan = {"features": some(dice, FEATURES, 0.2), "steps": steps, "before": random_pairs(dice, len(steps))}
    return {
        "id": at, "from": first, "until": until, "slot_minutes": dice.choice([10, 15, 15, 30]),
        "count": dice.randint(1, 4), "bays": bays, "technicians": technicians, "plan": plan,
    }


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("oracle")
    arguments.add_argument("--cases", type=int, default=20000 if os.environ.get("BAYWRIGHT_TEST_LONG") else 2000)
    arguments.add_argument("--seed", type=int, default=1)
    arguments = arguments.parse_args()
    dice = random.Random(arguments.seed)
    cases = [random_case(dice, at) for at in range(arguments.cases)]
    lines = "".join(json.dumps(case) + "\n" for case in cases)
    run = subprocess.run([arguments.oracle, "availability"], input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    if len(answers) != len(cases):
        sys.exit(f"{len(cases)} cases, but {len(answers)} answers")
    failed = placed = split = overnight = two = 0
    for case, answer in zip(cases, answers):
        placements = answer.get("placements")
        if placements is None:
            found = [answer.get("error", "no answer")]
        else:
            shop = Shop(case) if placements else None
            found = [text for placement in placements for text in faults(shop, placement)]
            found += list_faults(shop, placements) if not found and placements else []
            placed += bool(placements)
            split += any(len(step["pieces"]) > 1 for p in placements for step in p["steps"])
            overnight += any(p["finish"] - p["start"] > 1080 for p in placements)
            two += any("helper" in step for p in placements for step in p["steps"])
        if found:
            failed += 1
            if failed <= 5:
                print(f"{json.dumps(case)}\n  {found}\n  answered {json.dumps(answer)[:600]}")
    seen = f"{placed} placed, {split} with split steps, {overnight} overnight, {two} with two people at a step"
    if min(placed * 2, split * 20, overnight * 20, two * 20) < len(cases):
        sys.exit(f"the cases are too hard to tell much: {seen}")
    print(seen)
    print(f"{len(cases) - failed} passed, {failed} failed")
    sys.exit(1 if failed else 0)


zoneinfo.reset_tzpath(to=[])

if __name__ == "__main__":
    main()

#!/usr/bin/env python3
"""Compares weeks with what OR-Tools' CP-SAT finds, on random shops.

    week_cpsat.py ORACLE [--small 8] [--large 1] [--seconds 10] [--workers 2] [--seed 1]

ORACLE is the path of the built `oracle` program.

- Small: weeks of two to four jobs, where CP-SAT proves lateness, finish and standing one after another. All three are
  equal in at least 98 of 100, and whatever is called proven is.
- Large: weeks of five to twelve jobs. Lateness is equal to what CP-SAT finds in a minute, or less, in at least 95 of
  100, and never more than a fiftieth worse.

Every answer is verified by week_check.py. BAYWRIGHT_TEST_LONG=1 takes 200 small and 100 large weeks.

Reference: CP-SAT of OR-Tools 9.15.6755. The model knows nothing of lists or passes. A step in one go is an interval of
each technician who may do it, with the minutes at which it may begin; a step in pieces is a row of minutes, each a
variable of its own, with an automaton for the pieces; bays and technicians are in one place at a time.
"""

import argparse
import json
import os
import random
import sys
import time

from availability_check import some
from availability_cpsat import Solver, allow_pieces, minutes_of, waited
from ortools.sat.python import cp_model
from week_check import ask, week_faults

SKILLS = ["wash", "polish", "sand"]
FEATURES = ["cover", "drain"]


class Week:
    """A week as a model of CP-SAT."""

    def __init__(self, case):
        self.case, self.model = case, cp_model.CpModel()
        self.first, self.until, self.slot = case["from"], case["until"], case["slot_minutes"]
        of = lambda pairs: minutes_of(pairs, self.first, self.until)
        self.open = [of(bay["open"]) for bay in case["bays"]]
        self.free = [of(p["working"]) - of(p["busy"]) for p in case["technicians"]]
        self.at_work = [[] for _ in case["technicians"]]
        self.in_bay = [[] for _ in case["bays"]]
        for place, bay in enumerate(case["bays"]):
            fixed = [[f["start"], f["finish"]] for f in case["fixed"] if f["bay"] == bay["code"]]
            held = sorted(of(bay["held"] + fixed))
            self.in_bay[place] += [self.model.new_fixed_size_interval_var(m, 1, "") for m in held]
        self.starts, self.finishes, self.late, self.fits = [], [], [], True
        for job in case["jobs"]:
            self.add(job)
        for stretches in self.at_work + self.in_bay:
            self.model.add_no_overlap(stretches)

    def time(self):
        return self.model.new_int_var(self.first, self.until, "")

    def add(self, job):
        model, plan = self.model, job["plan"]
        start, finish, stay = self.time(), self.time(), model.new_int_var(1, self.until - self.first, "")
        bays = [p for p, bay in enumerate(self.case["bays"]) if set(plan["features"]) <= set(bay["features"])]
        chosen = {place: model.new_bool_var("") for place in bays}
        if not chosen:
            self.fits = False
            return
        model.add_exactly_one(chosen.values())
        bay_place = model.new_int_var(0, len(self.case["bays"]) - 1, "")
        model.add(bay_place == sum(place * taken for place, taken in chosen.items()))
        for place, taken in chosen.items():
            slots = [m for m in range(max(self.first, job["arrives"]), self.until) if (m - self.first) % self.slot == 0]
            allowed = cp_model.Domain.from_values([m for m in slots if m in self.open[place]])
            model.add_linear_expression_in_domain(start, allowed).only_enforce_if(taken)
            self.in_bay[place].append(model.new_optional_interval_var(start, stay, finish, taken, ""))
        ready = start
        for step in plan["steps"]:
            end = ready if step["minutes"] == 0 else self.add_step(step, ready, chosen)
            if end is None:
                self.fits = False
                return
            if step["wait"] == 0:
                ready = end
            elif step["wait_when"] == "any":
                ready = self.time()
                model.add(ready == end + step["wait"])
            else:
                ready = self.time()
                rows = [
                    (place, at, waited(step, at, self.open[place], self.until))
                    for place in chosen
                    for at in range(self.first, self.until + 1)
                ]
                rows = [row for row in rows if row[2] is not None]
                model.add_allowed_assignments([bay_place, end, ready], rows)
        model.add(finish == ready)
        late = model.new_int_var(0, self.until - self.first, "")
        model.add_max_equality(late, [finish - job["due"], 0])
        self.late.append(job["weight"] * late)
        self.starts.append(start)
        self.finishes.append(finish)

    def add_step(self, step, ready, chosen):
        """When a step ends that may begin at `ready`; None where nobody can do it."""
        model, minutes = self.model, step["minutes"]
        able = [p for p, who in enumerate(self.case["technicians"]) if set(step["skills"]) <= set(who["skills"])]
        if not able:
            return None
        by = {person: model.new_bool_var("") for person in able}
        model.add_exactly_one(by.values())
        end = self.time()
        if not step["splittable"] or step["piece"] >= minutes:
            begin = self.time()
            model.add(begin >= ready)
            model.add(end == begin + minutes)
            for person, does in by.items():
                self.at_work[person].append(model.new_optional_fixed_size_interval_var(begin, minutes, does, ""))
                for place, taken in chosen.items():
                    both = self.free[person] & self.open[place]
                    begins = [m for m in both if all(m + n in both for n in range(minutes))]
                    allowed = cp_model.Domain.from_values(begins)
                    model.add_linear_expression_in_domain(begin, allowed).only_enforce_if(does, taken)
            return end
        worked = [model.new_bool_var("") for _ in range(self.first, self.until)]
        for minute, works in zip(range(self.first, self.until), worked):
            for place, taken in chosen.items():
                if minute not in self.open[place]:
                    model.add_implication(works, ~taken)
            for person, does in by.items():
                if minute not in self.free[person]:
                    model.add_implication(works, ~does)
                else:
                    here = model.new_bool_var("")
                    model.add_bool_or(here, ~works, ~does)
                    self.at_work[person].append(model.new_optional_fixed_size_interval_var(minute, 1, here, ""))
            model.add(ready <= minute).only_enforce_if(works)
            model.add(end > minute).only_enforce_if(works)
        model.add(sum(worked) == minutes)
        allow_pieces(model, worked, step)
        # The end is that of the last piece, not later.
        for minute, works in zip(range(self.first, self.until), worked):
            last = model.new_bool_var("")
            model.add(end == minute + 1).only_enforce_if(last)
            model.add_implication(last, works)
            worked[minute - self.first] = last
        model.add_exactly_one(worked)
        return end

    def best(self, objective, solver):
        """The least value of the objective, and whether it is proven; (None, True) where there is none."""
        self.model.minimize(objective)
        status = solver.solve(self.model)
        if status in (cp_model.INFEASIBLE, cp_model.UNKNOWN):
            return None, status == cp_model.INFEASIBLE
        return round(solver.objective_value), status == cp_model.OPTIMAL

    def optimum(self, solver):
        """Lateness, finish and standing, one after another; None where not all jobs fit; False where not proven."""
        if not self.fits:
            return None
        last = self.time()
        self.model.add_max_equality(last, self.finishes)
        found = []
        for objective in [sum(self.late), last, sum(self.finishes) - sum(self.starts)]:
            value, proven = self.best(objective, solver)
            if not proven:
                return False
            if value is None:
                return None
            self.model.add(objective == value)
            found.append(value)
        return tuple(found)


def days(dice, first, until, count, each):
    """So many days with their hours and now and then a break."""
    day, found = (until - first) // count, []
    for begin in range(first, until - day + 1, day):
        opens, closes = begin + dice.randint(0, day // 6), begin + day - dice.randint(1, day // 4)
        if dice.random() < 0.4:
            pause = dice.randint(opens + day // 4, closes - day // 4)
            found += [[opens, pause], [pause + dice.randint(1, 3), closes]]
        elif dice.random() < each:
            found.append([opens, closes])
    return [pair for pair in found if pair[0] < pair[1]]


def stretches(dice, first, until, most, longest):
    begins = [dice.randint(first, until) for _ in range(dice.randint(0, most))]
    return [[begin, begin + dice.randint(1, longest)] for begin in begins]


def random_case(dice, at, jobs, length, split):
    first = dice.choice([0, 0, -7, 1000])
    until = first + length
    hours = days(dice, first, until, 4, 1.0)
    bays = [
        {
            "code": f"B{n}", "features": some(dice, FEATURES, 0.95), "held": stretches(dice, first, until, 1, 8),
            "open": hours if dice.random() < 0.7 else days(dice, first, until, 4, 0.95),
        }
        for n in range(dice.randint(1, 3))
    ]
    technicians = [
        {
            "code": f"T{n}", "skills": some(dice, SKILLS, 0.85), "working": days(dice, first, until, 4, 0.9),
            "busy": stretches(dice, first, until, 2, 6),
        }
        for n in range(dice.randint(1, 3))
    ]
    listed = []
    for n in range(jobs):
        steps = [
            {
                "code": f"S{place}", "minutes": dice.choice([0, 2, 3, 5, 5, 8, 12]), "skills": some(dice, SKILLS, 0.2),
                "splittable": dice.random() < split, "piece": dice.randint(0, 4),
                "wait": dice.choice([0, 0, 0, 1, 4, 10]), "wait_when": dice.choice(["any", "any", "open"]),
            }
            for place in range(dice.randint(1, 4))
        ]
        if all(step["minutes"] == 0 for step in steps):
            steps[0]["minutes"] = 5
        arrives = dice.randint(first - 5, first + length // 3)
        due = arrives + dice.randint(10, length // 2)
        plan = {"features": some(dice, FEATURES, 0.2), "steps": steps}
        listed.append({"code": f"J{n}", "arrives": arrives, "due": due, "weight": dice.randint(1, 3), "plan": plan})
    fixed = [{"bay": dice.choice(bays)["code"], "start": a, "finish": b} for a, b in stretches(dice, first, until, 1, 9)]
    return {
        "id": at, "from": first, "until": until, "slot_minutes": dice.choice([1, 2, 3, 5]), "bays": bays,
        "technicians": technicians, "fixed": fixed, "jobs": listed,
    }


def small_cases(dice, count):
    """Weeks of two to four jobs."""
    return [{**random_case(dice, n, dice.randint(2, 4), dice.randint(90, 130), 0.3), "budget_nodes": 2_000_000} for n in range(count)]


def placed_at(answer):
    """Lateness, finish and standing of an answer, or None where not all jobs fit."""
    return None if "unplaced" in answer else (answer["lateness"], answer["finish"], answer["standing"])


def compare_small(oracle, dice, count, workers):
    """Whether enough are equal, and whatever is called proven is."""
    cases = small_cases(dice, count)
    began = time.monotonic()
    answers = ask(oracle, cases)
    own, began = time.monotonic() - began, time.monotonic()
    equal = compared = placed = bad = 0
    for case, answer in zip(cases, answers):
        broken = week_faults(case, answer)
        best = Week(case).optimum(Solver(workers, 60))
        if best is False:
            continue
        compared += 1
        placed += best is not None
        found = placed_at(answer)
        equal += found == best
        if answer["proven"] and best is not None:
            value = lambda three: three[0] if three[0] > 0 else three[1]
            if found is None or found[0] != best[0] or value(found) != value(best):
                broken.append("called proven, but is not the best")
        if found is not None and (best is None or found < best):
            broken.append("better than what is proven to be the best")
        if found != best:
            print(f"CP-SAT {best}, answered {found}: {json.dumps(case)}")
        if broken:
            bad += 1
            print(f"{broken}: {json.dumps(case)}\n  answered {json.dumps(answer)[:800]}")
    print(f"small: {equal} of {compared} equal ({placed} with room for all), {bad} broken; {own:.1f} s, CP-SAT {time.monotonic() - began:.1f} s")
    if 3 * placed < count or 10 * compared < 9 * count:
        sys.exit("the cases are too hard to tell much")
    return bad == 0 and 100 * equal >= 98 * compared


def compare_large(oracle, dice, count, seconds, workers):
    """Whether lateness is nowhere much more, and nearly nowhere more, than what CP-SAT finds in time."""
    # As many nodes as some seconds allow, so that the answers are the same on every machine.
    cases = [{**random_case(dice, n, dice.randint(5, 12), 400, 0.15), "budget_nodes": 20_000_000} for n in range(count)]
    equal = bad = late = optimal = 0
    for case in cases:
        answer = ask(oracle, [case])[0]
        broken = week_faults(case, answer)
        week = Week(case)
        value, proven = week.best(sum(week.late), Solver(workers, seconds)) if week.fits else (None, True)
        found = answer.get("lateness")
        # Less than CP-SAT has found in time, or room where it found none, is as good as equal.
        as_good = value is None if found is None else value is None or found <= value
        equal += as_good
        late += bool(found)
        optimal += proven
        print(f"large {case['id']}: {len(case['jobs'])} jobs, CP-SAT {value}{' proven' if proven else ''}, answered {found}", flush=True)
        if not as_good:
            print(f"not as good: {json.dumps(case)}")
            if found is None or 50 * (found - value) > value:
                broken.append("more than a fiftieth worse")
        if broken:
            bad += 1
            print(f"{broken}: {json.dumps(case)[:300]}\n  answered {json.dumps(answer)[:300]}")
    print(f"large: {equal} of {count} with no more lateness than CP-SAT in {seconds} s ({optimal} proven by it), {late} late, {bad} broken")
    return bad == 0 and 100 * equal >= 95 * count


def main():
    long = bool(os.environ.get("BAYWRIGHT_TEST_LONG"))
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("oracle")
    arguments.add_argument("--small", type=int, default=200 if long else 8)
    arguments.add_argument("--large", type=int, default=100 if long else 1)
    arguments.add_argument("--seconds", type=int, default=60 if long else 10)
    arguments.add_argument("--workers", type=int, default=2)
    arguments.add_argument("--seed", type=int, default=1)
    arguments = arguments.parse_args()
    seed, workers = arguments.seed, arguments.workers
    fine = compare_small(arguments.oracle, random.Random(seed), arguments.small, workers)
    fine &= compare_large(arguments.oracle, random.Random(seed + 1), arguments.large, arguments.seconds, workers)
    sys.exit(0 if fine else 1)


if __name__ == "__main__":
    main()

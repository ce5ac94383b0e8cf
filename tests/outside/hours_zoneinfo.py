#!/usr/bin/env python3
"""Compares opening hours in UTC with Python's zoneinfo, over ten years in five zones.

    hours_zoneinfo.py ORACLE [--cases 1000] [--seed 1]

ORACLE is the path of the built `oracle` program. It is run once, with every case on its standard input. First every
day of 2024 to 2033 in each zone, a year at a time; then every day of a clock change and its neighbours alone; then so
many random spans. Prints the number of cases that agree and that do not, and ends with 1 if one does not.

Reference: Python's zoneinfo on the IANA database of PyPI `tzdata`, never the machine's own. A local time that a clock
change skips or repeats is read with fold=0 (PEP 495): with the offset from before the change.
"""

import argparse
import datetime
import json
import random
import subprocess
import sys
import zoneinfo

import tzdata

RELEASE = "2026f"
# Cairo and Santiago change their clocks at midnight, Lord Howe by half an hour; Dublin's winter time is its exception.
ZONES = ["Europe/Dublin", "America/New_York", "Australia/Lord_Howe", "America/Santiago", "Africa/Cairo"]
YEARS = range(2024, 2034)
DAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
DAY = datetime.timedelta(days=1)
# Ordinary hours, a whole day, hours around and inside the hours that clock changes skip or repeat, hours over midnight.
USUAL = [["08:00", "18:00"], ["00:00", "24:00"], ["23:00", "24:00"], ["00:00", "00:45"], ["00:15", "01:00"]]
USUAL += [["01:30", "02:30"], ["02:10", "02:20"], ["02:30", "03:00"], ["23:30", "00:30"], ["22:00", "06:00"]]


def utc(zone, date, clock):
    """The moment of a local time, with the offset from before a change. 24:00 is the next day's midnight."""
    hours, minutes = map(int, clock.split(":"))
    if hours == 24:
        date, hours = date + DAY, 0
    local = datetime.datetime.combine(date, datetime.time(hours, minutes), tzinfo=zone)
    return local.replace(fold=0).astimezone(datetime.timezone.utc)


def dates(first, until):
    while first < until:
        yield first
        first += DAY


def reference(case):
    """The open intervals of a case, merged, as pairs of text."""
    zone = zoneinfo.ZoneInfo(case["zone"])
    first, until = datetime.date.fromisoformat(case["from"]), datetime.date.fromisoformat(case["until"])
    begin, end = utc(zone, first, "00:00"), utc(zone, until, "00:00")
    found = []
    # Hours that began the day before may reach in.
    for date in dates(first - DAY, until):
        if any(a <= date.isoformat() < b for a, b in case["closures"]):
            continue
        for opens, closes in case["weekly"].get(DAYS[date.weekday()], []):
            last_day = date + DAY if closes <= opens else date
            interval = max(utc(zone, date, opens), begin), min(utc(zone, last_day, closes), end)
            if interval[0] < interval[1]:
                found.append(interval)
    merged = []
    for opens, closes in sorted(found):
        if merged and opens <= merged[-1][1]:
            merged[-1][1] = max(merged[-1][1], closes)
        else:
            merged.append([opens, closes])
    text = lambda moment: moment.strftime("%Y-%m-%dT%H:%M:%SZ")
    return [[text(opens), text(closes)] for opens, closes in merged]


def clock_changes(name):
    """The dates on which the offset at noon differs from the noon before."""
    zone = zoneinfo.ZoneInfo(name)
    noon = lambda date: datetime.datetime.combine(date, datetime.time(12), tzinfo=zone).utcoffset()
    span = dates(datetime.date(YEARS[0], 1, 2), datetime.date(YEARS[-1] + 1, 1, 1))
    return [date for date in span if noon(date) != noon(date - DAY)]


def every_day(hours):
    return {day: hours for day in DAYS}


def random_hours(dice):
    opens = dice.randrange(0, 1440, 5)
    closes = dice.randrange(0, 1445, 5)
    if dice.random() < 0.5:
        opens, closes = dice.choice([0, 5, 30, 60, 90, 120, 150, 1380, 1410]), dice.choice([60, 120, 150, 180, 1410, 1440])
    if opens == closes:
        closes = opens + 5
    return [f"{minutes // 60:02}:{minutes % 60:02}" for minutes in (opens, closes)]


def random_case(dice):
    name = dice.choice(ZONES)
    around = dice.choice(clock_change_days[name]) if dice.random() < 0.7 else datetime.date(
        dice.choice(YEARS), dice.randint(1, 12), dice.randint(1, 28))
    first = around - dice.randint(0, 5) * DAY
    closures = []
    for _ in range(dice.randint(0, 2)):
        closed = first + dice.randint(-2, 8) * DAY
        closures.append([closed.isoformat(), (closed + dice.randint(1, 3) * DAY).isoformat()])
    weekly = {day: [random_hours(dice) for _ in range(dice.randint(0, 3))] for day in DAYS}
    return case(name, weekly, first, first + dice.randint(1, 12) * DAY, closures)


def case(name, weekly, first, until, closures=()):
    return {
        "zone": name, "weekly": weekly, "closures": list(closures), "from": first.isoformat(), "until": until.isoformat()
    }


def fixed_cases():
    for name in ZONES:
        for year in YEARS:
            for hours in USUAL:
                yield case(name, every_day([hours]), datetime.date(year, 1, 1), datetime.date(year + 1, 1, 1))
        for change in clock_change_days[name]:
            for date in dates(change - DAY, change + 2 * DAY):
                for hours in USUAL:
                    yield case(name, every_day([hours]), date, date + DAY)


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("oracle")
    arguments.add_argument("--cases", type=int, default=1000)
    arguments.add_argument("--seed", type=int, default=1)
    arguments = arguments.parse_args()
    dice = random.Random(arguments.seed)
    cases = list(fixed_cases()) + [random_case(dice) for _ in range(arguments.cases)]
    lines = "".join(json.dumps(one) + "\n" for one in cases)
    run = subprocess.run([arguments.oracle, "hours"], input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    if len(answers) != len(cases):
        sys.exit(f"{len(cases)} cases, but {len(answers)} answers")
    failed = 0
    for one, answer in zip(cases, answers):
        expected = reference(one)
        if answer.get("open") != expected:
            failed += 1
            if failed <= 5:
                print(f"{json.dumps(one)}\n  expected {expected[:4]}\n  answered {json.dumps(answer)[:400]}")
    print(f"{len(cases) - failed} passed, {failed} failed")
    sys.exit(1 if failed else 0)


zoneinfo.reset_tzpath(to=[])
if tzdata.IANA_VERSION != RELEASE:
    sys.exit(f"tzdata has IANA {tzdata.IANA_VERSION}, the check needs {RELEASE}; install requirements.txt")
clock_change_days = {name: clock_changes(name) for name in ZONES}

if __name__ == "__main__":
    main()

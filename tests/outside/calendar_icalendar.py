#!/usr/bin/env python3
"""Reads the calendar files of bookings with the general library icalendar (PyPI), which follows RFC 5545.

    calendar_icalendar.py ORACLE [COUNT] [SEED]

ORACLE is the path of the built `oracle` program. Random appointments whose texts hold separators, escapes, line ends,
letters of every width and very long lines must come back as they went in; the library keeps lines of at most 75 octets
itself, so lines are also measured here (RFC 5545, 3.1).
"""

import argparse
import json
import random
import subprocess
import sys
from datetime import datetime, timedelta, timezone

from icalendar import Calendar


def text(dice, longest):
    pool = ["a", "Z", "9", " ", ",", ";", ":", "\\", "\"", "\n", "é", "ß", "漢", "🚗", "\\n", "BEGIN:VEVENT"]
    return "".join(dice.choice(pool) for _ in range(dice.randint(0, longest))).strip() or "x"


def case(dice, at):
    start = datetime(2024, 1, 1, tzinfo=timezone.utc) + timedelta(minutes=dice.randint(0, 5_000_000))
    finish = start + timedelta(minutes=dice.randint(1, 129_600))
    moment = lambda at: at.strftime("%Y-%m-%dT%H:%M:%SZ")
    return {
        "id": at, "uid": "%032x" % dice.getrandbits(128), "sequence": dice.randint(0, 1000),
        "stamp": moment(start - timedelta(days=3)), "start": moment(start), "finish": moment(finish),
        "summary": text(dice, 40), "location": text(dice, 60), "description": text(dice, 400),
        "cancelled": dice.random() < 0.3,
    }


def faults(asked, file):
    """What a reader finds other than it was asked for."""
    if any(len(line.encode()) > 75 for line in file.split("\r\n")) or "\n" in file.replace("\r\n", ""):
        yield "a line is too long, or ends in another way"
    calendar = Calendar.from_ical(file)
    if calendar["version"] != "2.0" or not calendar["prodid"]:
        yield "no version or no maker"
    events = calendar.walk("VEVENT")
    if len(events) != 1:
        yield f"{len(events)} events"
        return
    event = events[0]
    if event.errors or calendar.errors:
        yield f"the reader complains: {event.errors} {calendar.errors}"
    for name, key in [("uid", "uid"), ("summary", "summary"), ("location", "location"), ("description", "description")]:
        if str(event[name]) != asked[key]:
            yield f"{name}: {str(event[name])!r}"
    for name, key in [("dtstamp", "stamp"), ("dtstart", "start"), ("dtend", "finish")]:
        if event[name].dt != datetime.fromisoformat(asked[key].replace("Z", "+00:00")):
            yield f"{name}: {event[name].dt}"
    if event["sequence"] != asked["sequence"]:
        yield f"sequence: {event['sequence']}"
    if event["status"] != ("CANCELLED" if asked["cancelled"] else "CONFIRMED"):
        yield f"status: {event['status']}"


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("oracle")
    arguments.add_argument("count", nargs="?", type=int, default=2000)
    arguments.add_argument("seed", nargs="?", type=int, default=random.SystemRandom().randint(1, 10**9))
    chosen = arguments.parse_args()
    dice = random.Random(chosen.seed)
    cases = [case(dice, at) for at in range(chosen.count)]
    lines = "".join(json.dumps(one) + "\n" for one in cases)
    run = subprocess.run([chosen.oracle, "appointment"], input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    wrong = 0
    for asked, answer in zip(cases, answers, strict=True):
        found = [answer["error"]] if "error" in answer else list(faults(asked, answer["file"]))
        if found:
            wrong += 1
            print(f"seed {chosen.seed}, case {asked['id']}: {'; '.join(found)}\n  {json.dumps(asked)}")
    print(f"calendar files beside icalendar: {chosen.count} files, {wrong} read otherwise (seed {chosen.seed})")
    return 1 if wrong or not cases else 0


if __name__ == "__main__":
    sys.exit(main())

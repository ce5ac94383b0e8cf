#!/usr/bin/env python3
"""Reads the calendar files that mails bring, and feeds of many, with the general library icalendar (PyPI), which follows
RFC 5545.

    calendar_icalendar.py ORACLE [COUNT] [SEED]

ORACLE is the path of the built `oracle` program. Random appointments whose texts hold separators, escapes, line ends,
letters of every width and very long lines must come back as they went in; the library keeps lines of at most 75 octets
itself, so lines are also measured here (RFC 5545, 3.1). A file of a mail keeps what RFC 5546 asks of its method: sections
3.2.1 (PUBLISH) and 3.2.5 (CANCEL), whose tables are checked row by row in `message_faults`.
"""

import argparse
import json
import random
import re
import subprocess
import sys
from datetime import datetime, timedelta, timezone
from urllib.parse import unquote

from icalendar import Calendar


def text(dice, longest):
    pool = ["a", "Z", "9", " ", ",", ";", ":", "\\", "\"", "\n", "é", "ß", "漢", "🚗", "\\n", "BEGIN:VEVENT"]
    return "".join(dice.choice(pool) for _ in range(dice.randint(0, longest))).strip() or "x"


def case(dice):
    start = datetime(2024, 1, 1, tzinfo=timezone.utc) + timedelta(minutes=dice.randint(0, 5_000_000))
    finish = start + timedelta(minutes=dice.randint(1, 129_600))
    moment = lambda at: at.strftime("%Y-%m-%dT%H:%M:%SZ")
    return {
        "uid": "%032x" % dice.getrandbits(128), "sequence": dice.randint(0, 1000),
        "stamp": moment(start - timedelta(days=3)), "start": moment(start), "finish": moment(finish),
        "summary": text(dice, 40), "location": text(dice, 60), "description": text(dice, 400),
        "cancelled": dice.random() < 0.3,
    }


def invited(dice):
    """An event as mails bring it: with whom to ask, who invites and an alarm."""
    letters = "".join(dice.choice("abcXYZ.+-_'&=0") for _ in range(dice.randint(1, 12)))
    name = text(dice, 30).replace("\n", " ").replace("\"", "'").replace("\\", "/")
    return case(dice) | {
        "contact": text(dice, 50), "organizer": [name, f"{letters}@studio.example"],
        "alarm_minutes": dice.randint(1, 3000), "cancelled": False,
    }


def mail(dice, at):
    if dice.random() < 0.3:
        return {"id": at, "cancel": invited(dice)}
    return {"id": at, "publish": [invited(dice) for _ in range(dice.randint(1, 3))]}


def feed(dice, at):
    return {"id": at, "name": text(dice, 60), "events": [case(dice) for _ in range(dice.randint(0, 6))]}


def unescaped(text):
    """TEXT as RFC 5545, 3.3.11, escapes it: the library leaves NAME as it is written, a property of RFC 7986."""
    return re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], text)


def form_faults(calendar, file):
    """What is wrong with the file as such."""
    if any(len(line.encode()) > 75 for line in file.split("\r\n")) or "\n" in file.replace("\r\n", ""):
        yield "a line is too long, or ends in another way"
    if calendar["version"] != "2.0" or not calendar["prodid"]:
        yield "no version or no maker"
    if calendar.errors:
        yield f"the reader complains: {calendar.errors}"


def message_faults(calendar, method):
    """What RFC 5546 asks of a file that goes by mail with that method."""
    events = calendar.walk("VEVENT")
    if calendar.get("method") != method:
        yield f"method: {calendar.get('method')}"
    if len(calendar.walk("VCALENDAR")) != 1 or not events:
        yield "no single calendar with events"
    for event in events:
        if any(name not in event for name in ["organizer", "dtstamp", "uid", "sequence"]) or "attendee" in event:
            yield "an event names no organizer, time stamp, uid or sequence, or names attendees"
        if method == "PUBLISH" and ("dtstart" not in event or "summary" not in event or event["status"] == "CANCELLED"):
            yield "a published event has no start or summary, or is cancelled"
        if method == "CANCEL" and (event["status"] != "CANCELLED" or event.walk("VALARM")):
            yield "a cancelled event has another status, or an alarm"
    if method == "CANCEL" and len({str(event["uid"]) for event in events}) != 1:
        yield "events of several uids are cancelled in one file"
    if method == "PUBLISH" and len({str(event["uid"]) for event in events}) != len(events):
        yield "two published events have one uid"


def faults(asked, file):
    """What a reader finds other than it was asked for: events of a mail, or a feed with its name."""
    calendar = Calendar.from_ical(file)
    yield from form_faults(calendar, file)
    if "cancel" in asked:
        wanted = [asked["cancel"] | {"cancelled": True, "alarm_minutes": None}]
        yield from message_faults(calendar, "CANCEL")
    elif "publish" in asked:
        wanted = asked["publish"]
        yield from message_faults(calendar, "PUBLISH")
    else:
        wanted = asked["events"]
        if "method" in calendar:
            yield "a feed is no message from one calendar to another"
    events = calendar.walk("VEVENT")
    if len(events) != len(wanted):
        yield f"{len(events)} events"
        return
    if "name" in asked:
        if unescaped(str(calendar["name"])) != asked["name"]:
            yield f"name: {str(calendar['name'])!r}"
        if calendar["refresh-interval"].dt != timedelta(hours=1):
            yield f"come back: {calendar['refresh-interval']}"
    for one, event in zip(wanted, events, strict=True):
        yield from event_faults(one, event)


def event_faults(asked, event):
    """What one event says other than it was asked for."""
    if event.errors:
        yield f"the reader complains: {event.errors}"
    for name, key in [("uid", "uid"), ("summary", "summary"), ("location", "location"), ("description", "description")]:
        if str(event[name]) != asked[key]:
            yield f"{name}: {str(event[name])!r}"
    for name, key in [("dtstamp", "stamp"), ("dtstart", "start"), ("dtend", "finish")]:
        if event[name].dt != datetime.fromisoformat(asked[key].replace("Z", "+00:00")):
            yield f"{name}: {event[name].dt}"
    if "organizer" in asked:
        name, address = asked["organizer"]
        found = event["organizer"]
        if str(found.params.get("CN")) != name or unquote(str(found)) != f"mailto:{address}":
            yield f"organizer: {found.params} {found}"
        if str(event["contact"]) != asked["contact"]:
            yield f"contact: {event['contact']}"
        alarms = event.walk("VALARM")
        if [alarm["trigger"].dt for alarm in alarms] != (
            [] if asked["alarm_minutes"] is None else [timedelta(minutes=-asked["alarm_minutes"])]):
            yield f"alarms: {alarms}"
        if any(alarm["action"] != "DISPLAY" or not str(alarm["description"]) for alarm in alarms):
            yield "an alarm shows nothing"
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
    wrong = sum(check(chosen, kind, [make(dice, at) for at in range(chosen.count)])
                for kind, make in [("appointment", mail), ("feed", feed)])
    print(f"calendar files beside icalendar: 2 x {chosen.count} files, {wrong} read otherwise (seed {chosen.seed})")
    return 1 if wrong or not chosen.count else 0


def check(chosen, kind, cases):
    """How many files of a kind read otherwise."""
    lines = "".join(json.dumps(one) + "\n" for one in cases)
    run = subprocess.run([chosen.oracle, kind], input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    wrong = 0
    for asked, answer in zip(cases, answers, strict=True):
        found = [answer["error"]] if "error" in answer else list(faults(asked, answer["file"]))
        if found:
            wrong += 1
            print(f"seed {chosen.seed}, case {asked['id']}: {'; '.join(found)}\n  {json.dumps(asked)}")
    return wrong


if __name__ == "__main__":
    sys.exit(main())

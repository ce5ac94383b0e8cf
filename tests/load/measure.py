#!/usr/bin/env python3
"""The program's speed beside what the machine can do at most: tests/load/measure.py PROGRAM LOAD [REPORT]

Reads stand beside a bare actix server on the same SQLite file, bookings beside bare commits that are as durable; each in the
order bare, program, bare within one minute, so that what else the machine does falls on both. No time is ever a reason to
fail: that both servers give the same answers is, and that every request is answered well. With REPORT, a folder, it takes
longer and writes a table of ratios.
"""
import datetime
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time

import report
import running

PROGRAM, LOAD = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
REPORT = sys.argv[3] if len(sys.argv) > 3 else None
OWNER, PASSWORD = "orla@slackwater.example", "seven soft mitts drying"
SECONDS, STARTS, MILLIS = (6, 20, 4000) if REPORT else (2, 7, 1000)
# What else the settings say stays as it is: sign-in, roles, limits' headers, metrics, and a line of the log for each request.
SERVE = [PROGRAM, "serve", "--listen", "ADDRESS", "--rate", "2000000000"]
results, table = [], report.Table()


def check(name, condition, seen=""):
    results.append(bool(condition))
    print(("ok    " if condition else "FAILED"), name, "" if condition else f": {seen}", flush=True)


def demo(folder):
    """The demo's studio, as a file that the program was ended on."""
    server = running.Server([PROGRAM, "demo", "--listen", "ADDRESS", "--folder", f"{folder}/demo"], f"{folder}/demo.log")
    server.wait("/readyz", seconds=120)
    assert server.stop() == 0
    return ["--database", f"sqlite:{folder}/demo/demo.db", "--data", f"{folder}/demo"]


def starts(folder, store):
    """Start to ready, and memory before anybody asked for anything."""
    took = []
    for turn in range(STARTS):
        server = running.Server([*SERVE, *store], f"{folder}/starts.log")
        took.append(server.wait("/readyz"))
        if turn == STARTS - 1:
            time.sleep(3)
            table.memory_idle = server.memory()
        check("it ends well when it is told to", server.stop() == 0) if turn == 0 else server.stop()
    table.ready = statistics.median(took)


def reads(folder, store):
    """List and get of quotes, and days, from both servers."""
    program = running.Server([*SERVE, "--workers", "1", *store], f"{folder}/serve.log", running.SERVER)
    program.wait("/readyz")
    bare = running.Server([LOAD, "bare", store[1].removeprefix("sqlite:"), "--listen", "ADDRESS", "--base", "http://127.0.0.1:8080"],
                          f"{folder}/bare.log", running.SERVER)
    bare.wait("/v1/quotes?limit=1")
    try:
        token = program.sign_in(OWNER, PASSWORD)
        text = lambda server, path: server.get(path, token)[1]
        quotes = [quote["id"] for quote in json.loads(text(program, "/v1/quotes?limit=200"))["items"] if quote["state"] != "DRAFT"]
        today = datetime.datetime.now(datetime.timezone.utc).date()
        days = [today + datetime.timedelta(days=count) for count in range(-7, 8)]
        cases = [("list of 20 quotes", ["/v1/quotes?limit=20"]), ("one quote", [f"/v1/quotes/{id}" for id in quotes]),
                 ("a day's bookings", [f"/v1/days/{day}" for day in days])]
        items = [text(server, "/v1/quotes?limit=20").split('],"next":')[0] for server in (program, bare)]
        check("both list the same 20 quotes, to the byte", items[0] == items[1] and items[0].count('"id"') == 20, items)
        different = [path for path in cases[1][1] if json.loads(text(program, path)) != json.loads(text(bare, path))]
        check(f"both give the same {len(quotes)} quotes", quotes and not different, different[:3])
        different = [path for path in cases[2][1] if text(program, path) != text(bare, path)]
        busy = sum('"quote_id"' in text(program, path) for path in cases[2][1])
        check(f"both give the same {len(days)} days, {busy} of them with work, to the byte", busy > 5 and not different, different[:3])
        for name, paths in cases:
            a, b, c = [running.loaded(server, paths, token, SECONDS, folder) for server in (bare, program, bare)]
            for who, seen in (("bare", a), ("program", b), ("bare", c)):
                check(f"{name}: the {who} answers all of {seen['requests']} well", seen["requests"] and not seen["refused"] + seen["lost"], seen)
            size = statistics.mean(len(text(program, path)) for path in paths)
            table.read(name, size, a, b, c)
        table.memory_busy = program.memory()
    finally:
        bare.stop()
        program.stop()


def bookings(folder):
    """Bookings that are committed, beside commits of one row."""
    store = ["--database", f"sqlite:{folder}/bookings.db", "--data", folder]
    email, password = "orla@example.com", "four wet sponges dry slowly"
    subprocess.run([PROGRAM, *store, "shop", "create", "--name", "Load", "--currency", "EUR", "--zone", "Europe/Dublin", "--tax", "23",
                    "--owner-name", "Orla Kane", "--owner-email", email, "--password-stdin"], input=password + "\n", text=True,
                   check=True, capture_output=True)
    program = running.Server([*SERVE, *store], f"{folder}/bookings.log", running.SERVER)
    program.wait("/readyz")
    try:
        token = program.sign_in(email, password)
        commits = lambda turn: running.measured([LOAD, "commits", f"{folder}/commits-{turn}.db", "--millis", str(MILLIS)], running.SERVER)
        before = commits(1)
        booked = running.measured([LOAD, "bookings", program.base, token, "--millis", str(MILLIS)], running.CLIENT)
        after = commits(2)
    finally:
        program.stop()
    check(f"{booked['placed']} cars were booked, each with 201, and called off again", booked["placed"] >= 240, booked)
    whole = subprocess.run([PROGRAM, *store, "verify"], capture_output=True, text=True, check=False)
    check("and the log of it is one whole chain", whole.returncode == 0, whole.stdout + whole.stderr)
    table.write(booked, before, after)


def conditions():
    """What the numbers depend on."""
    wrk = running.version("wrk", "wrk", "--version")
    return [running.conditions(PROGRAM), f"{wrk} with 16 connections for {SECONDS} s each."]


began = time.monotonic()
# Beside the built program, since what is kept in memory alone would commit for nothing.
with tempfile.TemporaryDirectory(prefix="load-", dir=os.path.dirname(PROGRAM)) as folder:
    store = demo(folder)
    starts(folder, store)
    reads(folder, store)
    bookings(folder)
text = table.text(conditions(), (time.monotonic() - began) / 60)
print(text)
if REPORT:
    report.write(REPORT, "program", text)
print(f"{sum(results)} passed, {len(results) - sum(results)} failed")
sys.exit(not all(results))

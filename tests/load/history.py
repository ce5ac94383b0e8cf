#!/usr/bin/env python3
"""What bookings of other years cost a question about the diary: tests/load/history.py PROGRAM LOAD [REPORT]

One shop is copied, and each copy filled with ever more bookings before and after the same quarter of a year, in which all
copies have the same few. Every copy is served by a process of its own and asked, in turn, when the same work can be done.
An answer takes time for the intervals of the quarter, not for those of the history: the ratio of the medians says so. It is
no reason to fail; that all give the same answer, to the byte, is. With REPORT it asks more often and writes a table.
"""
import datetime
import http.client
import json
import os
import sys
import tempfile
import time

import filled
import report
import running

PROGRAM, LOAD = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
REPORT = sys.argv[3] if len(sys.argv) > 3 else None
SIZES = [100, 10_000, 1_000_000]
ROUNDS = 1000 if REPORT else 200


class Copy:
    """A copy of the shop with so many bookings, and the program that serves it."""

    def __init__(self, folder, shop, first, size):
        file, quotes = shop
        began = time.monotonic()
        copy = f"{folder}/{size}.db"
        self.filled = filled.book(LOAD, file, copy, quotes["pattern"], first, size)
        self.filling, self.size, self.times, self.texts = time.monotonic() - began, size, [], set()
        self.bytes = os.path.getsize(copy)
        self.server = running.Server(filled.serve(PROGRAM, "--database", f"sqlite:{copy}", "--data", folder), f"{folder}/{size}.log",
                                     running.SERVER)
        self.server.wait("/readyz")
        self.path = f"/v1/quotes/{quotes['quote']}/availability?from={first}T00:00:00Z&count=5"
        self.header = {"Authorization": f"Bearer {self.server.sign_in(filled.EMAIL, filled.PASSWORD)}"}
        self.line = http.client.HTTPConnection("127.0.0.1", self.server.port, timeout=60)

    def ask(self, counts):
        """Asks once; the answer's time counts, or not yet."""
        began = time.perf_counter()
        self.line.request("GET", self.path, headers=self.header)
        answer = self.line.getresponse()
        text = answer.read()
        took = time.perf_counter() - began
        self.texts.add((answer.status, text))
        if counts:
            self.times.append(took)

    def line_of(self, few):
        """The line of the table; `few` is the copy with the fewest bookings."""
        ours, least = report.Spread(self.times), report.Spread(few.times)
        return (f"{self.size:,}", f"{self.filled['days'] / 365:.1f}", f"{self.bytes / 1e6:,.0f} MB", str(ours), f"{ours.median / least.median:.2f}",
                "" if self is few else "1.50")


began = time.monotonic()
first = datetime.datetime.now(datetime.timezone.utc).date() + datetime.timedelta(days=1)
# Beside the built program, on a disk.
with tempfile.TemporaryDirectory(prefix="history-", dir=os.path.dirname(PROGRAM)) as folder:
    base = filled.shop(PROGRAM, LOAD, folder)
    copies = [Copy(folder, base, first, size) for size in SIZES]
    try:
        os.sched_setaffinity(0, running.CLIENT)
        # What is read for the first time comes from the disk.
        for round in range(-10, ROUNDS):
            for copy in copies:
                copy.ask(round >= 0)
        memory = [copy.server.memory() for copy in copies]
    finally:
        for copy in copies:
            copy.server.stop()
texts = set.union(*(copy.texts for copy in copies))
status, answer = next(iter(texts))
times = json.loads(answer)["times"] if status == 200 else []
within = copies[0].filled["within"]
# The quarter's first days are full, so the search has passed them.
full = times and (datetime.date.fromisoformat(times[0]["start"][:10]) - first).days
results = [len(texts) == 1, len(times) == 5 and full >= 30]
print("ok    " if results[0] else "FAILED", f"all {len(SIZES)} shops give the same answer, to the byte, {ROUNDS} times")
print("ok    " if results[1] else "FAILED", f"of five times, the first {full} days ahead, behind {within} bookings")
text = report.section(
    "A question about the diary, by bookings in the database",
    ("bookings", "years", "file", "time per answer, median and 95th percentile", "ratio of medians", "aim"),
    [copy.line_of(copies[0]) for copy in copies],
    [f"`GET /v1/quotes/{{id}}/availability` over HTTP, for five times in the same quarter of a year, in which each database has the "
     f"same {within} bookings; all others are before it and after it, sixteen a day in each of three bays.",
     f"SQLite; each database asked {ROUNDS} times in turn, in one run of {(time.monotonic() - began) / 60:.1f} minutes; a million "
     f"bookings were written in {copies[-1].filling:.0f} s; the programs have {min(memory):.0f} to {max(memory):.0f} MiB resident.",
     running.conditions(PROGRAM)])
print(text)
if REPORT:
    report.write(REPORT, "history", text)
print(f"{sum(results)} passed, {len(results) - sum(results)} failed")
sys.exit(not all(results))

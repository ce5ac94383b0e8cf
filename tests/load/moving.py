#!/usr/bin/env python3
"""The demo and years of a shop, moved to PostgreSQL and back: tests/load/moving.py PROGRAM LOAD

Each is moved from its file into a database of the server, and from there into another file. All three are served then and
asked for the same things, a thousand where there are so many: what they answer must be the same, to the byte. The years
are bookings, and a log that the program itself follows. A move that is killed on its way leaves nothing behind. How long a
move takes is said, and is no reason to fail.
"""
import contextlib
import datetime
import json
import os
import re
import subprocess
import sys
import tempfile
import time

import filled
import running

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "fuzz"))
import program as shipped  # noqa: E402

PROGRAM, LOAD = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
# Ten years of a busy shop where there is time for them, else one.
YEARS = 10 if os.environ.get("BAYWRIGHT_TEST_LONG") or os.environ.get("BAYWRIGHT_TEST_REPORT") else 1
BOOKINGS, RECORDS, ANSWERS = 6_000 * YEARS, 100_000 * YEARS, 1000
# Who asks is signed in at each server anew; mails that wait go out from each at its own moment.
LEFT_OUT = {"/v1/me", "/v1/messages"}
results = []


def check(name, condition, seen=""):
    results.append(bool(condition))
    print(("ok    " if condition else "FAILED"), name, "" if condition else f": {seen}", flush=True)


def move(origin, to, data):
    """The command, under way."""
    return subprocess.Popen([PROGRAM, "--data", data, "move", "--from", origin, "--to", to], stdout=subprocess.PIPE,
                            stderr=subprocess.STDOUT, text=True)


def moved(origin, to, data):
    """Moves to the end; gives the digest that the command says."""
    began = time.monotonic()
    command = move(origin, to, data)
    said = command.communicate(timeout=900)[0]
    engines = f"{origin.split(':')[0]} to {to.split(':')[0]}"
    found = re.search(r"^Moved (\d+) rows .* digest (\w+)\.$", said, re.MULTILINE)
    check(f"{engines}: {found and found[1]} rows in {time.monotonic() - began:.0f} s", command.returncode == 0 and found, said)
    return found and found[2]


def paths(server, token):
    """What can be asked for: all that stands alone, the first pages of every list, and what its records are read at."""
    reads = [path for path, item in json.loads(server.get("/openapi.json")[1])["paths"].items() if "get" in item]
    alone = [path for path in reads if path.startswith("/v1/") and "{" not in path and path not in LEFT_OUT]
    found, below = list(alone), []
    for path in alone:
        page, ids = f"{path}?limit=200", []
        while page and len(ids) < 1000:
            status, text = server.get(page, token)
            body = json.loads(text) if status == 200 and text.startswith("{") else {}
            items = body.get("items") if isinstance(body.get("items"), list) else []
            found += [page] if items else []
            ids += [item["id"] for item in items if isinstance(item, dict) and "id" in item]
            page = body.get("next") and body["next"][body["next"].index("/v1/"):]
        inner = [read for read in reads if re.fullmatch(rf"{re.escape(path)}/{{id}}(/[a-z-]+)?", read)]
        below += [read.replace("{id}", one) for one in ids for read in inner]
    # Of many, some of each kind.
    every = max(1, len(below) // ANSWERS)
    return found + below[::every]


def told(server, path, token):
    """Status and text of an answer, without the moment at which it was made; of a "no" the status alone, since its text
    names the request."""
    status, text = server.get(path, token)
    return status, re.sub(r'"made_at":"[^"]+"', "", text) if status == 200 else ""


def alike(name, addresses, data, account, folder):
    """Serves all of the databases and asks them for the same things."""
    with contextlib.ExitStack() as stack:
        servers = []
        for number, address in enumerate(addresses):
            command = filled.serve(PROGRAM, "--database", address, "--data", data)
            servers.append(running.Server(command, f"{folder}/{name}-{number}.log"))
            stack.callback(servers[-1].stop)
            servers[-1].wait("/readyz")
        tokens = [server.sign_in(*account) for server in servers]
        good, others = 0, []
        for path in paths(servers[0], tokens[0]):
            # What the clock changes in each of them at its own moment is alike a little later.
            for _ in range(3):
                answers = {told(server, path, token) for server, token in zip(servers, tokens)}
                if len(answers) == 1:
                    break
                time.sleep(3)
            if len(answers) > 1:
                others.append(path)
            elif next(iter(answers))[0] == 200:
                good += 1
        check(f"{name}: {good} answers are the same from all {len(servers)} databases", good > 0 and not others, others[:10])
        return good


def there_and_back(name, file, data, account, folder):
    """Moves a file's database to the server and back; gives how many answers were the same."""
    origin, back = f"sqlite:{file}", f"sqlite:{folder}/{name}-back.db"
    with shipped.database("postgres", folder) as server:
        if name == "years":
            killed = move(origin, server, data)
            time.sleep(2)
            killed.kill()
            killed.wait(timeout=30)
            # The server notices a moment later that nobody listens.
            time.sleep(2)
        digests = [moved(origin, server, data), moved(server, back, data)]
        check(f"{name}: one digest on both ways", digests[0] and digests[0] == digests[1], digests)
        return alike(name, [origin, server, back], data, account, folder) if all(digests) else 0


def demo(folder):
    """The demo's file and folder, and who signs in there."""
    place = f"{folder}/demo"
    server = running.Server([PROGRAM, "demo", "--listen", "ADDRESS", "--folder", place], f"{folder}/demo.log")
    server.wait("/readyz", seconds=300)
    server.stop()
    return f"{place}/demo.db", place, ("orla@slackwater.example", "seven soft mitts drying")


def years(folder):
    """The same of a shop with years behind it."""
    file, quotes = filled.shop(PROGRAM, LOAD, folder)
    first = datetime.datetime.now(datetime.timezone.utc).date() + datetime.timedelta(days=1)
    filled.book(LOAD, file, f"{folder}/years.db", quotes["pattern"], first, BOOKINGS)
    filled.lengthen(f"{folder}/years.db", RECORDS)
    return f"{folder}/years.db", folder, (filled.EMAIL, filled.PASSWORD)


# Beside the built program, on a disk.
with tempfile.TemporaryDirectory(prefix="moving-", dir=os.path.dirname(PROGRAM)) as folder:
    answers = [there_and_back(made.__name__, *made(folder), folder) for made in (demo, years)]
check(f"{sum(answers)} answers were compared", sum(answers) >= ANSWERS)
print(f"{sum(results)} passed, {len(results) - sum(results)} failed")
sys.exit(not all(results))

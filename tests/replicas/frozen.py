#!/usr/bin/env python3
"""A replica that stands still, and a database whose locks are held: tests/replicas/frozen.py PROGRAM

Two replicas on one PostgreSQL. One is stopped (SIGSTOP) at a moment at which it holds a shop's lock; the other one must go
on: other shops at once, that shop as soon as the server has ended the silent session. Then the stopped one wakes up.
"""
import concurrent.futures
import glob
import hashlib
import os
import pathlib
import signal
import subprocess
import sys
import tempfile
import threading
import time

import containers
import pieces

sys.path.insert(0, str(containers.ROOT / "tests" / "fuzz"))
import program as shipped  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
ROUNDS = 3
results = []


def check(name, condition, seen=""):
    results.append(bool(condition))
    print(("ok    " if condition else "FAILED"), name, "" if condition else f": {seen}", flush=True)


def psql(address, *more):
    tool = sorted(glob.glob("/usr/lib/postgresql/*/bin/psql"))[-1]
    return [tool, "--no-psqlrc", "--quiet", "--tuples-only", "--no-align", "--set=ON_ERROR_STOP=1", *more, address]


def rows(address, statement):
    done = subprocess.run(psql(address, f"--command={statement}"), capture_output=True, text=True, check=True)
    return [line for line in done.stdout.splitlines() if line]


def sign_in(replica, owner):
    said = replica.ask("POST", "/v1/sessions", {"email": owner, "password": shipped.PASSWORD})
    assert said.status == 201, said
    return said.body["access_token"]


def add(replica, token, name):
    """One change; gives its status, 0 where no answer came, how long it took and the answer."""
    begun = time.monotonic()
    try:
        said = replica.ask("POST", "/v1/customers", {"name": name}, token=token)
    except OSError:
        return 0, time.monotonic() - begun, None
    return said.status, time.monotonic() - begun, said


HELD = """SELECT a.state FROM pg_locks l JOIN pg_stat_activity a USING (pid)
    WHERE l.locktype = 'advisory' AND l.granted AND l.database = (SELECT oid FROM pg_database WHERE datname = current_database())"""


def freeze(address, replica, token, made):
    """Stops the replica while it holds a shop's lock; gives the state of that session."""
    ended = threading.Event()

    def write(number):
        while not ended.is_set():
            name = f"first-{number}-{time.monotonic_ns()}"
            if add(replica, token, name)[0] == 201:
                made.append(name)

    writers = [threading.Thread(target=write, args=(number,), daemon=True) for number in range(6)]
    for writer in writers:
        writer.start()
    try:
        for _ in range(300):
            time.sleep(0.03)
            replica.process.send_signal(signal.SIGSTOP)
            time.sleep(0.05)
            states = rows(address, HELD)
            if states:
                return states
            replica.process.send_signal(signal.SIGCONT)
    finally:
        ended.set()
    raise SystemExit("the replica was never stopped with a lock")


def frozen(address, first, second, tokens):
    made = []
    for turn in range(ROUNDS):
        states = freeze(address, first, tokens["one"], made)
        begun = time.monotonic()
        with concurrent.futures.ThreadPoolExecutor(24) as pool:
            same = [pool.submit(add, second, tokens["one"], f"same-{turn}-{number}") for number in range(10)]
            other = [pool.submit(add, second, tokens["two"], f"other-{turn}-{number}") for number in range(6)]
            ready = pool.submit(second.ask, "GET", "/readyz")
            door = pool.submit(sign_in, second, "two@example.com")
            same, other = [done.result() for done in same], [done.result() for done in other]
            check(f"while a replica stands still with a shop's lock ({', '.join(states)}), another shop writes on",
                  all(status == 201 and took < 10 for status, took, _ in other), [(status, took) for status, took, _ in other])
            refused = [said for status, _, said in same if status != 201]
            check(f"and {len(refused)} of 10 writers of its shop are told to come again, each in time",
                  all(said and said.status == 503 and said.headers.get("retry-after") for said in refused) and all(took < 15 for _, took, _ in same),
                  [(status, took) for status, took, _ in same])
            check("the healthy replica is ready, and somebody signs in", ready.result().status == 200 and door.result())
        made.extend(f"same-{turn}-{number}" for number, (status, _, _) in enumerate(same) if status == 201)
        back = None
        while time.monotonic() - begun < 40:
            status, _, _ = add(second, tokens["one"], f"after-{turn}")
            if status == 201:
                back = time.monotonic() - begun
                made.append(f"after-{turn}")
                break
        check(f"the shop itself writes again after {back and round(back)} s", back is not None and back < 20, back)
        first.process.send_signal(signal.SIGCONT)
        time.sleep(2)
        again = [add(first, tokens["one"], f"awake-{turn}-{number}") for number in range(8)]
        made.extend(f"awake-{turn}-{number}" for number, (status, _, _) in enumerate(again) if status == 201)
        check("the replica that wakes up serves again", again[-1][0] == 201, [(status, took) for status, took, _ in again])
    there = rows(address, "SELECT name FROM customer")
    check(f"all {len(made)} customers that were acknowledged are there, each once",
          all(there.count(name) == 1 for name in made), [name for name in made if there.count(name) != 1][:5])
    check("and none is there twice", len(there) == len(set(there)))
    logged = [line for replica in (first, second) for line in replica.log.read_text().splitlines() if '"status":500' in line]
    check("no request was a defect", not logged, logged[:3])


def held(address, replica, tokens):
    """Somebody else holds the locks of as many shops as there are writers."""
    shops = rows(address, "SELECT id FROM shop ORDER BY id")
    # The first eight bytes of the digest, as a signed number.
    keys = [int.from_bytes(hashlib.sha256(shop.encode()).digest()[:8], "big", signed=True) for shop in shops]
    locks = "".join(f"SELECT pg_advisory_lock({key});\n" for key in keys)
    with subprocess.Popen(psql(address), stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as holder:
        holder.stdin.write(locks + "SELECT 'held';\n")
        holder.stdin.flush()
        for line in holder.stdout:
            if line.strip() == "held":
                break
        with concurrent.futures.ThreadPoolExecutor(24) as pool:
            writing = [pool.submit(add, replica, token, f"held-{number}") for token in tokens.values() for number in range(3)]
            time.sleep(1)
            said = replica.ask("GET", "/readyz")
            check("while no writer is to be had the program says that it is not ready",
                  said.status == 503 and said.headers.get("retry-after"), said)
            listed = replica.ask("GET", "/v1/customers?limit=1", token=next(iter(tokens.values())))
            check("and still answers who reads", listed.status == 200, listed)
            answers = [done.result() for done in writing]
        check("all writers are told to come again in time", all(status == 503 and took < 20 for status, took, _ in answers),
              [(status, took) for status, took, _ in answers])
        holder.stdin.close()
        holder.wait(timeout=30)
    check("it is ready again once the locks are free", replica.ask("GET", "/readyz").status == 200)
    check("and writes", all(add(replica, token, "free")[0] == 201 for token in tokens.values()))


def reads_only(address, replica):
    """A server that takes no changes is no server to be ready with."""
    name = rows(address, "SELECT current_database()")[0]
    rows(address, f"ALTER DATABASE {name} SET default_transaction_read_only = on")
    try:
        rows(address, f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}' AND pid <> pg_backend_pid()")
        answers = [replica.ask("GET", "/readyz").status for _ in range(12)]
        check("a database that takes no changes is not ready", answers[-1] == 503, answers)
    finally:
        # The session's own setting first, by a statement of its own.
        statements = ("SET default_transaction_read_only = off", f"ALTER DATABASE {name} RESET default_transaction_read_only")
        subprocess.run(psql(address, *(f"--command={statement}" for statement in statements)), check=True)
        rows(address, f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}' AND pid <> pg_backend_pid()")
    answers = [replica.ask("GET", "/readyz").status for _ in range(12)]
    check("and is again once it does", answers[-1] == 200, answers)


with tempfile.TemporaryDirectory(prefix="baywright-frozen-") as name:
    folder = pathlib.Path(name)
    with shipped.database("postgres", name) as address:
        settings = {"BAYWRIGHT_DATABASE": address, "BAYWRIGHT_DATA": str(folder), "BAYWRIGHT_LOG_JSON": "true",
                    "BAYWRIGHT_RATE": "1000000"}
        shops = ["one", "two", "three", "four"]
        for shop in shops:
            shipped.found_shop(PROGRAM, address, folder, shop, f"{shop}@example.com")
        first, second = [pieces.Replica(PROGRAM, settings, folder / f"{which}.log") for which in ("first", "second")]
        try:
            for replica in (first, second):
                replica.start()
                for _ in range(300):
                    if replica.is_ready():
                        break
                    time.sleep(0.1)
            tokens = {shop: sign_in(second, f"{shop}@example.com") for shop in shops}
            frozen(address, first, second, tokens)
            held(address, second, tokens)
            reads_only(address, second)
        finally:
            for replica in (first, second):
                if replica.process and replica.process.poll() is None:
                    replica.process.send_signal(signal.SIGCONT)
                replica.stop()
        command = [PROGRAM, "verify"]
        chain = subprocess.run(command, env=pieces.environment(settings), capture_output=True, text=True, timeout=120, check=False)
        check("the log that both wrote is one whole chain", chain.returncode == 0, chain.stdout + chain.stderr)
print(f"{sum(results)} passed, {len(results) - sum(results)} failed")
sys.exit(not all(results))

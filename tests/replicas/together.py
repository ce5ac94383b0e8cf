#!/usr/bin/env python3
"""What docker-compose.yml starts, started by hand: tests/replicas/together.py PROGRAM

An empty PostgreSQL database, the program twice with the compose file's settings, the mail catcher as the Dockerfile starts
it, and nginx with the proxy's configuration; of all of them only the addresses differ. What must hold with two replicas
is tried on them: one migration, one sign-in, one copy of each mail, one run of each job, and a stop that nobody notices.
"""
import concurrent.futures
import datetime
import os
import pathlib
import sys
import tempfile
import time
import zoneinfo

import containers
import pieces
import work

sys.path.insert(0, str(containers.ROOT / "tests" / "fuzz"))
import program as shipped  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
OWNER = "owner@example.com"
MAILS, ROUNDS = 40, 10
results = []


def check(name, condition, seen=""):
    results.append(bool(condition))
    print(("ok    " if condition else "FAILED"), name, "" if condition else f": {seen}", flush=True)


def wait_for(what, seconds, step=0.1):
    """Whether it became true in time."""
    end = time.monotonic() + seconds
    while not what():
        if time.monotonic() > end:
            return False
        time.sleep(step)
    return True


def at_once(count, ask):
    """What so many requests give, eight of them at a time."""
    with concurrent.futures.ThreadPoolExecutor(8) as pool:
        return list(pool.map(ask, range(count)))


def start(there):
    """All three of the compose file's runs of the program, at the same moment on an empty database."""
    migrate = there.migrate()
    for replica in there.replicas:
        replica.start()
    said = migrate.communicate(timeout=60)[0]
    check("the migration ends well while both replicas start", migrate.returncode == 0, said)
    ready = [wait_for(replica.is_ready, 30) for replica in there.replicas]
    check("both replicas become ready", all(ready), there.logs())
    ran = there.rows("SELECT version FROM __diesel_schema_migrations ORDER BY version")
    folders = sorted((containers.ROOT / "migrations" / "postgres").glob("*/up.sql"))
    check("each migration ran, and once", len(ran) == len(set(ran)) == len(folders), ran)
    again = there.migrate().communicate(timeout=60)[0]
    check("a second run finds nothing to do", "(ran 0 migrations)" in again, again)
    check("baywright ready says so", all(there.ready(replica.port).returncode == 0 for replica in there.replicas))
    nobody = there.ready(pieces.free_port())
    check("and says what is wrong where nobody listens", nobody.returncode == 1 and "no service answers" in nobody.stderr, nobody)


def by_day():
    """A time zone in which it is day now: reminders go out by day, and these checks run at any hour."""
    zones = ["Europe/Dublin", "America/New_York", "Pacific/Honolulu", "Asia/Tokyo"]
    return next(zone for zone in zones if 9 <= datetime.datetime.now(zoneinfo.ZoneInfo(zone)).hour < 18)


def sign_in(there):
    """A sign-in made at one replica is one at the other, and so is its end."""
    shipped.found_shop(PROGRAM, there.address, there.folder, "Two Doors", OWNER, by_day())
    first, second = there.replicas
    session = first.ask("POST", "/v1/sessions", {"email": OWNER, "password": shipped.PASSWORD})
    check("an owner signs in at one", session.status == 201, session)
    me = lambda replica, token: replica.ask("GET", "/v1/me", token=token).status
    token = session.body["access_token"]
    check("and is signed in at both", (me(first, token), me(second, token)) == (200, 200))
    fresh = second.ask("POST", "/v1/sessions/refresh", {"refresh_token": session.body["refresh_token"]})
    check("the other one gives fresh tokens", fresh.status == 200, fresh)
    token = fresh.body["access_token"]
    check("which hold at both", (me(first, token), me(second, token)) == (200, 200))
    ended = second.ask("POST", "/v1/sessions/end", token=token)
    check("a sign-out at one", ended.status in (200, 204), ended)
    check("ends it at both at once", (me(first, token), me(second, token)) == (401, 401))


def mails(there, desks):
    """Both couriers run; each mail arrives once."""
    sent = [work.send_quote(desks[turn % 2], f"customer-{turn}@example.com") for turn in range(MAILS)]
    arrived = wait_for(lambda: len(there.mails()) >= MAILS, 60)
    time.sleep(6)  # Three more turns of both clockworks.
    got = there.mails()
    ids = {mail["Message-ID"] for mail in got}
    check(f"{MAILS} mails arrive, each once", arrived and len(got) == len(ids) == MAILS, (len(got), len(ids)))
    wanted = sorted(f"customer-{turn}@example.com" for turn in range(MAILS))
    check("each at its own address", sorted(mail["X-RcptTo"] for mail in got) == wanted, [mail["X-RcptTo"] for mail in got])
    carried = [len(replica.lines("mail sent")) for replica in there.replicas]
    check(f"both couriers carried some ({carried[0]} and {carried[1]})", all(carried) and sum(carried) == MAILS, there.logs())
    states = there.rows("SELECT state || ' ' || tries FROM message")
    check("and each was tried once", states == ["SENT 1"] * MAILS, states)
    return sent


def jobs(there, desks, sent):
    """Both clockworks find the same jobs due at the same moment, again and again; what is done is done once."""
    work.change_terms(desks[0], lapse_reminder_days=5)
    for quote in sent[:ROUNDS]:
        # The moment up to which it holds has come, and the jobs' period begins anew.
        there.rows(f"""SET session_replication_role = replica;
            UPDATE quote_revision SET sent_at = sent_at - 864000000, holds_until = sent_at - 1 WHERE quote_id = '{quote}';
            UPDATE clock_run SET period = period - 1 WHERE job IN ('quote.lapse', 'reminder.lapse')""")
        wait_for(lambda: there.rows(f"SELECT id FROM record WHERE action = 'quote.lapsed' AND subject_id = '{quote}'"), 15)
    time.sleep(5)
    lapses = there.rows("SELECT subject_id FROM record WHERE action = 'quote.lapsed'")
    check(f"{ROUNDS} quotes lapsed, each once", sorted(lapses) == sorted(sent[:ROUNDS]), lapses)
    given = there.rows("SELECT subject_id FROM reminder WHERE kind = 'BEFORE_LAPSE'")
    check(f"{len(given)} customers were reminded, each once", len(given) == len(set(given)) and len(given) >= MAILS - ROUNDS,
          (len(given), len(set(given))))
    gone = wait_for(lambda: len(there.mails()) >= MAILS + len(given), 60)
    time.sleep(5)
    ids = [mail["Message-ID"] for mail in there.mails()]
    check("and each got one mail of it", gone and len(ids) == len(set(ids)) == MAILS + len(given), len(ids))
    double = there.rows("SELECT job FROM clock_run GROUP BY shop_id, job HAVING count(*) > 1")
    check("no job has two notes", double == [], double)


def proxy(there):
    """Through the proxy the client's own address is seen, whatever the client claims."""
    left = lambda source, forged: int(there.through("GET", "/v1/me", source=source, headers={"X-Forwarded-For": forged}).headers["ratelimit-remaining"])
    counts = at_once(80, lambda turn: left("127.0.0.21", f"192.0.2.{turn}"))
    # The two replicas take turns and count each for itself; twenty are given back in a second.
    check("a client that claims other addresses is still one client", min(counts) < 1190, counts)
    check("and another client has a count of its own", left("127.0.0.22", "127.0.0.21") == 1199)
    wrong = {"email": OWNER, "password": "not the right one"}
    refused = there.through("POST", "/v1/sessions", wrong, source="127.0.0.23", headers={"X-Forwarded-For": "192.0.2.99"})
    # A line is written a moment after the answer.
    wait_for(lambda: any(replica.lines("a sign-in failed") for replica in there.replicas), 5)
    seen = [line["fields"].get("address") for replica in there.replicas for line in replica.lines("a sign-in failed")]
    check("the address in the log is the client's", refused.status == 401 and seen == ["127.0.0.23"], seen)
    counts = at_once(80, lambda turn: left(containers.GATEWAY, f"192.0.2.{turn}"))
    check("clients behind a program for TLS have counts of their own", min(counts) == 1199, counts)
    counts = at_once(80, lambda turn: left(containers.GATEWAY, f"198.51.100.{turn}, 192.0.2.200"))
    check("and what they claim before that program's entry counts for nothing", min(counts) < 1190, counts)
    claimed = {"X-Forwarded-For": "198.51.100.1, 203.0.113.7"}
    refused = there.through("POST", "/v1/sessions", wrong, source=containers.GATEWAY, headers=claimed)
    failed = lambda: [line["fields"].get("address") for replica in there.replicas for line in replica.lines("a sign-in failed")]
    wait_for(lambda: len(failed()) > 1, 5)
    check("the log has the address that it wrote", refused.status == 401 and sorted(failed()) == ["127.0.0.23", "203.0.113.7"], failed())
    check("metrics stay inside", there.through("GET", "/metrics").status == 404)
    page = there.through("GET", "/q/none")
    check("a page comes through with its headers", page.status == 404 and "default-src 'none'" in page.headers["content-security-policy"], page)


def without_proxy(folder):
    """Where no proxy is configured, nobody's word about an address counts."""
    own = pieces.Replica(PROGRAM, {"BAYWRIGHT_DATABASE": f"sqlite:{folder}/alone.db", "BAYWRIGHT_DATA": str(folder), "BAYWRIGHT_LOG_JSON": "true"},
                         folder / "alone.log")
    own.start()
    try:
        wait_for(own.is_ready, 30)
        left = lambda turn: int(own.ask("GET", "/v1/me", headers={"X-Forwarded-For": f"192.0.2.{turn}"}).headers["ratelimit-remaining"])
        counts = at_once(40, left)
        check("without a proxy in the settings the header counts for nothing", min(counts) < 1190, counts)
    finally:
        own.stop()


def stop_under_load(there, token):
    """One replica is told to stop while the proxy brings it work; nothing that was taken is lost."""
    first, second = there.replicas
    made, answers, end = [], [], time.monotonic() + 5

    def client(number):
        turn = 0
        while time.monotonic() < end:
            source = f"127.0.{1 + number}.{1 + turn // 400}"
            name = f"load-{number}-{turn}"
            try:
                if turn % 2:
                    said = there.through("GET", "/v1/customers?limit=5", token=token, source=source)
                else:
                    said = there.through("POST", "/v1/customers", {"name": name}, token=token, source=source)
                answers.append(said.status)
                if said.status == 201:
                    made.append(name)
            except OSError as error:
                answers.append(repr(error))
            turn += 1

    with concurrent.futures.ThreadPoolExecutor(8) as pool:
        running = [pool.submit(client, number) for number in range(8)]
        time.sleep(1.5)
        before = len(answers)
        code = first.stop()
        after = len(answers)
        [done.result() for done in running]
    bad = [answer for answer in answers if answer not in (200, 201)]
    check(f"no request of {len(answers)} failed while one replica stopped", not bad and before > 50 and len(answers) > after + 50, bad[:5])
    check("it ended with code 0", code == 0, code)
    there_are = there.rows("SELECT name FROM customer WHERE name LIKE 'load-%'")
    check(f"all {len(made)} customers that were acknowledged are there, each once", sorted(there_are) == sorted(made), (len(there_are), len(made)))
    check("the other one goes on", second.is_ready() and there.through("GET", "/readyz").status == 200)
    first.start()
    back = wait_for(first.is_ready, 30)
    served = len(first.lines("", "access"))
    took = wait_for(lambda: there.through("GET", "/readyz").status == 200 and len(first.lines("", "access")) > served + 3, 20)
    check("the one that comes back is given work again", back and took)
    for replica in there.replicas:
        replica.stop()
    gone = there.through("GET", "/v1/me")
    check("with none left the proxy says so as a problem", gone.status == 503 and gone.body.get("type") == "/problems/unavailable"
          and gone.headers["retry-after"] == "5" and gone.headers["content-type"] == "application/problem+json", gone)
    browser = {"Accept": "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"}
    gone = there.through("GET", "/q/none", headers=browser)
    check("and to a browser as a page", gone.status == 503 and "<h1>This page is not available" in gone.body
          and gone.headers["retry-after"] == "5" and gone.headers["content-type"] == "text/html; charset=utf-8", gone)


with tempfile.TemporaryDirectory(prefix="baywright-replicas-") as name:
    folder = pathlib.Path(name)
    folder.chmod(0o755)  # The proxy's workers are another user.
    with shipped.database("postgres", name) as address, pieces.Together(PROGRAM, address, folder) as there:
        start(there)
        sign_in(there)
        desks = [shipped.Desk(replica.base, OWNER) for replica in there.replicas]
        work.furnish(desks[0])
        sent = mails(there, desks)
        jobs(there, desks, sent)
        proxy(there)
        without_proxy(folder)
        stop_under_load(there, desks[0].token)
        chain = there.run("verify")
        check("the log that both wrote is one whole chain", chain.returncode == 0, chain.stdout + chain.stderr)
print(f"{sum(results)} passed, {len(results) - sum(results)} failed")
sys.exit(not all(results))

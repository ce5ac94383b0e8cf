"""The program as it ships, from outside: first start, settings, signals, what it logs, and what `verify` finds.

Usage: program.py PROGRAM. Talks to loopback alone; everything it starts is ended by its id.
"""
import pathlib
import re
import sqlite3
import tempfile
import threading
import time
import urllib.parse

from service import PASSWORD, Service, check, finish, run


def settings(folder):
    for flags, word in [
        (("serve", "--public-url", "ftp://x"), "--public-url"),
        (("serve", "--token-key", "short"), "32 characters"),
        (("serve", "--smtp-user", "me"), "--smtp-password"),
        (("serve", "--database", "mysql://x"), "postgres://"),
        (("serve", "--former-token-key", "x" * 40), "--token-key"),
        (("shop", "create", "--name", "A", "--currency", "EURO", "--zone", "x", "--tax", "1", "--owner-name", "a", "--owner-email", "a@example.com"), "EUR"),
    ]:
        done = run(*flags, folder=folder)
        check(f"a bad setting is refused with what to do: {flags[1]}", done.returncode != 0 and word in done.stderr, done.stderr)
        check("and without a panic", "panicked" not in done.stderr, done.stderr)
    help_text = run("--help", folder=folder).stdout
    for command in ["serve", "demo", "migrate", "shop", "user", "keys", "verify", "openapi"]:
        check(f"--help names {command}", re.search(rf"^  {command} ", help_text, re.M), help_text)
    secret = run("serve", "--help", folder=folder, env={"BAYWRIGHT_TOKEN_KEY": "s" * 40, "BAYWRIGHT_SMTP_PASSWORD": "hunter-two"}).stdout
    check("--help shows no secret of the environment", "s" * 40 not in secret and "hunter-two" not in secret, secret)


def first_start(folder):
    service = Service(folder, "--log-json", "--log", "trace")
    code = re.search(r"\b([A-Z2-9]{5}(-[A-Z2-9]{5}){3})\b", service.text())
    check("the first start prints a setup code", code, service.text()[:500])
    setup = {
        "code": code.group(1), "name": "Harbour Detailing", "currency": "EUR", "zone": "Europe/Dublin", "tax_percent": "23",
        "owner": {"name": "Orla", "email": "orla@example.com", "password": PASSWORD},
    }
    status, session = service.ask("POST", "/v1/setup", setup)
    check("the code founds the first shop", status == 201, session)
    token = session["access_token"]
    check("the owner is signed in", service.ask("GET", "/v1/me", token=token)[1].get("role") == "OWNER")
    status, again = service.ask("POST", "/v1/sessions", {"email": "orla@example.com", "password": PASSWORD})
    check("the owner signs in again", status == 201, again)
    status, next_two = service.ask("POST", "/v1/sessions/refresh", {"refresh_token": again["refresh_token"]})
    check("and goes on with the refresh token", status == 200, next_two)
    rotated = run("keys", "rotate", folder=folder)
    check("keys rotate while the service runs", rotated.returncode == 0, rotated.stderr)
    time.sleep(3)
    check("and no token ends by it", service.ask("GET", "/v1/me", token=token)[0] == 200)
    metrics = service.ask("GET", "/metrics")[1]
    check("metrics are there", "# TYPE" in metrics, metrics[:200])
    # A stop lets the requests under way end, and loses none that was answered.
    made, ended = [], threading.Event()

    def write():
        while not ended.is_set():
            number = f"write-{len(made)}"
            try:
                status, body = service.ask("POST", "/v1/customers", {"name": number}, token, number)
            except OSError:
                return
            if status == 201:
                made.append(body["id"])

    writer = threading.Thread(target=write)
    writer.start()
    time.sleep(1)
    code = service.stop()
    ended.set()
    writer.join()
    check("SIGTERM ends it with code 0", code == 0, code)
    service = Service(folder)
    # Page by page: one request for each could be more than a client may send in a minute.
    there, page = set(), "/v1/customers?limit=200"
    while page:
        _, listed = service.ask("GET", page, token=token)
        there |= {one["id"] for one in listed["items"]}
        page = listed["next"] and urllib.parse.urlsplit(listed["next"])._replace(scheme="", netloc="").geturl()
    check(f"all {len(made)} customers that were acknowledged are there", made and there >= set(made), set(made) - there)
    check("no second code is printed", service.text().count(setup["code"]) == 1)
    service.stop()
    said = service.text()
    secrets = [PASSWORD, token, again["refresh_token"], again["access_token"], next_two["refresh_token"]]
    check("no password and no token is logged, even at trace", not any(secret in said for secret in secrets))


def command_line(folder):
    made = run(
        "shop", "create", "--name", "Second", "--currency", "SEK", "--zone", "Europe/Stockholm", "--tax", "25", "--owner-name",
        "Maja", "--owner-email", "maja@example.com", "--password-stdin", folder=folder, text_in=PASSWORD + "\n",
    )
    check("shop create takes a password", made.returncode == 0, made.stderr)
    weak = run(
        "user", "add", "--shop", "Second", "--name", "B", "--email", "b@example.com", "--role", "desk", "--password-stdin",
        folder=folder, text_in="password\n",
    )
    check("a weak password is refused", weak.returncode != 0 and "12 characters" in weak.stderr, weak.stderr)
    several = run("user", "list", folder=folder)
    check("with several shops one must be named", several.returncode != 0 and "--shop" in several.stderr, several.stderr)
    added = run("user", "add", "--shop", "Second", "--name", "B", "--email", "b@example.com", "--role", "desk", folder=folder)
    token = added.stdout.strip().rsplit(" ", 1)[-1]
    service = Service(folder)
    status, session = service.ask("POST", "/v1/invites/accept", {"token": token, "password": PASSWORD})
    check("an invite of the command line is accepted", status == 201, session)
    out = run("user", "sign-out", "--shop", "Second", "b@example.com", folder=folder)
    check("user sign-out ends it at once", out.returncode == 0 and service.ask("GET", "/v1/me", token=session["access_token"])[0] == 401)
    service.stop()


def verify(folder):
    whole = run("verify", folder=folder)
    check("verify finds the log whole", whole.returncode == 0, whole.stdout + whole.stderr)
    database = sqlite3.connect(folder / "baywright-data" / "baywright.db")
    try:
        database.execute("UPDATE record SET detail = '{}' WHERE seq = 2")
        check("the database itself lets no record be changed", False)
    except sqlite3.IntegrityError:
        check("the database itself lets no record be changed", True)
    # Whoever has the file can take that wall down; the chain is what tells.
    walls = database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'record'").fetchall()
    for (wall,) in walls:
        database.execute(f"DROP TRIGGER {wall}")
    with database:
        shop, seq, detail = database.execute("SELECT shop_id, seq, detail FROM record WHERE seq = 2 LIMIT 1").fetchone()
        database.execute("UPDATE record SET detail = ? WHERE shop_id = ? AND seq = ?", ('{"changed":"1"}', shop, seq))
    altered = run("verify", folder=folder)
    check("verify finds an altered record", altered.returncode != 0 and "record 2 was altered" in altered.stdout, altered.stdout)
    with database:
        database.execute("UPDATE record SET detail = ? WHERE shop_id = ? AND seq = ?", (detail, shop, seq))
        database.execute("DELETE FROM record WHERE shop_id = ? AND seq = 3", (shop,))
    removed = run("verify", folder=folder)
    check("verify finds a removed record", removed.returncode != 0 and "record 3 is missing" in removed.stdout, removed.stdout)
    database.close()


with tempfile.TemporaryDirectory(prefix="baywright-program-") as name:
    folder = pathlib.Path(name)
    settings(folder)
    first_start(folder)
    command_line(folder)
    verify(folder)
finish()

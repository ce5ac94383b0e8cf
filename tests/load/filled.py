"""Shops with many rows, for those that measure."""
import hashlib
import json
import os
import sqlite3
import subprocess

import running

EMAIL, PASSWORD = "orla@example.com", "four wet sponges dry slowly"


def serve(program, *settings):
    """The command of a server with one worker that limits nobody."""
    return [program, "serve", "--listen", "ADDRESS", "--rate", "2000000000", "--workers", "1", *settings]


def shop(program, load, folder):
    """A shop with two signed quotes in a file that no program has open: its file, and the quotes."""
    file = f"{folder}/shop.db"
    store = ["--database", f"sqlite:{file}", "--data", folder]
    subprocess.run([program, *store, "shop", "create", "--name", "History", "--currency", "EUR", "--zone", "Europe/Dublin", "--tax",
                    "23", "--owner-name", "Orla Kane", "--owner-email", EMAIL, "--password-stdin"], input=PASSWORD + "\n", text=True,
                   check=True, capture_output=True)
    server = running.Server(serve(program, *store), f"{folder}/shop.log")
    server.wait("/readyz")
    try:
        quotes = running.measured([load, "floor", server.base, server.sign_in(EMAIL, PASSWORD)], running.CORES)
    finally:
        server.stop()
    return file, quotes


def book(load, file, copy, pattern, first, count):
    """Copies the shop's file, and fills the copy with bookings before and after the quarter that begins with `first`."""
    return running.measured([load, "history", file, copy, pattern, str(first), "--count", str(count)], running.CORES)


def lengthen(file, count):
    """Adds records to the log of a shop, each of which follows the one before."""
    with sqlite3.connect(file) as conn:
        shop, last, digest = conn.execute("SELECT shop_id, seq, digest FROM record ORDER BY seq DESC LIMIT 1").fetchone()

        def records(previous=digest):
            for seq in range(last + 1, last + 1 + count):
                told = {"id": f"record-{seq:09}", "shop_id": shop, "actor_kind": "OPERATOR", "actor_id": "", "action": "quote.changed",
                        "subject_kind": "quote", "subject_id": f"placed-{seq % 50_000:09}", "detail": "{}", "previous": previous}
                # RFC 8785 of texts alone: sorted names, nothing between them.
                text = json.dumps(told | {"seq": str(seq), "at": "2026-03-02T08:00:00Z"}, sort_keys=True, separators=(",", ":"))
                previous = hashlib.sha256(text.encode()).hexdigest()
                yield told | {"seq": seq, "at": 1_772_438_400_000, "digest": previous}

        conn.executemany("""INSERT INTO record (id, shop_id, seq, at, actor_kind, actor_id, action, subject_kind, subject_id, detail,
            previous, digest) VALUES (:id, :shop_id, :seq, :at, :actor_kind, :actor_id, :action, :subject_kind, :subject_id, :detail,
            :previous, :digest)""", records())
    conn.close()
    return os.path.getsize(file)

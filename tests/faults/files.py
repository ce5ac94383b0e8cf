"""The program as it ships and what must outlive its faults: photographs, backups, the clock, the disk, and what it shows.

Usage: files.py PROGRAM [PART …]. Talks to loopback alone; everything it starts is ended by its id.
"""
import concurrent.futures
import contextlib
import datetime
import io
import os
import pathlib
import pty
import random
import re
import resource
import select
import signal
import socket
import sqlite3
import struct
import subprocess
import sys
import tempfile
import time
import uuid
import zlib

from service import OWNER, PASSWORD, PROGRAM, Service, check, finish, run

HERE = pathlib.Path(__file__).resolve().parent
ROUNDS = 500
DAY = 24 * 3600
PNG = {"content-type": "image/png"}


def found(folder):
    made = run("shop", "create", "--name", "Harbour", "--currency", "EUR", "--zone", "Europe/Dublin", "--tax", "23",
               "--owner-name", "Orla", "--owner-email", OWNER, "--password-stdin", folder=folder, text_in=PASSWORD + "\n")
    assert made.returncode == 0, made.stderr


@contextlib.contextmanager
def place():
    """A folder with a shop in it."""
    with tempfile.TemporaryDirectory(prefix="baywright-files-") as name:
        folder = pathlib.Path(name)
        found(folder)
        yield folder


def serving(folder, env=None):
    """The program at work, quiet, and with no limit on how much is asked."""
    return Service(folder, "--rate", "1000000", "--log", "info,access=warn", env=env)


def png(width, height, seed=0, bits=8):
    """A gray PNG; with a seed, of noise (W3C PNG, third edition, section 5)."""
    row = width if bits == 8 else (width + 7) // 8
    noise = random.Random(seed)
    packed = zlib.compressobj(9)
    data = b""
    for _ in range(height):
        data += packed.compress(b"\0" + (noise.randbytes(row) if seed else bytes(row)))
    data += packed.flush()

    def chunk(name, body):
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", width, height, bits, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def add_photo(service, picture):
    return service.make("/v1/photos", picture, headers=PNG)["id"]


def customer_with(service, photo):
    """A customer whose inspected car has that photograph."""
    customer = service.make("/v1/customers?confirm=known-customer", {"name": "Aoife Byrne"})
    vehicle = service.make("/v1/vehicles", {"customer_id": customer["id"], "make": "Corrigan", "model": "Estate 2.0",
                                            "size_class": "MEDIUM", "paint_type": "METALLIC", "powertrain": "COMBUSTION"})
    service.make("/v1/inspections", {"vehicle_id": vehicle["id"], "odometer": 48210, "soil_grade": 2, "contamination_grade": 1,
                                     "photo_ids": [photo]})
    return customer


def photos(folder):
    return [path for path in (folder / "baywright-data" / "photos").rglob("*") if path.is_file()]


def races():
    """Customers are erased while pictures identical to theirs arrive."""
    with place() as folder, serving(folder) as service:
        service.sign_in()
        lost, taken = [], 0
        with concurrent.futures.ThreadPoolExecutor(4) as pool:
            for turn in range(ROUNDS):
                if turn % 100 == 0:
                    service.sign_in()
                picture = png(24, 16, seed=turn + 1)
                customer = customer_with(service, add_photo(service, picture))
                seen = {"if-match": f'"{customer["version"]}"'}
                erasing = pool.submit(service.ask, "POST", f"/v1/customers/{customer['id']}/erase", {}, headers=seen)
                arriving = [pool.submit(add_photo, service, picture) for _ in range(2)]
                assert erasing.result()[0] == 200, erasing.result()
                for photo in [done.result() for done in arriving]:
                    taken += 1
                    if service.ask("GET", f"/v1/photos/{photo}")[0] != 200:
                        lost.append(photo)
        check(f"of {taken} photographs taken in while an identical one was erased, in {ROUNDS} rounds, none is lost", not lost, lost[:5])
        check("and each has its two files, and no other is there", len(photos(folder)) == 2 * taken, (len(photos(folder)), taken))
        whole = run("verify", folder=folder)
        check("verify finds them all", whole.returncode == 0 and f"{taken} photographs" in whole.stdout, whole.stdout + whole.stderr)


def sweep():
    """What killed processes left goes once it is old, and nothing else does."""
    with place() as folder:
        with serving(folder) as service:
            service.sign_in()
            kept = add_photo(service, png(40, 30, seed=1))
            shop = next((folder / "baywright-data" / "photos").iterdir())
        ages = {f"{'ab' * 32}.{uuid.uuid4()}.jpg": 8, f"{'cd' * 32}.{uuid.uuid4()}.jpg": 6, "0198.part": 2, "0199.part": 0}
        (shop / "ab").mkdir(exist_ok=True)
        for name, days in ages.items():
            (shop / "ab" / name).write_bytes(b"left")
            os.utime(shop / "ab" / name, (time.time() - days * DAY - 60,) * 2)
        for path in photos(folder):
            if path.name not in ages:
                os.utime(path, (time.time() - 400 * DAY,) * 2)
        with serving(folder) as service:
            service.sign_in()
            gone = [name for name, days in ages.items() if days in (8, 2)]
            end = time.monotonic() + 20
            while time.monotonic() < end and any((shop / "ab" / name).exists() for name in gone):
                time.sleep(0.2)
            left = {path.name for path in (shop / "ab").iterdir()} & set(ages)
            check("files that no row names are swept once they are old", left == {n for n, d in ages.items() if d in (6, 0)}, left)
            check("and those of a photograph stay", service.ask("GET", f"/v1/photos/{kept}")[0] == 200)


def restore():
    """A restore that fails changes nothing."""
    with place() as folder:
        database = folder / "baywright-data" / "baywright.db"
        with serving(folder) as service:
            service.sign_in()
            service.make("/v1/customers", {"name": "In the backup"})
            add_photo(service, png(40, 30, seed=2))
            done = run("backup", "--to", "backup", folder=folder)
            assert done.returncode == 0, done.stderr
            for turn in range(200):
                service.make("/v1/customers", {"name": f"After the backup {turn}"})
        before = {path.name for path in database.parent.iterdir()}

        def there():
            try:
                with contextlib.closing(sqlite3.connect(database)) as live:
                    return live.execute("SELECT count(*) FROM customer").fetchone()[0]
            except sqlite3.DatabaseError as error:
                return error

        check("the live database has all", there() == 201, there())

        def full_disk():
            # A file that grows beyond the limit fails to be written, as on a full disk.
            resource.setrlimit(resource.RLIMIT_FSIZE, (64 << 10, 64 << 10))
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)

        failed = run("restore", "backup", "--overwrite", folder=folder, preexec_fn=full_disk, restore_signals=False)
        check("a restore onto a full disk fails and says that nothing was put back",
              failed.returncode != 0 and "Nothing was restored" in failed.stderr, failed)
        check("and the live database is still there, with nothing beside it",
              there() == 201 and {path.name for path in database.parent.iterdir()} <= before | {"baywright.db-wal", "baywright.db-shm"},
              [path.name for path in database.parent.iterdir()])
        photo = next((folder / "backup" / "photos").rglob("*.jpg"))
        whole = photo.read_bytes()
        photo.write_bytes(whole[:-1])
        failed = run("restore", "backup", "--overwrite", folder=folder)
        check("a backup with a damaged photograph is not put back", failed.returncode != 0 and "damaged" in failed.stderr, failed)
        check("and the live database is still there then", there() == 201)
        photo.unlink()
        failed = run("restore", "backup", "--overwrite", folder=folder)
        check("nor one that lacks a photograph", failed.returncode != 0 and "incomplete" in failed.stderr and there() == 201, failed)
        photo.write_bytes(whole)
        with serving(folder) as service:
            service.sign_in()
            for turn in range(50):
                service.make("/v1/customers", {"name": f"In the log of writes {turn}"})
            service.process.kill()
            service.process.wait()
        check("a killed service leaves its log of writes", (database.parent / "baywright.db-wal").stat().st_size > 0)
        done = run("restore", "backup", "--overwrite", folder=folder)
        check("a whole backup is put back beside it", done.returncode == 0 and there() == 1, (done, there()))
        aside = [path for path in database.parent.iterdir() if path.name.startswith("baywright.db.before-") and path.suffix == ""
                 or re.search(r"before-[^-]+-\d\d-\d\dT[\d-]+Z$", path.name)]
        with contextlib.closing(sqlite3.connect(aside[0])) as kept:
            count = kept.execute("SELECT count(*) FROM customer").fetchone()[0]
        check("and the one that was there is kept with all that was in it", count == 251, count)
        with serving(folder) as service:
            service.sign_in()
            service.make("/v1/customers", {"name": "Once more"})
            service.process.kill()
            service.process.wait()
        database.unlink()
        done = run("restore", "backup", folder=folder)
        sound = run("verify", folder=folder)
        check("what a lost database left is put aside too", done.returncode == 0 and sound.returncode == 0 and there() == 1, (done, sound))


def shim(folder):
    """Builds what stands between the program and the C library."""
    built = folder / "shim.so"
    subprocess.run(["cc", "-shared", "-fPIC", "-O1", "-o", built, HERE / "shim.c", "-ldl"], check=True)
    return {"LD_PRELOAD": str(built)}


def clock():
    """The machine's clock is 400 days ahead for 70 seconds."""
    with place() as folder:
        ahead = folder / "ahead"
        ahead.write_bytes(struct.pack("l", 0))

        def jump(seconds):
            with open(ahead, "r+b") as file:
                file.write(struct.pack("l", seconds))

        def rows(statement):
            with contextlib.closing(sqlite3.connect(folder / "baywright-data" / "baywright.db", timeout=20)) as database:
                got = database.execute(statement).fetchall()
                database.commit()
                return got

        with serving(folder, shim(folder) | {"BAYWRIGHT_TEST_CLOCK": str(ahead)}) as service:
            service.sign_in()
            service.make("/v1/customers", {"name": "Aoife Byrne"}, key="before-the-jump")
            wait_until(lambda: len(rows("SELECT job FROM clock_run")) >= 7, 20)
            now = datetime.datetime.now(datetime.UTC)
            date = service.send("GET", "/livez")[1]["date"]
            jump(400 * DAY)
            time.sleep(70)
            told = service.send("GET", "/livez")[1]["date"]
            check("the program was 400 days ahead", str((now + datetime.timedelta(days=400)).year) in told, (date, told))
            keys = rows("SELECT key FROM idempotency WHERE key = 'before-the-jump'")
            ran = rows(f"SELECT job FROM clock_run WHERE ran_at > {int((time.time() + 300 * DAY) * 1000)}")
            check("after a jump of 400 days no timed job runs by that time", not ran, ran)
            jump(0)
            time.sleep(5)
            again = service.send("POST", "/v1/customers", {"name": "Aoife Byrne"}, key="before-the-jump")
            check("and no idempotency key was forgotten", len(keys) == 1 and again[1]["idempotency-replayed"] == "true", (keys, again))
            check("the log says so", "the clock jumped ahead" in service.text(), service.text()[-800:])
            # As a program leaves it that was ahead for so long that its jobs ran.
            rows("UPDATE clock_run SET period = period + 400 * 24 * 60 WHERE job = 'booking.lapse'")
            before = rows("SELECT period FROM clock_run WHERE job = 'booking.lapse'")[0][0]
            back = wait_until(lambda: rows("SELECT period FROM clock_run WHERE job = 'booking.lapse'")[0][0] < before, 20)
            check("a job that ran by a clock that was ahead runs again", back)


def wait_until(what, seconds):
    end = time.monotonic() + seconds
    while not what():
        if time.monotonic() > end:
            return False
        time.sleep(0.2)
    return True


def power():
    """Every new folder of a photograph is synced into its parent before the photograph is acknowledged."""
    with place() as folder:
        syncs = folder / "syncs"
        with serving(folder, shim(folder) | {"BAYWRIGHT_TEST_SYNCS": str(syncs)}) as service:
            service.sign_in()
            add_photo(service, png(40, 30, seed=3))
            lines = [line.split(" ", 1) for line in syncs.read_text().splitlines()]
        made = [path for what, path in lines if what == "made" and "/photos" in path]
        unsynced = [path for path in made if ["synced", os.path.dirname(path)] not in lines[lines.index(["made", path]):]]
        check(f"each of {len(made)} new folders is synced into its parent", len(made) >= 3 and not unsynced, (unsynced, lines))


def memory():
    """A picture that is small as a file and large as a picture."""
    with place() as folder, serving(folder) as service:
        service.sign_in()
        before = service.memory()["most"]
        begun = time.monotonic()
        made = service.make("/v1/photos", png(12000, 3333, bits=1), headers=PNG)
        took = service.memory()["most"] - before
        check(f"a PNG of 12,000 x 3,333 pixels takes {took:.0f} MiB, and less than 120", took < 120, took)
        check("and is kept at 4,096 x 1,138", (made["width"], made["height"]) == (4096, 1138), made)
        print(f"      in {time.monotonic() - begun:.1f} s")


def slow():
    """Uploads that stall leave room for those that don't."""
    with place() as folder, serving(folder) as service:
        service.sign_in()
        lines = []
        for number in range(12):
            line = socket.create_connection(("127.0.0.1", service.port), timeout=10)
            head = (f"POST /v1/photos HTTP/1.1\r\nhost: studio\r\nauthorization: Bearer {service.token}\r\n"
                    f"content-type: image/jpeg\r\nidempotency-key: slow-{number}\r\ncontent-length: 900000\r\n\r\n")
            line.sendall(head.encode() + b"\xff" * 400_000)
            lines.append(line)
        time.sleep(1)
        begun = time.monotonic()
        status = service.ask("POST", "/v1/photos", png(40, 30, seed=4), headers=PNG)[0]
        imported = service.ask("POST", "/v1/imports/customers", b"name\nAoife Byrne\n", headers={"content-type": "text/csv"})[0]
        took = time.monotonic() - begun
        check(f"with 12 uploads that stall a photograph and a list come through in {took:.1f} s",
              status == 201 and imported == 200 and took < 5, (status, imported, took))
        for line in lines:
            line.close()


def at_terminal(folder, *arguments):
    """What a command shows on a terminal, and how it ends."""
    outside, inside = pty.openpty()
    process = subprocess.Popen([PROGRAM, *arguments], cwd=folder, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=inside,
                               env={**os.environ, "TERM": "xterm", "COLUMNS": "100"}, text=True)
    os.close(inside)
    shown = io.BytesIO()
    while True:
        ready, _, _ = select.select([outside], [], [], 0.2)
        if ready:
            try:
                piece = os.read(outside, 65536)
            except OSError:
                break
            if not piece:
                break
            shown.write(piece)
        elif process.poll() is not None:
            break
    os.close(outside)
    out = process.communicate(timeout=60)[0]
    return process.returncode, out, shown.getvalue().decode(errors="replace")


def shows():
    """Progress on a terminal, one line in a pipe, colours on a terminal alone."""
    with place() as folder:
        with serving(folder) as service:
            service.sign_in()
            for seed in range(1, 6):
                add_photo(service, png(40, 30, seed=seed))
            service.ask("GET", "/v1/nowhere")
        check("a log file holds no colour codes", "\x1b" not in service.text(), service.text()[:300])
        (folder / "list.csv").write_text("name\n" + "".join(f"Customer {number}\n" for number in range(600)))
        for what, arguments in [("import", ("import", "customers", "list.csv")), ("backup", ("backup", "--to", "first")),
                                ("export", ("export", "--to", "lists")), ("verify", ("verify",))]:
            code, _, shown = at_terminal(folder, *arguments)
            counts = re.findall(r"\d+ of \d+, \S+ left", shown)
            check(f"{what} shows on a terminal what is done and left", code == 0 and counts, (code, shown))
        sound = run("verify", folder=folder)
        lines = sound.stdout.splitlines()
        check("verify says in a pipe a line for each shop and one for all", sound.returncode == 0 and sound.stderr == "" and len(lines) == 2
              and "records in the log" in lines[0] and lines[1].startswith("The log is complete"), (sound.stdout, sound.stderr))
        code, _, shown = at_terminal(folder, "restore", "first", "--overwrite")
        check("restore shows on a terminal what is done and left", code == 0 and re.search(r"\d+ of \d+, \S+ left", shown), (code, shown))
        for what, arguments in [("backup", ("backup", "--to", "second")), ("export", ("export", "--to", "lists-2")),
                                ("import", ("import", "customers", "more.csv"))]:
            (folder / "more.csv").write_text("name\nAnother One\n")
            piped = run(*arguments, folder=folder)
            check(f"{what} says one line in a pipe", piped.returncode == 0 and piped.stderr == "" and piped.stdout.count("\n") == 1,
                  (piped.stdout, piped.stderr))
        piped = run("restore", "second", "--overwrite", folder=folder)
        lines = piped.stdout.splitlines()
        check("restore says in a pipe where the earlier database is and what was restored", piped.returncode == 0 and piped.stderr == ""
              and len(lines) == 2 and lines[0].startswith("The earlier database is kept as ") and lines[1].startswith("Restored "),
              (piped.stdout, piped.stderr))


def demo():
    """The demo says how far it is while it makes its weeks."""
    with tempfile.TemporaryDirectory(prefix="baywright-files-") as name:
        folder = pathlib.Path(name)
        refused = run("demo", "--data", "x", folder=folder)
        check("the demo refuses a setting that it does not use", refused.returncode == 2 and "leave it out" in refused.stderr, refused)
        helped = run("demo", "--help", folder=folder).stdout
        check("and its help does not name it", "--database" not in helped and "--data " not in helped, helped)
        outside, inside = pty.openpty()
        process = subprocess.Popen([PROGRAM, "demo", "--listen", "127.0.0.1:0"], cwd=folder, stdout=subprocess.PIPE, stderr=inside,
                                   stdin=subprocess.DEVNULL, env={**os.environ, "TERM": "xterm", "COLUMNS": "100"})
        os.close(inside)
        shown, said = b"", b""
        try:
            end = time.monotonic() + 600
            while time.monotonic() < end and b"listens on" not in said:
                ready, _, _ = select.select([outside, process.stdout], [], [], 1)
                if outside in ready:
                    shown += os.read(outside, 65536)
                if process.stdout in ready:
                    said += os.read(process.stdout.fileno(), 65536)
        except OSError:
            # It ended, and its terminal with it.
            pass
        finally:
            process.send_signal(signal.SIGTERM)
            process.wait(timeout=30)
            os.close(outside)
        steps = {int(number) for number in re.findall(r"(\d+) of \d+, \S+ left", shown.decode(errors="replace"))}
        check(f"the demo shows how far it is ({len(steps)} steps)", len(steps) >= 3, shown[-500:])
        told = [line for line in said.decode().splitlines() if line.strip()]
        check("and says one line of it in a pipe", len(told) > 1 and "Created an invented studio" in told[0] and "listens on" in told[1], (told, shown[-500:]))


PARTS = [shows, restore, sweep, power, memory, slow, races, clock, demo]
for part in [part for part in PARTS if not sys.argv[2:] or part.__name__ in sys.argv[2:]]:
    part()
finish()

"""The program itself, started on a database of its own, with two shops in it that know nothing of each other."""
import contextlib
import glob
import os
import re
import subprocess
import tempfile
import uuid

import requests

UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
PASSWORD = "thirteen quiet buckets of rain"


class Desk:
    """Someone who is signed in and talks JSON."""

    def __init__(self, base, email):
        self.base = base
        # Every body that was sent and taken, with its method and path.
        self.sent = []
        self.session = requests.Session()
        answer = self.session.post(f"{base}/v1/sessions", json={"email": email, "password": PASSWORD}, timeout=30)
        assert answer.status_code == 201, answer.text
        self.token = answer.json()["access_token"]
        self.session.headers["Authorization"] = f"Bearer {self.token}"

    def get(self, path, status=200):
        return self._read(self.session.get(self.base + path, timeout=30), status)

    def send(self, method, path, body=None, seen=None, status=None, **more):
        """Sends a change with a key of its own and, where it is one of a record, the version that was seen."""
        headers = {"Idempotency-Key": str(uuid.uuid4())} | more.pop("headers", {})
        if seen is not None:
            headers["If-Match"] = f'"{seen}"' if isinstance(seen, int) else seen
        answer = self.session.request(method, self.base + path, json=body, headers=headers, timeout=30, **more)
        read = self._read(answer, status)
        if body is not None:
            self.sent.append((method, path, body))
        return read

    def post(self, path, body=None, seen=None, **more):
        return self.send("POST", path, body, seen, **more)

    def put(self, path, body, seen=None, **more):
        return self.send("PUT", path, body, seen, **more)

    @staticmethod
    def _read(answer, status):
        said = f"{answer.request.method} {answer.request.path_url}: {answer.status_code} {answer.text[:600]}"
        assert answer.status_code == status if status else answer.status_code < 300, said
        return answer.json() if "json" in answer.headers.get("Content-Type", "") else answer.text


def _run(program, database, folder, *arguments):
    command = [program, "--database", database, "--data", folder, *arguments]
    done = subprocess.run(command, input=PASSWORD + "\n", capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, f"{arguments}: {done.stderr}"


def found_shop(program, database, folder, name, owner, zone="Europe/Dublin"):
    """Founds a shop as whoever runs the machine does."""
    _run(program, database, folder, "shop", "create", "--name", name, "--currency", "EUR", "--zone", zone,
         "--tax", "23", "--owner-name", f"{name} Owner", "--owner-email", owner, "--password-stdin")


def add_user(program, database, folder, shop, email, role):
    """Adds somebody who may sign in."""
    _run(program, database, folder, "user", "add", "--shop", shop, "--name", "Robin Quill", "--email", email,
         "--role", role, "--password-stdin")


@contextlib.contextmanager
def database(engine, folder):
    """The address of an empty database of that engine."""
    if engine == "sqlite":
        yield f"sqlite:{folder}/shop.db"
        return
    server = os.environ["BAYWRIGHT_TEST_POSTGRES"]
    tools, name = sorted(glob.glob("/usr/lib/postgresql/*/bin"))[-1], f"baywright_fuzz_{uuid.uuid4().hex}"
    subprocess.run([f"{tools}/createdb", f"--maintenance-db={server}", name], check=True)
    try:
        yield f"{server.rsplit('/', 1)[0]}/{name}"
    finally:
        subprocess.run([f"{tools}/dropdb", f"--maintenance-db={server}", "--force", name], check=True)


@contextlib.contextmanager
def _started(program, address, folder):
    """The program as it ships, listening on a free port; gives it, its address and where its log is."""
    log = os.path.join(folder, "log")
    command = [program, "--database", address, "--data", folder, "serve", "--listen", "127.0.0.1:0",
               "--rate", "2000000000", "--log", "info,access=warn"]
    with open(log, "w", encoding="utf-8") as lines:
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=lines, text=True)
    try:
        yield process, _said(process, r"listens on (http://\S+)", log), log
        assert process.poll() is None, "the program ended by itself"
    finally:
        process.terminate()
        process.wait(timeout=30)


def _said(process, pattern, log):
    """Reads what the program prints up to a line with that pattern; gives what its brackets hold."""
    for line in process.stdout:
        found = re.search(pattern, line)
        if found:
            return found.group(1)
    raise AssertionError(f"the program did not start: {open(log, encoding='utf-8').read()[-2000:]}")


@contextlib.contextmanager
def served(program, address, folder):
    """The program on a database with a shop in it; gives its address and where its log is."""
    with _started(program, address, folder) as (_process, base, log):
        yield base, log


@contextlib.contextmanager
def unfounded(program, address, folder):
    """The program on an empty database; gives its address and the code of the first setup."""
    with _started(program, address, folder) as (process, base, log):
        yield base, _said(process, r"is valid for a day: (\S+)", log)


def folder():
    """A folder for one run."""
    return tempfile.TemporaryDirectory(prefix="baywright-fuzz-")

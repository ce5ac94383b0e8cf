"""A running program for the checks beside this file, and what they found.

Talks to loopback alone; everything it starts is ended by its id.
"""
import json
import os
import pathlib
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
import uuid

PROGRAM = os.path.abspath(sys.argv[1])
PASSWORD = "thirteen quiet buckets"
OWNER = "orla@example.com"
results = []


def check(name, condition, seen=""):
    results.append(bool(condition))
    print(("ok    " if condition else "FAILED"), name, "" if condition else f": {seen}", flush=True)


def finish():
    """Says how many checks passed, in the words that the part reads, and ends."""
    print(f"{sum(results)} passed, {len(results) - sum(results)} failed")
    sys.exit(not all(results))


def run(*arguments, folder, env=None, text_in=None, **more):
    return subprocess.run(
        [PROGRAM, *arguments], cwd=folder, env={**os.environ, **(env or {})}, input=text_in, capture_output=True, text=True, timeout=300,
        **more,
    )


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def parsed(answer):
    """The body of an answer: JSON as what it says, other text as it is, and a picture in bytes."""
    kind, body = answer.headers.get("content-type", ""), answer.read()
    if "json" in kind:
        return json.loads(body)
    return body if kind.startswith("image/") else body.decode()


class Service:
    """The program, serving; as a context it is stopped at the end, if it still runs.

    `env` is added to the environment. `more` goes to Popen: `stderr`, which is else a file that `text` reads, or
    `preexec_fn`.
    """

    def __init__(self, folder, *flags, env=None, **more):
        self.token = None
        self.port = free_port()
        self.base = f"http://127.0.0.1:{self.port}"
        self.out = open(folder / "out", "a+")
        self.err = open(folder / "err", "a+")
        command = [PROGRAM, "serve", "--listen", f"127.0.0.1:{self.port}", *flags]
        more = {"stderr": self.err, "env": {**os.environ, **(env or {})}, **more}
        self.process = subprocess.Popen(command, cwd=folder, stdout=self.out, **more)
        for _ in range(300):
            try:
                if self.ask("GET", "/readyz")[0] == 200:
                    return
            except OSError:
                pass
            if self.process.poll() is not None:
                raise SystemExit(f"the service ended: {self.text()[-2000:]}")
            time.sleep(0.05)
        raise SystemExit("the service did not become ready")

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self.process.poll() is None:
            self.stop()

    def text(self):
        return "".join(pathlib.Path(file.name).read_text() for file in (self.out, self.err))

    def ask(self, method, path, body=None, token=None, key=None, headers=None):
        status, _, answer = self.send(method, path, body, token, key, headers)
        return status, answer

    def send(self, method, path, body=None, token=None, key=None, headers=None):
        """Status, headers and body; `body` is JSON unless it is bytes.

        After `sign_in` a request without a token is that person's, and each of their POSTs has a key.
        """
        request = urllib.request.Request(self.base + path, method=method, headers=headers or {})
        data = body
        if body is not None and not isinstance(body, bytes):
            data = json.dumps(body).encode()
            request.add_header("content-type", "application/json")
        if self.token and not token:
            token = self.token
            key = key or (str(uuid.uuid4()) if method == "POST" else None)
        if token:
            request.add_header("authorization", f"Bearer {token}")
        if key:
            request.add_header("idempotency-key", key)
        try:
            with urllib.request.urlopen(request, data, timeout=60) as answer:
                return answer.status, answer.headers, parsed(answer)
        except urllib.error.HTTPError as error:
            return error.code, error.headers, parsed(error) or {}

    def sign_in(self, email=OWNER):
        """Signs in; what is asked without a token from then on is asked by that person."""
        status, session = self.ask("POST", "/v1/sessions", {"email": email, "password": PASSWORD})
        if status != 201:
            raise SystemExit(f"{email} was not signed in: {session}")
        self.token = session["access_token"]

    def make(self, path, body, **more):
        """What a POST answers, which must succeed."""
        status, made = self.ask("POST", path, body, **more)
        if status not in (200, 201):
            raise SystemExit(f"POST {path} was answered with {status}: {made}")
        return made

    def raw(self, head):
        """Sends these bytes on a connection of their own; the answer up to its end, which `connection: close` brings."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=10) as wire:
            wire.sendall(head)
            parts = []
            while part := wire.recv(65536):
                parts.append(part)
        return b"".join(parts).decode(errors="replace")

    def found(self, email=OWNER):
        """Founds the first shop; the owner's session."""
        code = re.search(r"\b([A-Z2-9]{5}(-[A-Z2-9]{5}){3})\b", self.text())
        status, session = self.ask("POST", "/v1/setup", {
            "code": code.group(1), "name": "Harbour Detailing", "currency": "EUR", "zone": "Europe/Dublin", "tax_percent": "23",
            "owner": {"name": "Orla", "email": email, "password": PASSWORD},
        })
        if status != 201:
            raise SystemExit(f"no shop was founded: {session}")
        return session

    def memory(self):
        """Resident memory in MiB by kind: all, what is no file's, and the most that it has been."""
        lines = pathlib.Path(f"/proc/{self.process.pid}/status").read_text().splitlines()
        kib = {line.split(":")[0]: int(line.split()[1]) for line in lines if line.endswith(" kB")}
        return {"all": kib["VmRSS"] / 1024, "own": kib["RssAnon"] / 1024, "most": kib["VmHWM"] / 1024}

    def connections(self):
        """How many sockets the program has open."""
        fds = pathlib.Path(f"/proc/{self.process.pid}/fd")
        count = 0
        for fd in fds.iterdir():
            try:
                count += os.readlink(fd).startswith("socket:")
            except OSError:
                pass
        return count

    def metric(self, name):
        _, text = self.ask("GET", "/metrics")
        return float(re.search(rf"^{name} (\S+)$", text, re.M).group(1))

    def stop(self, how=signal.SIGTERM):
        self.process.send_signal(how)
        return self.process.wait(timeout=30)

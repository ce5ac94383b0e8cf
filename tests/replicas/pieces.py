"""The processes of docker-compose.yml on this machine: replicas of the program, the mail catcher and the proxy."""
import glob
import http.client
import json
import mailbox
import os
import signal
import socket
import subprocess
import sys
import time
import uuid

import containers


def free_port():
    """A port on the loopback that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Said:
    """An answer: its status, headers, and body as JSON where it is that."""

    def __init__(self, answer):
        self.status, text = answer.status, answer.read().decode()
        self.headers = {name.lower(): value for name, value in answer.getheaders()}
        self.body = json.loads(text) if "json" in self.headers.get("content-type", "") else text

    def __repr__(self):
        return f"{self.status} {self.headers} {str(self.body)[:300]}"


def ask(port, method, path, body=None, *, token=None, source="127.0.0.1", headers=None):
    """One request over a connection of its own, from an address of the loopback."""
    wanted = {"Host": f"localhost:{port}", "Idempotency-Key": str(uuid.uuid4())} | (headers or {})
    if token:
        wanted["Authorization"] = f"Bearer {token}"
    if body is not None:
        wanted["Content-Type"], body = "application/json", json.dumps(body)
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=30, source_address=(source, 0))
    try:
        line.request(method, path, body, wanted)
        return Said(line.getresponse())
    finally:
        line.close()


class Replica:
    """The program with settings of the compose file."""

    def __init__(self, program, settings, log):
        self.port, self.log, self.process = free_port(), log, None
        self.base = f"http://127.0.0.1:{self.port}"
        self.command, self.settings = [program, "serve"], settings | {"BAYWRIGHT_LISTEN": f"127.0.0.1:{self.port}"}

    def start(self):
        with open(self.log, "a", encoding="utf-8") as lines:
            self.process = subprocess.Popen(self.command, env=environment(self.settings), stdout=lines, stderr=lines)

    def ask(self, *words, **more):
        return ask(self.port, *words, **more)

    def is_ready(self):
        try:
            return self.process.poll() is None and self.ask("GET", "/readyz").status == 200
        except OSError:
            return False

    def stop(self):
        """Ends it as a container is stopped; gives its exit code."""
        if self.process is None:
            return 0
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
        return self.process.wait(timeout=30)

    def lines(self, message, target=None):
        """What it logged with that message, or to that target."""
        found = []
        for line in self.log.read_text().splitlines():
            entry = json.loads(line, object_pairs_hook=once) if line.startswith("{") else {}
            if entry and (entry["target"] == target if target else entry["fields"].get("message") == message):
                found.append(entry)
        return found


def once(pairs):
    """An object of the log, in which no name stands twice."""
    assert len(dict(pairs)) == len(pairs), pairs
    return dict(pairs)


def environment(settings):
    """What a container would have: the settings and nothing that happens to be set here."""
    return {"PATH": os.environ["PATH"]} | settings


class Together:
    """All pieces; the replicas are started by whoever wants them."""

    def __init__(self, program, address, folder):
        self.program, self.address, self.folder = program, address, folder
        self.smtp, self.port = free_port(), free_port()
        services = containers.compose()["services"]
        given = {"DATABASE_PASSWORD": "unused", "PUBLIC_URL": f"http://localhost:{self.port}"}
        settings = {key: containers.interpolated(value, given) for key, value in services["api-1"]["environment"].items()}
        # Names and folders of the containers, as they are called here.
        here = {"BAYWRIGHT_DATABASE": address, "BAYWRIGHT_DATA": str(folder), "BAYWRIGHT_SMTP_HOST": "127.0.0.1",
                "BAYWRIGHT_SMTP_PORT": str(self.smtp)}
        assert set(here) <= set(settings), settings
        self.settings = settings | here
        self.replicas = [Replica(program, self.settings, folder / f"{name}.log") for name in containers.REPLICAS]
        self.others = []

    def __enter__(self):
        catcher = containers.stages()["mail-catcher"]
        command = json.loads(containers.words(catcher, "ENTRYPOINT")) + json.loads(containers.words(catcher, "CMD"))
        here = {"python": sys.executable, "0.0.0.0:1025": f"127.0.0.1:{self.smtp}", "/mails/box": str(self.folder / "box")}
        assert set(here) <= set(command), command
        self.others.append(subprocess.Popen([here.get(word, word) for word in command]))
        file = self.folder / "proxy.conf"
        file.write_text(containers.proxy(f"127.0.0.1:{self.port}", [f"127.0.0.1:{one.port}" for one in self.replicas], self.folder))
        command = containers.compose()["services"]["proxy"]["command"]
        self.others.append(subprocess.Popen([str(file) if word == "/etc/nginx/proxy.conf" else word for word in command],
                                            stderr=open(self.folder / "proxy.log", "w", encoding="utf-8")))
        for port in (self.smtp, self.port):
            for _ in range(100):
                with socket.socket() as probe:
                    if probe.connect_ex(("127.0.0.1", port)) == 0:
                        break
                time.sleep(0.1)
        return self

    def __exit__(self, *_):
        for replica in self.replicas:
            replica.stop()
        for other in self.others:
            other.terminate()
            other.wait(timeout=30)

    def run(self, *words):
        """A command of the program, to its end."""
        return subprocess.run([self.program, *words], env=environment(self.settings), capture_output=True, text=True,
                              timeout=120, check=False)

    def migrate(self):
        """The command that the compose file runs before the replicas, under way."""
        command = [self.program, *containers.compose()["services"]["migrate"]["command"]]
        return subprocess.Popen(command, env=environment(self.settings), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)

    def ready(self, port):
        """The health check of a container whose program listens there, on every address."""
        return subprocess.run([self.program, "ready"], env=environment({"BAYWRIGHT_LISTEN": f"0.0.0.0:{port}"}),
                              capture_output=True, text=True, timeout=30, check=False)

    def through(self, *words, **more):
        """A request through the proxy."""
        return ask(self.port, *words, **more)

    def rows(self, statement):
        """What a statement gives, one column as text."""
        psql = sorted(glob.glob("/usr/lib/postgresql/*/bin/psql"))[-1]
        done = subprocess.run([psql, "--no-psqlrc", "--quiet", "--tuples-only", "--no-align", "--set=ON_ERROR_STOP=1",
                               f"--command={statement}", self.address], capture_output=True, text=True, check=True)
        return [line for line in done.stdout.splitlines() if line]

    def mails(self):
        """What the catcher caught."""
        return list(mailbox.Maildir(self.folder / "box", create=False))

    def logs(self):
        """The ends of all logs."""
        return "\n".join(replica.log.read_text()[-1500:] for replica in self.replicas)

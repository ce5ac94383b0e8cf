"""Processes that are measured: started on cores of their own, asked over the loopback, and looked at from outside."""
import contextlib
import datetime
import http.client
import json
import os
import platform
import re
import signal
import socket
import subprocess
import time
import urllib.request

CORES = sorted(os.sched_getaffinity(0))
# The server on one core and the load on another, where there are two.
SERVER, CLIENT = ([CORES[0]], [CORES[1]]) if len(CORES) > 1 else (CORES, CORES)


def processor():
    """What the cores are."""
    with open("/proc/cpuinfo", encoding="utf-8") as file:
        named = re.search(r"model name\s*: (.*)", file.read())
    return named[1].strip() if named else platform.machine()


def version(name, *command):
    """What a program calls itself."""
    said = subprocess.run(command, capture_output=True, text=True, check=False)
    return re.search(rf"{name} \S+", said.stdout + said.stderr)[0]


def conditions(program):
    """What the numbers of a server depend on."""
    pinned = "server and load on a core each" if len(CORES) > 1 else "server and load on one core"
    tools = f"{version('baywright', program, '--version')}, {version('rustc', 'rustc', '--version')}"
    return f"{len(CORES)} cores ({processor()}), {pinned}, servers with one worker; {tools}; {datetime.date.today()}."


def free_port():
    """A port on the loopback that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def on(cores):
    """What a child does first: it stays on those cores."""
    return lambda: os.sched_setaffinity(0, cores)


class Server:
    """A server in a process of its own."""

    def __init__(self, command, log, cores=None):
        self.port = free_port()
        address = f"127.0.0.1:{self.port}"
        self.base = f"http://{address}"
        command = [word.replace("ADDRESS", address) for word in command]
        with open(log, "a", encoding="utf-8") as lines:
            self.began = time.perf_counter()
            self.process = subprocess.Popen(command, stdout=lines, stderr=lines, preexec_fn=on(cores or CORES))

    def get(self, path, token=None):
        """Status and text of an answer."""
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            line.request("GET", path, headers={"Authorization": f"Bearer {token}"} if token else {})
            answer = line.getresponse()
            return answer.status, answer.read().decode()
        finally:
            line.close()

    def sign_in(self, email, password):
        """An access token."""
        body = json.dumps({"email": email, "password": password}).encode()
        request = urllib.request.Request(f"{self.base}/v1/sessions", body, {"Content-Type": "application/json"})
        with urllib.request.urlopen(request, timeout=30) as answer:
            return json.load(answer)["access_token"]

    def wait(self, path, status=200, seconds=30):
        """Milliseconds from the start to the first such answer."""
        while self.process.poll() is None and time.perf_counter() - self.began < seconds:
            with contextlib.suppress(OSError):
                if self.get(path)[0] == status:
                    return (time.perf_counter() - self.began) * 1000
            time.sleep(0.001)
        raise SystemExit(f"the server did not answer {path} (exit code {self.process.poll()})")

    def memory(self):
        """Mebibytes that are resident now."""
        with open(f"/proc/{self.process.pid}/status", encoding="utf-8") as status:
            return int(re.search(r"VmRSS:\s+(\d+) kB", status.read())[1]) / 1024

    def worked(self):
        """Seconds of processor time that it has used."""
        with open(f"/proc/{self.process.pid}/stat", encoding="utf-8") as stat:
            user, system = stat.read().rpartition(")")[2].split()[11:13]
        return (int(user) + int(system)) / os.sysconf("SC_CLK_TCK")

    def stop(self):
        """Ends it as it is ended by whoever runs it."""
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(timeout=30)


def loaded(server, paths, token, seconds, folder, connections=16):
    """Loads a server with wrk: how many requests it answers in a second and in a second of its processor time, what was
    refused or lost, and its latencies."""
    file = os.path.join(folder, "paths")
    with open(file, "w", encoding="utf-8") as lines:
        lines.write("".join(f"{path}\n" for path in paths))
    script = os.path.join(os.path.dirname(__file__), "turns.lua")
    command = ["wrk", "--threads=1", f"--connections={connections}", f"--duration={seconds}s", "--latency", f"--script={script}",
               server.base, "--", file, token]
    before = server.worked()
    done = subprocess.run(command, capture_output=True, text=True, check=True, preexec_fn=on(CLIENT), timeout=seconds + 60)
    worked = server.worked() - before
    found = dict(re.findall(r"(\w+)=(\d+)", done.stdout.split("SUM ")[1]))
    said = {name: int(value) for name, value in found.items()}
    return said | {"each_second": said["requests"] * 1e6 / said["micros"], "each_worked": said["requests"] / max(worked, 0.01)}


def measured(command, cores):
    """What a command that measures says at its end."""
    done = subprocess.run(command, capture_output=True, text=True, preexec_fn=on(cores), timeout=300, check=False)
    assert done.returncode == 0, done.stderr[-3000:]
    return json.loads(done.stdout.splitlines()[-1])

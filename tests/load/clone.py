#!/usr/bin/env python3
"""How long a developer waits for the compiler and the checks: tests/load/clone.py FOLDER [REPORT]

What was committed last is cloned into FOLDER and built there on two cores, with nothing built before and everything
downloaded. No time is ever a reason to fail: that the demo answers, that a changed line is in the program and that the
checks pass is. With REPORT, a folder, it writes its table there.
"""
import datetime
import http.client
import os
import re
import resource
import signal
import subprocess
import sys
import tempfile
import time

import report
import running

FOLDER = os.path.abspath(sys.argv[1])
REPORT = sys.argv[2] if len(sys.argv) > 2 else None
TOP = os.path.abspath(os.path.join(os.path.dirname(__file__), "..", ".."))
CORES = running.CORES[:2]
DEMO = ["cargo", "run", "--release", "--locked", "--quiet", "--", "demo"]
PROFILES = {"debug": ["cargo", "build", "--locked", "--quiet", "--bin", "baywright"]}
PROFILES["release"] = [*PROFILES["debug"], "--release"]
# A file, and the text in it that is changed: the first of some length.
CHANGES = [("a use case", "api/core/src/quote/usecase/letter.rs", r'"([A-Z][^"\\{}]{20,})"', "30 s"),
           ("a template", "api/pages/src/signoff/views/check.html", r">([A-Z][^<>{}%]{12,})<", "10 s")]
# Nothing of the run that this is a part of: settings of its tests, its folder for what is built, its wrappers.
OURS = re.compile("BAYWRIGHT_|CARGO_(TARGET_DIR|INCREMENTAL|PROFILE_|BUILD_)|RUSTC_")
ENVIRONMENT = {name: value for name, value in os.environ.items() if not OURS.match(name)}
results, lines = [], []


def check(name, condition, seen=""):
    results.append(bool(condition))
    print(("ok    " if condition else "FAILED"), name, "" if condition else f": {seen}", flush=True)


def run(clone, *command):
    """Runs a command of the clone without measuring it."""
    return subprocess.run(command, cwd=clone, env=ENVIRONMENT, preexec_fn=running.on(CORES), capture_output=True, text=True,
                          stdin=subprocess.DEVNULL, check=False)


class Clock:
    """Time that passes, and processor time of the children that have ended."""

    def __init__(self):
        self.began, self.worked, self.took = time.monotonic(), self.children(), None

    @staticmethod
    def children():
        used = resource.getrusage(resource.RUSAGE_CHILDREN)
        return used.ru_utime + used.ru_stime

    def stop(self):
        self.took = time.monotonic() - self.began

    def line(self, name, aim=""):
        """Adds a line to the table. All children have ended by then."""
        lines.append((name, report.shown(self.took), report.shown(self.children() - self.worked), aim))


def demo(clone):
    """From the first command of the README to the address that the demo prints."""
    port, output = running.free_port(), os.path.join(FOLDER, "demo.log")
    clock = Clock()
    with open(output, "w", encoding="utf-8") as file:
        program = subprocess.Popen([*DEMO, "--listen", f"127.0.0.1:{port}"], cwd=clone, env=ENVIRONMENT, stdout=file,
                                   stderr=file, preexec_fn=running.on(CORES))
    try:
        while program.poll() is None and "\nBaywright listens on " not in text_of(output):
            time.sleep(0.1)
        clock.stop()
        check("the demo of a clean clone answers", program.poll() is None and ready(port), text_of(output)[-2000:])
    finally:
        if program.poll() is None:
            program.send_signal(signal.SIGTERM)
        program.wait()
    clock.line("clean clone to the demo's address", "300 s")


def text_of(path):
    with open(path, encoding="utf-8", errors="replace") as file:
        return file.read()


def ready(port):
    """Whether the program answers that it can work."""
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    try:
        line.request("GET", "/readyz")
        return line.getresponse().status == 200
    finally:
        line.close()


def quick(clone):
    """What a developer runs before each commit, once it has been built."""
    first = run(clone, "tests/run", "quick")
    check("the first `tests/run quick` passes", first.returncode == 0, first.stdout[-4000:] + first.stderr[-2000:])
    clock = Clock()
    again = run(clone, "tests/run", "quick")
    clock.stop()
    clock.line("`tests/run quick`, once built", "480 s")
    check("and so does the next one", again.returncode == 0, again.stdout[-4000:] + again.stderr[-2000:])


def changes(clone):
    """One changed line, as `cargo build` builds it and as the demo is built."""
    for command in PROFILES.values():
        built = run(clone, *command)
        check(f"it builds: {' '.join(command)}", built.returncode == 0, built.stderr[-2000:])
    for what, path, pattern, aim in CHANGES:
        file = os.path.join(clone, path)
        text = text_of(file)
        found = re.search(pattern, text)
        if not found:
            check(f"{path} has a text that can be changed", False)
            continue
        changed = f"Changed: {found[1]}"
        with open(file, "w", encoding="utf-8") as opened:
            opened.write(text[:found.start(1)] + changed + text[found.end(1):])
        for profile, command in PROFILES.items():
            clock = Clock()
            built = run(clone, *command)
            clock.stop()
            clock.line(f"one changed line in {what}, `{' '.join(word for word in command if word not in ('--locked', '--quiet'))}`",
                       aim if profile == "debug" else "")
            with open(os.path.join(clone, "target", profile, "baywright"), "rb") as program:
                there = changed.encode() in program.read()
            check(f"a changed line in {what} is in the program: {profile}", built.returncode == 0 and there, built.stderr[-2000:])


began = time.monotonic()
os.makedirs(FOLDER, exist_ok=True)
with tempfile.TemporaryDirectory(prefix="clone-", dir=FOLDER) as folder:
    clone = os.path.join(folder, "baywright")
    subprocess.run(["git", "clone", "--quiet", TOP, clone], check=True)
    # The Python packages of the checks are downloads too.
    os.symlink(os.path.join(TOP, ".venv"), os.path.join(clone, ".venv"))
    fetched = run(clone, "cargo", "fetch", "--locked", "--quiet")
    check("everything is downloaded before", fetched.returncode == 0, fetched.stderr)
    ENVIRONMENT["CARGO_NET_OFFLINE"] = "true"
    demo(clone)
    quick(clone)
    changes(clone)
    commit = run(clone, "git", "log", "-1", "--format=%h").stdout.strip()
text = report.section(
    "Waiting for the compiler and the checks", ("what", "time", "processor time", "aim"), lines,
    [f"Commit {commit}, cloned anew; downloads apart. In the order of the table but for the builds that a changed line is beside.",
     "The demo's time includes the five weeks of history that it makes; its processor time also what it used until it ended.",
     f"{len(CORES)} cores ({running.processor()}); {running.version('rustc', 'rustc', '--version')}; {datetime.date.today()}; "
     f"one run of {(time.monotonic() - began) / 60:.0f} minutes."])
print(text)
if REPORT:
    report.write(REPORT, "build", text)
print(f"{sum(results)} passed, {len(results) - sum(results)} failed")
sys.exit(not all(results))

"""The program as it ships, when its log can't be written: no request may fail or wait for it.

Usage: log.py PROGRAM. Talks to loopback alone; everything it starts is ended by its id.
"""
import fcntl
import os
import pathlib
import tempfile
import threading
import time

from service import Service, check, finish


def changes(service, token, count, name):
    """Makes so many customers; how many answers were 201, and the longest wait for one."""
    made, longest = 0, 0
    for number in range(count):
        began = time.monotonic()
        try:
            status, _ = service.ask("POST", "/v1/customers", {"name": f"{name} {number}"}, token, f"{name}-{number}")
        except OSError as error:
            print(f"      {error}")
            status = 0
        made += status == 201
        longest = max(longest, time.monotonic() - began)
    return made, longest


def all_answered(what, service, token):
    made, longest = changes(service, token, 50, what.replace(" ", "-"))
    check(f"with {what} every change is answered", made == 50, f"{made} of 50")
    check("and none waits", longest < 5, f"{longest:.1f} s")


def sessions(folder):
    service = Service(folder)
    token = service.found()["access_token"]
    service.stop()
    return token


def full(folder, token):
    with open("/dev/full", "w") as nowhere:
        service = Service(folder, stderr=nowhere)
    all_answered("a full disk under the log", service, token)
    lost = service.metric("log_lines_lost_total")
    check("the metrics count the lines that were lost", lost >= 50, lost)
    check("and a stop is a good one", service.stop() == 0)


def closed(folder, token):
    service = Service(folder, preexec_fn=lambda: os.close(2))
    all_answered("no standard error at all", service, token)
    check("and a stop is a good one", service.stop() == 0)


def gone(folder, token):
    reader, writer = os.pipe()
    service = Service(folder, stderr=writer)
    os.close(writer)
    os.close(reader)
    all_answered("a reader of the log that is gone", service, token)
    check("the metrics count the lines that were lost", service.metric("log_lines_lost_total") >= 50)
    check("and a stop is a good one", service.stop() == 0)


def stalled(folder, token):
    reader, writer = os.pipe()
    fcntl.fcntl(writer, fcntl.F_SETPIPE_SZ, 4096)
    # At `trace` a request is hundreds of lines, so that the queue is full soon.
    service = Service(folder, "--log", "trace", "--rate", "1000000", stderr=writer)
    os.close(writer)
    all_answered("a reader of the log that stands still", service, token)
    asked = 0
    while service.metric("log_lines_lost_total") == 0 and asked < 20_000:
        service.ask("GET", "/v1/customers", token=token)
        asked += 1
    check("what does not fit the queue is counted", service.metric("log_lines_lost_total") > 0, asked)
    all_answered("a queue that is full", service, token)
    read = bytearray()

    def drain():
        while part := os.read(reader, 1 << 20):
            read.extend(part)

    draining = threading.Thread(target=drain)
    draining.start()
    until = time.monotonic() + 20
    while b"lines of this log were lost" not in read and time.monotonic() < until:
        service.ask("GET", "/livez")
        time.sleep(0.1)
    check("and is told in the log as soon as that can be written", b"lines of this log were lost" in read, bytes(read[-500:]))
    check("and a stop is a good one", service.stop() == 0)
    draining.join(timeout=10)
    os.close(reader)
    check("the log of a pipe holds no colour codes", b"\x1b" not in read)


def stop_while_stalled(folder, token):
    reader, writer = os.pipe()
    fcntl.fcntl(writer, fcntl.F_SETPIPE_SZ, 4096)
    service = Service(folder, "--log", "debug", stderr=writer)
    os.close(writer)
    changes(service, token, 30, "before-the-stop")
    began = time.monotonic()
    check("a stop does not wait for a reader that stands still", service.stop() == 0 and time.monotonic() - began < 15,
          time.monotonic() - began)
    os.close(reader)


with tempfile.TemporaryDirectory(prefix="baywright-log-") as name:
    folder = pathlib.Path(name)
    token = sessions(folder)
    for case in (full, closed, gone, stalled, stop_while_stalled):
        case(folder, token)
finish()

"""The program as it ships, while strangers ask too much of it: of its memory, of its sign-ins, of its metrics.

Usage: strain.py PROGRAM. Talks to loopback alone; everything it starts is ended by its id.
"""
import concurrent.futures
import os
import pathlib
import resource
import socket
import struct
import tempfile
import time
import zlib

from service import PASSWORD, Service, check, finish

# Where bodies of each kind arrive: JSON, a file, a list, the form of the customer's page.
BODIES = [
    ("/v1/sessions", "application/json"),
    ("/v1/photos", "image/jpeg"),
    ("/v1/imports/customers", "text/csv"),
    ("/q/" + "x" * 43 + "/accept", "application/x-www-form-urlencoded"),
]


def at_once(count, task):
    with concurrent.futures.ThreadPoolExecutor(count) as pool:
        return list(pool.map(task, range(count)))


def blown_up(kib):
    """About so many KiB that become a thousand times as much, if somebody decodes them."""
    packer = zlib.compressobj(9, zlib.DEFLATED, 31)
    parts = [packer.compress(b'{"email": "')]
    while sum(map(len, parts)) < kib * 1024:
        parts.append(packer.compress(b" " * (8 << 20)))
    return b"".join([*parts, packer.flush()])


def compressed(folder):
    service = Service(folder)
    token = service.found()["access_token"]
    bomb = blown_up(245)
    service.ask("GET", "/v1/me", token=token)
    before = service.memory()["all"]
    for path, kind in BODIES:
        answers = at_once(16, lambda _: service.send(
            "POST", path, bomb, token, headers={"content-type": kind, "content-encoding": "gzip"}))
        seen = {(status, headers.get("accept-encoding"), body.get("type")) for status, headers, body in answers}
        check(f"compressed bodies are refused at {path[:20]}", seen == {(415, "identity", "/problems/compressed-body")}, seen)
    grown = service.memory()["all"] - before
    check(f"64 of {len(bomb) // 1024} KiB that would become 15 GB leave the memory within 20 MiB", grown < 20, f"{grown:.0f} MiB")
    plain = {"content-type": "application/json", "content-encoding": "identity"}
    status, _, _ = service.send("POST", "/v1/customers", b'{"name": "Aoife Byrne"}', token, "plain", plain)
    check("a body that says that it is plain is taken", status == 201, status)
    _, headers, _ = service.send("GET", "/v1/customers", token=token, headers={"accept-encoding": "identity"})
    check("answers are sent as they are to whoever wants that", headers.get("content-encoding") is None, headers)
    answer = service.raw(b"GET /openapi.json HTTP/1.1\r\nHost: x\r\nAccept-Encoding: gzip\r\nConnection: close\r\n\r\n")
    check("and compressed to whoever can read that", "content-encoding: gzip" in answer[:2000].lower(), answer[:300])
    service.stop()


def sign_ins(folder):
    service = Service(folder, "--behind-proxy")
    account = {"email": "orla@example.com", "password": PASSWORD}

    def sign_in(address, body=account):
        status, headers, _ = service.send("POST", "/v1/sessions", body, headers={"x-forwarded-for": address})
        return status, int(headers.get("retry-after", 0))

    sign_in("192.0.2.1")
    statuses = [status for status, _ in at_once(40, lambda number: sign_in(f"198.51.100.{number}"))]
    check("40 people who sign in at once get in", statuses == [201] * 40, statuses)
    memory = service.memory()
    # A program with its debugging marks has as much again in pages of its own file.
    shown = memory["all"] if memory["all"] - memory["own"] < 32 else memory["own"]
    check("and leave at most 64 MiB", shown <= 64, f"{memory}")
    print(f"      resident {memory['all']:.0f} MiB, {memory['own']:.0f} MiB of it no file's")

    # A guesser at made-up accounts shares the owner's address.
    guesses = [sign_in("203.0.113.7", {"email": f"made-up-{n}@example.com", "password": "a wrong password"}) for n in range(80)]
    refused = [wait for status, wait in guesses if status == 429]
    check("a guesser's tries come to an end", len(refused) >= 10 and 401 in dict(guesses), guesses)
    check("and the next one is never far", refused and max(refused) <= 3, refused)
    began, status = time.monotonic(), 429
    while status == 429 and time.monotonic() - began < 20:
        status, wait = sign_in("203.0.113.7")
        time.sleep(wait if status == 429 else 0)
    check("a right password from the guesser's address gets in within seconds", status == 201, (status, time.monotonic() - began))
    wrong = {"email": "orla@example.com", "password": "a wrong password"}
    answers = [sign_in("203.0.113.9", wrong)[0] for _ in range(12)]
    check("guesses at one account end after five", answers == [401] * 5 + [429] * 7, answers)
    check("from another address the account is open", sign_in("203.0.113.10")[0] == 201)
    check("and so are other accounts from the guesser's address",
          sign_in("203.0.113.9", {"email": "other@example.com", "password": "a wrong password"})[0] == 401)
    service.stop()


def never_read(folder):
    service = Service(folder)
    # The system's own buffers take some megabytes for each client, so each asks for more.
    asks = 8
    size = len(service.raw(b"GET /openapi.json HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n"))
    before, connections = service.memory()["all"], service.connections()
    clients = []
    for path in ("/openapi.json", "/docs/swagger-ui-bundle.js"):
        for _ in range(50):
            client = socket.socket()
            client.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
            client.connect(("127.0.0.1", service.port))
            client.sendall(f"GET {path} HTTP/1.1\r\nHost: x\r\n\r\n".encode() * asks)
            clients.append(client)
    time.sleep(2)
    grown = service.memory()["all"] - before
    check("100 clients that never read a megabyte take less than 24 MiB", grown < 24, f"{grown:.0f} MiB")
    held = service.connections() - connections
    check("each of them has a connection", held >= 100, held)
    again = len(service.raw(b"GET /openapi.json HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n"))
    check("all others are still answered", service.ask("GET", "/livez")[0] == 200 and abs(again - size) < 20, (again, size))
    until = time.monotonic() + 60
    while service.connections() > connections + 10 and time.monotonic() < until:
        time.sleep(1)
    check("and are given up after a while", service.connections() <= connections + 10, service.connections())
    for client in clients:
        client.close()
    service.stop()


def chunk(name, data):
    """A chunk of a PNG."""
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png(width, height, kind, *chunks):
    """A PNG of eight bits a sample and that colour type, with these chunks between its head and its end."""
    head = struct.pack(">IIBBBBB", width, height, 8, kind, 0, 0, 0)
    parts = [(b"IHDR", head), *chunks, (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunk(name, data) for name, data in parts)


def packed_png(mib):
    """A PNG of one black pixel whose colour profile becomes so many MiB if somebody unpacks it."""
    packer = zlib.compressobj(9)
    profile = b"profile\0\0" + b"".join(packer.compress(bytes(1 << 20)) for _ in range(mib)) + packer.flush()
    return png(1, 1, 0, (b"iCCP", profile), (b"IDAT", zlib.compress(bytes(2))))


PIXEL = packed_png(0)


def noise_png(width, height):
    """A PNG of coloured noise."""
    rows = b"".join(b"\0" + os.urandom(3 * width) for _ in range(height))
    return png(width, height, 2, (b"IDAT", zlib.compress(rows, 1)))


def claiming_webp(width, height, padding):
    """A lossless WebP that claims that size, with nothing in it."""
    head = b"\x2f" + struct.pack("<I", (width - 1) | (height - 1) << 14) + bytes(padding)
    return b"RIFF" + struct.pack("<I", len(head) + 12) + b"WEBPVP8L" + struct.pack("<I", len(head)) + head


def claiming_jpeg(width, height, padding):
    """A progressive JPEG of four components that claims that size, with nothing in it."""
    frame = b"\xff\xc2" + struct.pack(">HBHHB", 20, 8, height, width, 4) + b"".join(bytes([n, 0x11, 0]) for n in range(1, 5))
    scan = b"\xff\xda" + struct.pack(">HB", 14, 4) + b"".join(bytes([n, 0]) for n in range(1, 5)) + bytes(3)
    return b"\xff\xd8" + frame + scan + bytes(padding) + b"\xff\xd9"


def photographs(folder):
    """Small files that claim, or pack, more than the memory that a photograph may take."""
    service = Service(folder)
    service.sign_in()
    sent = [
        ("a WebP of 32 bytes", "image/webp", claiming_webp(8000, 5000, 7), 422),
        ("a WebP of 50 kB", "image/webp", claiming_webp(8000, 5000, 50_000), 422),
        ("a JPEG with coefficients of 320 MB", "image/jpeg", claiming_jpeg(8000, 5000, 50_000), 422),
        ("a PNG with a profile of 1 GiB", "image/png", packed_png(1024), 201),
    ]
    for what, kind, data, status in sent:
        before = service.memory()["all"]
        answers = at_once(8, lambda _: service.send("POST", "/v1/photos", data, headers={"content-type": kind})[0])
        check(f"{what}, 8 times at once, is answered with {status}", answers == [status] * 8, answers)
        # The most memory since the start, which no photograph before this one raised either.
        grown = service.memory()["most"] - before
        check(f"{what} takes less than 64 MiB", grown < 64, f"{grown:.0f} MiB")
    service.stop()


def padded_jpeg(jpeg, mib):
    """The JPEG with so many MiB of segments that no decoder needs (APP2)."""
    segment = b"\xff\xe2" + struct.pack(">H", 65_535) + bytes(65_533)
    return jpeg[:2] + segment * (mib << 20 >> 16) + jpeg[2:]


def uploads(folder):
    """Large files one after the other leave no more memory behind than a few do, nor do photographs that nobody reads."""
    service = Service(folder, "--rate", "100000")
    service.sign_in()
    photo = service.make("/v1/photos", PIXEL, headers={"content-type": "image/png"})["id"]
    _, _, jpeg = service.send("GET", f"/v1/photos/{photo}")
    before = service.memory()["own"]
    for mib in (5, 10):
        data = padded_jpeg(jpeg, mib)
        for _ in range(3):
            answers = at_once(8, lambda _: service.send("POST", "/v1/photos", data, headers={"content-type": "image/jpeg"})[0])
            check(f"8 photographs of {mib} MiB at once are taken", answers == [201] * 8, answers)
        grown = service.memory()["own"] - before
        check(f"24 of {mib} MiB leave less than 64 MiB behind", grown < 64, f"{grown:.0f} MiB")

    photo = service.make("/v1/photos", noise_png(1200, 900), headers={"content-type": "image/png"})
    check("a photograph of noise is a large one", photo["bytes"] > 500_000, photo)
    before, connections = service.memory()["own"], service.connections()
    clients = stalled(service, 100, f"/v1/photos/{photo['id']}", f"Authorization: Bearer {service.token}\r\n")
    time.sleep(3)
    for client in clients:
        client.close()
    until = time.monotonic() + 60
    while service.connections() > connections + 10 and time.monotonic() < until:
        time.sleep(0.5)
    grown = service.memory()["own"] - before
    check("100 clients that never read a photograph leave less than 16 MiB behind", grown < 16, f"{grown:.0f} MiB")
    service.stop()


def stalled(service, count, path, headers="", asks=1):
    """So many clients that ask and never read; a connection that the program ends is left out."""
    clients = []
    for _ in range(count):
        client = socket.socket()
        client.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        client.connect(("127.0.0.1", service.port))
        try:
            client.sendall(f"GET {path} HTTP/1.1\r\nHost: x\r\n{headers}\r\n".encode() * asks)
        except OSError:
            client.close()
            continue
        clients.append(client)
    return clients


def leave_files(service, spare, hard):
    """Lets the program open `spare` more files: the limit is one on their numbers, and a new file gets the lowest free one."""
    used = {int(fd.name) for fd in pathlib.Path(f"/proc/{service.process.pid}/fd").iterdir()}
    free = [number for number in range(len(used) + spare + 1) if number not in used]
    resource.prlimit(service.process.pid, resource.RLIMIT_NOFILE, (free[spare], hard))


def few_files(folder):
    """A photograph that finds as many files open as there may be is refused for now, and no defect."""
    service = Service(folder)
    soft, hard = resource.prlimit(service.process.pid, resource.RLIMIT_NOFILE)
    check("the program takes as many files as it can use", soft >= min(hard, 4096), (soft, hard))
    service.sign_in()
    photo = service.make("/v1/photos", PIXEL, headers={"content-type": "image/png"})["id"]
    answers = []
    for spare in range(1, 5):
        for method, path, body in (("GET", f"/v1/photos/{photo}", None), ("POST", "/v1/photos", PIXEL)):
            # The connection of the request before is closed by then.
            time.sleep(0.6)
            leave_files(service, spare, hard)
            try:
                status, headers, _ = service.send(method, path, body, headers={"content-type": "image/png"})
                answers.append((spare, method, status, headers.get("retry-after") is not None))
            except OSError as error:
                answers.append((spare, method, error, False))
    resource.prlimit(service.process.pid, resource.RLIMIT_NOFILE, (soft, hard))
    # With one file left the connection takes it; with four there is one for each thing that a request opens.
    refused = [retry for _, _, status, retry in answers if status == 503]
    check("a photograph that finds no file left is answered with 503 and when to try again", refused and all(refused), answers)
    served = {(method, status) for _, method, status, _ in answers if status != 503}
    check("and served as soon as there are enough", served == {("GET", 200), ("POST", 201)}, answers)
    time.sleep(1)
    check("with files again it is served", service.send("GET", f"/v1/photos/{photo}")[0] == 200)
    service.stop()


def many_connections(folder):
    """Requests one behind the other on more connections than one address may have, compressed and not."""
    service = Service(folder, "--rate", "100000")
    service.raw(b"GET /openapi.json HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
    # The system's own buffers may take all of the compressed answers, and idle connections are closed after a few seconds.
    cases = [("/docs/swagger-ui-bundle.js", "", 8, 64), ("/openapi.json", "Accept-Encoding: gzip\r\n", 4, 0)]
    for path, headers, asks, least in cases:
        before, connections = service.memory()["all"], service.connections()
        clients = stalled(service, 400, path, headers, asks)
        most, until = 0, time.monotonic() + 10
        while time.monotonic() < until:
            most = max(most, service.connections() - connections)
            time.sleep(0.1)
        held = service.connections() - connections
        check(f"one address has connections to ask for {path}", most >= 64, most)
        check("and holds 128 of them at most", least <= held <= 128, held)
        grown = service.memory()["all"] - before
        check(f"400 clients that never read {path} take less than 64 MiB", grown < 64, f"{grown:.0f} MiB")
        for client in clients:
            client.close()
        until = time.monotonic() + 60
        while service.connections() > connections + 10 and time.monotonic() < until:
            time.sleep(0.5)
        check("once they are gone the address has connections again", service.ask("GET", "/livez")[0] == 200)
    service.stop()


def crowded(folder):
    """A few addresses that begin as many requests as they may, and leave them unfinished."""
    service = Service(folder, "--rate", "100000")
    begun = b"POST /v1/sessions HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 100\r\n\r\n{"
    clients = []
    for address in range(2, 6):
        for _ in range(128):
            try:
                client = socket.create_connection(("127.0.0.1", service.port), timeout=2, source_address=(f"127.0.0.{address}", 0))
                client.sendall(begun)
                clients.append(client)
            except OSError:
                # The program has ended it.
                pass
    began = time.monotonic()
    with socket.create_connection(("127.0.0.1", service.port), timeout=10, source_address=("127.0.0.99", 0)) as wire:
        wire.sendall(b"GET /livez HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
        answer = wire.recv(100)
    took = time.monotonic() - began
    check("four addresses with unfinished requests leave room for a fifth", answer.startswith(b"HTTP/1.1 200 ") and took < 2, (answer, took))
    for client in clients:
        client.close()
    service.stop()


def large_answers(folder):
    """Large answers that are asked for again and again and never read."""
    service = Service(folder, "--rate", "100000")
    service.sign_in()
    customer = service.make("/v1/customers", {"name": "Tadhg Moran"})["id"]
    for _ in range(1000):
        service.make("/v1/vehicles", {"customer_id": customer, "make": "Quillan", "model": "Trader " + "x" * 50, "size_class": "MEDIUM"})
    path = f"/v1/customers/{customer}/personal-data"
    _, headers, _ = service.send("GET", path)
    size = int(headers["content-length"])
    check("a customer with a thousand vehicles has a large document", size > 500_000, size)
    before = service.memory()["all"]
    clients = stalled(service, 100, path, f"Authorization: Bearer {service.token}\r\n", asks=2)
    time.sleep(20)
    grown = service.memory()["all"] - before
    check(f"100 clients that never read {size // 1024} KiB take less than 128 MiB", grown < 128, f"{grown:.0f} MiB")
    for client in clients:
        client.close()
    time.sleep(2)
    check("once they are gone it is answered again", service.send("GET", path)[0] == 200)
    service.stop()


def probes(folder):
    """Whatever watches the program is answered when all other requests of its address are used up."""
    service = Service(folder, "--rate", "40")
    statuses = [service.ask("GET", "/v1/me")[0] for _ in range(60)]
    check("an address has so many requests in a minute", statuses[:30] == [401] * 30 and statuses[-1] == 429, statuses)
    for path in ("/healthz", "/livez", "/readyz", "/metrics"):
        check(f"{path} is answered all the same", service.ask("GET", path)[0] == 200)
    statuses = {service.ask("GET", "/livez")[0] for _ in range(60)}
    check("but not without end", statuses == {200, 429}, statuses)
    service.stop()


def metrics(folder):
    service = Service(folder)
    check("a program on this machine reads the metrics", service.ask("GET", "/metrics")[0] == 200)
    for name in ("x-forwarded-for", "x-forwarded-host", "forwarded", "via", "x-real-ip", "true-client-ip"):
        status, _ = service.ask("GET", "/metrics", headers={name: "for=127.0.0.1"})
        check(f"what a proxy passes on does not: {name}", status == 403, status)
    service.stop()
    token = "a token of the metrics"
    service = Service(folder, "--metrics-token", token)
    for given, status in ((None, 401), (token[:-1], 401), (token, 200)):
        seen, _ = service.ask("GET", "/metrics", token=given, headers={"x-forwarded-for": "198.51.100.7"})
        check(f"with a token, {'nothing' if given is None else repr(given)} is answered with {status}", seen == status, seen)
    service.stop()


def targets(folder):
    """RFC 9112, section 3.2.2: a server takes the absolute form, and its host counts before that of the header. Lines may end
    in a bare LF."""
    service = Service(folder, "--public-url", "https://bay.example.com")
    token = service.ask("POST", "/v1/sessions", {"email": "orla@example.com", "password": PASSWORD})[1]["access_token"]
    head = "{} HTTP/1.1\r\nHost: other.example\r\nAuthorization: Bearer {}\r\nConnection: close\r\n\r\n"
    answer = service.raw(head.format("GET http://elsewhere.example/v1/customers?limit=1", token).encode())
    check("a target in absolute form is answered by its path", answer.startswith("HTTP/1.1 200 "), answer[:200])
    check("and no link is made of hosts that a client names",
          "elsewhere.example" not in answer and "other.example" not in answer and "https://bay.example.com/v1/customers" in answer, answer[-600:])
    answer = service.raw(head.format("GET http://elsewhere.example/v1/nothing", token).encode())
    check("a path that is not there is none in absolute form either", answer.startswith("HTTP/1.1 404 "), answer[:200])
    # RFC 9112, section 2.2: a recipient may take a single LF as the end of a line.
    answer = service.raw(head.format("GET /v1/customers?limit=1", token).replace("\r\n", "\n").encode())
    check("a bare LF ends a line as CR and LF do", answer.startswith("HTTP/1.1 200 "), answer[:200])
    service.stop()


with tempfile.TemporaryDirectory(prefix="baywright-strain-") as name:
    folder = pathlib.Path(name)
    compressed(folder)
    sign_ins(folder)
    photographs(folder)
    uploads(folder)
    metrics(folder)
    probes(folder)
    targets(folder)
    never_read(folder)
    few_files(folder)
    many_connections(folder)
    crowded(folder)
    large_answers(folder)
finish()

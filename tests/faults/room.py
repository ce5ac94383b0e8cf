"""The program as it ships, where it may not write: files that may grow no more, folders that are closed to it.

Usage: room.py PROGRAM. Talks to loopback alone; everything it starts is ended by its id.
"""
import http.client
import os
import pathlib
import re
import resource
import shutil
import tempfile
import time
import urllib.parse

from service import PASSWORD, PROGRAM, Service, check, finish, run

# The user `nobody` of Debian; a program of root's may write everywhere.
NOBODY = 65534


def browser(service, method, path, cookie="", **fields):
    """What a browser gets: status, headers and text; a form says that it comes from a page of the service."""
    wire = http.client.HTTPConnection(urllib.parse.urlsplit(service.base).netloc, timeout=60)
    headers = {"accept": "text/html", "cookie": cookie, "sec-fetch-site": "same-origin"}
    body = None
    if method == "POST":
        headers["content-type"], body = "application/x-www-form-urlencoded", urllib.parse.urlencode(fields)
    wire.request(method, path, body, headers)
    answer = wire.getresponse()
    text = answer.read().decode()
    wire.close()
    return answer.status, answer.headers, text


def no_room(folder):
    """A limit on the size of files acts like a full disk, and the system would end the program by a signal at that."""
    service = Service(folder)
    service.found()
    service.stop()
    database = folder / "baywright-data" / "baywright.db"
    limit = database.stat().st_size + (200 << 10)
    service = Service(folder, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, resource.RLIM_INFINITY)))
    status, session = service.ask("POST", "/v1/sessions", {"email": "orla@example.com", "password": PASSWORD})
    check("while there is room the owner signs in", status == 201, session)
    _, other = service.ask("POST", "/v1/sessions", {"email": "orla@example.com", "password": PASSWORD})
    _, headers, _ = browser(service, "POST", "/sign-in", email="orla@example.com", password=PASSWORD)
    cookie = (headers["set-cookie"] or "").split(";")[0]
    status, _, page = browser(service, "GET", "/shop", cookie)
    check("and on the pages too", status == 200, (status, page))
    code = re.search(r'name="code" value="([^"]+)"', page)[1]
    token, made, status = session["access_token"], 0, 201
    while status == 201 and made < 5000:
        status, answer = service.ask("POST", "/v1/customers", {"name": f"Customer {made}"}, token, f"key-{made}")
        made += status == 201
    check("without room a change is refused with what to do", status == 503 and "Free some space" in answer["detail"], (made, status, answer))
    # What is left may do for a smaller change; now none fits.
    resource.prlimit(service.process.pid, resource.RLIMIT_FSIZE, (4096, resource.RLIM_INFINITY))
    check("the program goes on", service.process.poll() is None, service.process.returncode)
    status, page = service.ask("GET", "/v1/customers?limit=1", token=token)
    check("and reads", status == 200 and len(page["items"]) == 1, page)
    status, once = service.ask("POST", "/v1/sessions/refresh", {"refresh_token": session["refresh_token"]})
    check("a sign-in goes on", status == 200, once)
    check("by the same refresh token, which can't be marked as used", once.get("refresh_token") == session["refresh_token"])
    check("and with a new access token", once.get("access_token") and service.ask("GET", "/v1/me", token=once["access_token"])[0] == 200)
    status, twice = service.ask("POST", "/v1/sessions/refresh", {"refresh_token": session["refresh_token"]})
    check("and goes on again", status == 200, twice)
    status, answer = service.ask("POST", "/v1/sessions/refresh", {"refresh_token": "x" * 43})
    check("no token that is none", status == 401, answer)
    status, answer = service.ask("POST", "/v1/customers", {"name": "No room"}, twice["access_token"], "no-room")
    check("nothing is changed with it", status == 503, answer)
    status, answer = service.ask("POST", "/v1/sessions/end", {}, other["access_token"])
    check("who signs out is signed out", status == 204, (status, answer))
    check("with the access token", service.ask("GET", "/v1/me", token=other["access_token"])[0] == 401)
    check("and the refresh token", service.ask("POST", "/v1/sessions/refresh", {"refresh_token": other["refresh_token"]})[0] == 401)
    status, headers, page = browser(service, "POST", "/sign-out", cookie, code=code)
    check("who signs out on a page is led to the sign-in", status == 303 and "Max-Age=0" in (headers["set-cookie"] or ""), (status, page))
    status, headers, _ = browser(service, "GET", "/shop", cookie)
    check("and signed out", status == 303 and headers["location"].startswith("/sign-in"), status)
    check("and nobody else is", service.ask("GET", "/v1/me", token=token)[0] == 200)
    resource.prlimit(service.process.pid, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    status, answer = service.ask("POST", "/v1/customers", {"name": "Room again"}, twice["access_token"], "room-again")
    check("with room again changes are taken", status == 201, answer)
    status, after = service.ask("POST", "/v1/sessions/refresh", {"refresh_token": session["refresh_token"]})
    check("and the refresh token is used up", status == 200 and after["refresh_token"] != session["refresh_token"], after)
    status, answer = service.ask("POST", "/v1/sessions/refresh", {"refresh_token": session["refresh_token"]})
    check("so that its second use ends the sign-in", status == 401, answer)
    check("with all its tokens", service.ask("GET", "/v1/me", token=after["access_token"])[0] == 401)
    _, page = service.ask("POST", "/v1/sessions", {"email": "orla@example.com", "password": PASSWORD})
    # The clockwork writes the end of the sign-in in its next turn.
    time.sleep(6)
    check("a stop is a good one", service.stop() == 0)
    service = Service(folder)
    check("a sign-out without room is written when there is some", service.ask("GET", "/v1/me", token=other["access_token"])[0] == 401)
    check("on a page as well", browser(service, "GET", "/shop", cookie)[0] == 303)
    service.stop()
    whole = run("verify", folder=folder)
    check("and nothing is broken", whole.returncode == 0, whole.stdout + whole.stderr)


def closed_folders(folder):
    # A copy of the program, since others may not look into the folder where it was built.
    program = folder / "baywright"
    shutil.copy(PROGRAM, program)
    program.chmod(0o755)
    folder.chmod(0o755)
    more = {"user": NOBODY, "group": NOBODY, "extra_groups": []} if os.geteuid() == 0 else {}

    def migrate(place):
        return run("migrate", "--database", f"sqlite:{place}/shop.db", folder=folder, executable=program, **more)

    closed, half, open_folder = folder / "closed", folder / "half", folder / "open"
    for one in (closed, half, open_folder):
        one.mkdir()
        if more:
            os.chown(one, NOBODY, NOBODY)
    closed.chmod(0o555)
    for place, what in ((closed, "a folder that can't be written"), (closed / "below", "a folder that can't be made")):
        told = migrate(place)
        check(f"{what} is named", told.returncode == 1 and str(place) in told.stderr and "ermission denied" in told.stderr, told.stderr)
        check("with what to do", "--database" in told.stderr and "unable to open" not in told.stderr, told.stderr)
    check("an open folder is used", migrate(open_folder).returncode == 0)
    (half / "shop.db").touch()
    (half / "shop.db").chmod(0o400)
    told = migrate(half)
    check("a file that can't be read or written is named", told.returncode == 1 and f"{half}/shop.db" in told.stderr, told.stderr)


with tempfile.TemporaryDirectory(prefix="baywright-room-") as name:
    for case in (no_room, closed_folders):
        folder = pathlib.Path(name) / case.__name__
        folder.mkdir()
        os.chmod(name, 0o755)
        case(folder)
finish()

"""What schemathesis (PyPI) is told of the shops: real ids to ask with, and that nothing of the other shop may come back.

Loaded by SCHEMATHESIS_HOOKS; the file that BAYWRIGHT_TEST_WALLS names says which records each shop has. Valid requests ask
for our own records mostly, with the version they have, and sometimes for the other shop's, on its own as well as inside
bodies, where no foreign key may reach across.
"""
import atexit
import collections
import copy
import datetime
import hashlib
import json
import os
import re
import sys
import threading
from urllib.parse import parse_qsl, urlsplit

import hypothesis.strategies as st
import schemathesis

WORLD = json.load(open(os.environ["BAYWRIGHT_TEST_WALLS"], encoding="utf-8"))
UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
PEER = {id for ids in WORLD["peer"].values() for id in ids}
MARK = WORLD["mark"]
OWN = {kind: list(ids) for kind, ids in WORLD["own"].items()}
# The version of each record, by its id; of what has none, by its address.
VERSIONS = dict(WORLD["versions"])
# The query of the page after the one that was answered last, by the list's address.
CURSORS = {}
LOCK = threading.Lock()
CALLS = collections.Counter()
STATUSES = collections.defaultdict(collections.Counter)
# Ends the sign-in that it is called with, so it gets one of its own.
ENDS = {"access_end", "access_end_all"}
# A body's or a query's field, and the collection that its id is in.
FIELDS = {
    "absence_id": "absences", "bay_id": "bays", "customer_id": "customers", "inspection_id": "inspections",
    "invoice_id": "invoices", "invoice_ids": "invoices", "person_id": "people", "photo_ids": "photos",
    "quote_id": "quotes", "revision_id": "revisions", "vehicle_id": "vehicles",
}
# The codes of the shop's menu and taxes, by the field or the part of a path that holds one.
CODES = {
    "package": ["both"], "packages": ["both"], "product": ["shampoo"], "products": ["shampoo"],
    "service": ["wash", "polish"], "services": ["wash", "polish"], "step": ["rinse", "machine", "final"],
    "steps": ["rinse", "machine", "final"], "tax": ["standard", "reduced"],
}


# The years that the API document allows; drawn from all of them, nearly every day would be thrown away again.
DAYS = st.dates(datetime.date(1900, 1, 1), datetime.date(2199, 12, 31))
MOMENTS = st.datetimes(datetime.datetime(1900, 1, 1), datetime.datetime(2199, 12, 31))
schemathesis.openapi.format("date", DAYS.map(str))
schemathesis.openapi.format("date-time", MOMENTS.map(lambda moment: moment.strftime("%Y-%m-%dT%H:%M:%SZ")))


def only_this_machine(event, arguments):
    """Refuses every connection but those to this machine itself."""
    if event == "socket.connect" and isinstance(arguments[1], tuple) and arguments[1][0] not in ("127.0.0.1", "::1"):
        raise PermissionError(f"a connection to {arguments[1][0]} was tried")


sys.addaudithook(only_this_machine)


@schemathesis.auth(refresh_interval=None, retry_on=[])
class SignedIn:
    """The owner's access token, wherever the API document asks for one."""

    def get(self, case, _context):
        raw = case.operation.definition.raw
        if not raw["security"]:
            return None
        spare = WORLD["spare_tokens"]
        with LOCK:
            CALLS["all"] += 1
            return spare[CALLS["all"] % len(spare)] if raw["operationId"] in ENDS else WORLD["token"]

    def set(self, case, token, _context):
        case.headers["Authorization"] = f"Bearer {token}"


def die(*parts):
    """A number that is the same whenever the same request is made again."""
    return int.from_bytes(hashlib.sha256(repr(parts).encode()).digest()[:6], "big")


def id_of(kind, salt):
    """One of our records of that kind; every fifth time one of the other shop's, every tenth one that is nowhere.

    Half of our own are of one car: a quote with its vehicle, its inspection and its booking.
    """
    number, car = die(kind, salt), die(salt)
    if number % 10 == 9:
        return None
    if number % 5 == 0:
        pool = WORLD["peer"].get(kind)
    else:
        pool = WORLD["cars"][car % len(WORLD["cars"])].get(kind) if car // 100 % 2 else None
        pool = pool or OWN.get(kind)
    return pool[number // 10 % len(pool)] if pool else None


def one_or_other(name, value, salt):
    """The id or code to send in the place of a generated one, if there is any."""
    if name in FIELDS:
        return id_of(FIELDS[name], salt) or value
    if name in CODES and die(name, value, salt) % 8:
        return CODES[name][die(value, salt) % len(CODES[name])]
    return value


def with_ids(value, salt):
    """The body with real ids and codes in the fields that refer to records."""
    if isinstance(value, list):
        return [with_ids(item, salt) for item in value]
    if not isinstance(value, dict):
        return value
    changed = {}
    for name, inner in value.items():
        if isinstance(inner, str):
            inner = one_or_other(name, inner, salt)
        elif isinstance(inner, list) and all(isinstance(item, str) for item in inner):
            inner = list(dict.fromkeys(one_or_other(name, item, (salt, at)) for at, item in enumerate(inner)))
        else:
            inner = with_ids(inner, salt)
        changed[name] = inner
    return changed


def half_good(case, salt):
    """The generated body; now and then one that the shop sent itself, with some fields of the generated one.

    Rules that no schema can say would refuse nearly all of the others.
    """
    shape = re.sub(r"{[^}]*}", "[^/?]+", case.operation.path)
    known = [body for method, path, body in WORLD["bodies"] if method == case.method and re.fullmatch(shape, path)]
    if not known or not isinstance(case.body, dict) or die(salt, "body") % 2:
        return copy.deepcopy(case.body)
    good = known[die(salt) % len(known)]
    mixed = {name: case.body[name] if name in case.body and die(salt, name) % 3 == 0 else value
             for name, value in good.items()}
    return copy.deepcopy(mixed)


def in_path(path, name, value, salt):
    """What stands in the path for that parameter, after the collection that it is in."""
    parts = path.split("/")
    kind = parts[parts.index("{" + name + "}") - 1]
    if kind in OWN:
        return id_of(kind, salt) or value
    if name == "number":
        return "1"
    return one_or_other(kind, value, salt) if name == "code" and die(salt) % 3 else value


def record_of(path):
    """What a verb is for: the id in `/v1/quotes/…/send`, the address where there is none, or none of its own."""
    if path.startswith(("/v1/menu/", "/v1/learning/")):
        return "/v1/menu/draft"
    if "/steps/" in path:
        return path.rsplit("/", 1)[0] if path.count("/") > 5 else path
    ids = UUID.findall(path)
    return ids[-1] if ids else path


@schemathesis.hook
def before_call(_context, case, _kwargs):
    # Nothing may deactivate or demote the one who asks; somebody else has to do.
    if case.method.upper() != "GET" and (case.path_parameters or {}).get("id") == WORLD["me"]:
        case.path_parameters["id"] = OWN["people"][0]
    if case.meta is None or case.meta.generation.mode.is_negative:
        return
    path, salt = case.operation.path, repr((case.path_parameters, case.body, case.query))
    # What an earlier answer gave stays: the walk from operation to operation follows it.
    given = case._override
    for name, value in list((case.path_parameters or {}).items()):
        if name not in given.path_parameters:
            case.path_parameters[name] = in_path(path, name, value, salt)
    if case.query and "cursor" in case.query and "cursor" not in given.query:
        # No schema can say which texts are cursors of a list and its filters: the next page's is asked with instead.
        without = {name: value for name, value in case.query.items() if name != "cursor"}
        case.query = dict(CURSORS.get(case.formatted_path, without))
    else:
        for name, value in list((case.query or {}).items()):
            if name in FIELDS and isinstance(value, str) and name not in given.query:
                case.query[name] = one_or_other(name, value, salt)
    if isinstance(case.body, (dict, list)):
        body = with_ids(half_good(case, salt), salt)
        if isinstance(body, dict) and "code" in body and "code" in (case.path_parameters or {}):
            body["code"] = case.path_parameters["code"]
        case.body = body
    known = VERSIONS.get(record_of(case.formatted_path))
    if known and "If-Match" in case.headers and die(salt, "version") % 8:
        case.headers["If-Match"] = f'"{known}"'


def learn(value):
    """Keeps the versions of all records in an answer."""
    if isinstance(value, list):
        for item in value:
            learn(item)
    elif isinstance(value, dict):
        if isinstance(value.get("id"), str) and isinstance(value.get("version"), int):
            VERSIONS[value["id"]] = value["version"]
        for inner in value.values():
            learn(inner)


@schemathesis.hook
def after_call(_context, case, response):
    operation = case.operation.definition.raw["operationId"]
    with LOCK:
        STATUSES[operation][response.status_code] += 1
        if response.status_code >= 300:
            return
        tag = re.fullmatch(r'"(\d+)"', (response.headers.get("etag") or [""])[0])
        if tag and response.status_code != 201:
            VERSIONS[record_of(case.formatted_path)] = int(tag.group(1))
        if "json" in (response.headers.get("content-type") or [""])[0]:
            body = response.json()
            learn(body)
            if isinstance(body, dict) and isinstance(body.get("next"), str):
                CURSORS[case.formatted_path] = dict(parse_qsl(urlsplit(body["next"]).query))
        kind, id = (response.headers.get("location") or ["/"])[0].split("/")[-2:]
        if response.status_code == 201 and kind in OWN and UUID.fullmatch(id):
            OWN[kind] = [*OWN[kind][-40:], id]


@schemathesis.check
def nothing_of_the_other_shop(_context, response, case):
    """No answer carries a record of the other shop, nor a word of it."""
    text = response.content.decode(errors="replace")
    assert MARK not in text, f"the answer says {MARK}, which only the other shop's records do"
    # A list names its own address, filters and all; a refusal the one that was asked for, and what was wrong with it.
    said = response.request.url
    if response.status_code >= 400:
        body = response.request.body or ""
        said += body if isinstance(body, str) else body.decode(errors="replace")
    found = (set(UUID.findall(text)) & PEER) - set(UUID.findall(said))
    assert not found, f"the answer has ids of the other shop's records: {sorted(found)}"


@atexit.register
def tell():
    with open(os.environ["BAYWRIGHT_TEST_TOLD"], "w", encoding="utf-8") as file:
        json.dump({operation: dict(count) for operation, count in STATUSES.items()}, file)

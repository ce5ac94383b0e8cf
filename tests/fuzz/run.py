#!/usr/bin/env python3
"""Every operation of the API document under schemathesis (PyPI), on both engines: tests/fuzz/run.py PROGRAM

A signed-in owner sends what the document allows and what it forbids. There must be no 5xx, no status and no header that
the document does not name, no answer that breaks its schema, nothing bad that is accepted, nothing good that is called
malformed, and nothing of a second shop, which has the same life and whose ids are asked with. BAYWRIGHT_TEST_LONG=1 takes ten times as long.
"""
import collections
import json
import os
import random
import re
import subprocess
import sys

import life
import program as shipped
from program import UUID

PROGRAM = os.path.abspath(sys.argv[1])
HERE = os.path.dirname(os.path.abspath(__file__))
LONG = bool(os.environ.get("BAYWRIGHT_TEST_LONG"))
SECONDS = int(os.environ.get("BAYWRIGHT_TEST_FUZZ_SECONDS", 1200 if LONG else 110))
# The same in each ordinary run, so that what fails there fails because of a change; a long run looks further.
SEED = int(os.environ.get("BAYWRIGHT_TEST_SEED", random.randrange(2**32) if LONG else 376581262))
LEAST = 100_000 if LONG else 10_000
MARK = "Zyxwiddershins"
# How often it is asked at most, each time as the owner of a shop of its own: records that were used up help nobody.
ROUNDS = 7
# Share of the operations that must say yes at least once. Many moves do so in one state of a record only, which random
# requests leave soon; the tests in tests/api and the generated clients get a yes of every operation.
SHARE = 0.75
# All of schemathesis' own checks but object_level_authorization, which needs an owner who asks for both shops by turns;
# our own one looks at every answer, lists and refusals as well.
CHECKS = [
    "not_a_server_error", "status_code_conformance", "content_type_conformance", "response_headers_conformance",
    "response_schema_conformance", "negative_data_rejection", "positive_data_acceptance", "missing_required_header",
    "unsupported_method", "allow_header_conformance", "use_after_free", "ensure_resource_availability", "ignored_auth",
    "nothing_of_the_other_shop",
]


PAGES = ("bays", "bookings", "closures", "customers", "enquiries", "inspections", "invoices", "jobs", "messages",
         "payments", "people", "quotes", "tax-categories", "vehicles", "menu/revisions")


def records(desk):
    """A shop's records, by the collection of the API that they are in."""
    found = {page.split("/")[-1]: desk.get(f"/v1/{page}?limit=200")["items"] for page in PAGES}
    found["absences"] = [item for person in found["people"]
                         for item in desk.get(f"/v1/people/{person['id']}/absences")["items"]]
    found["variations"] = [item for quote in found["quotes"]
                           for item in desk.get(f"/v1/quotes/{quote['id']}/variations")["items"]]
    found["photos"] = [{"id": id} for inspection in found["inspections"]
                       for finding in desk.get(f"/v1/inspections/{inspection['id']}")["findings"]
                       for id in finding["photo_ids"]]
    for kind, items in found.items():
        assert items, f"the shop's life left nothing in {kind}"
    return found


def cars(found):
    """What belongs together: each quote with the ids of its customer, vehicle, inspections, bookings and so on."""
    for quote in found["quotes"]:
        wanted = {"quotes": ("id", "id"), "customers": ("id", "customer_id"), "vehicles": ("id", "vehicle_id"),
                  "inspections": ("vehicle_id", "vehicle_id"), "bookings": ("quote_id", "id"), "jobs": ("quote_id", "id"),
                  "invoices": ("quote_id", "id"), "variations": ("quote_id", "id")}
        yield {kind: [item["id"] for item in found[kind] if item.get(theirs) == quote[ours]]
               for kind, (theirs, ours) in wanted.items()}


def account(who, number):
    """The address that somebody of the shop of a round signs in with."""
    return f"{who}-{number}@example.com"


def world(base, number, theirs):
    """What the hooks are told in a round, of its shop and of the records of the other one."""
    own = shipped.Desk(base, account("owner", number))
    life.live(own, f"Plain{number}")
    mine = records(own)
    me = own.get("/v1/me")["person"]
    # Nobody else may deactivate or demote the one who asks.
    mine["people"] = [person for person in mine["people"] if person["id"] != me]
    versions = {item["id"]: item["version"] for items in mine.values() for item in items if "version" in item}
    versions |= {path: own.get(path)["version"] for path in ("/v1/menu/draft", "/v1/opening-hours", "/v1/rates", "/v1/shop")}
    spare = [shipped.Desk(base, account("spare", number)).token for _ in range(4)]
    ids = [{kind: [item["id"] for item in items] for kind, items in found.items()} for found in (mine, theirs)]
    return {"token": own.token, "spare_tokens": spare, "own": ids[0], "peer": ids[1], "mark": MARK,
            "cars": list(cars(mine)), "versions": versions, "me": me, "bodies": own.sent}


def unchanged(found):
    """What of a shop's records may not change by itself: mails are sent and places kept for an answer run out."""
    return {(kind, item["id"], item.get("version")) for kind, items in found.items() for item in items
            if kind != "messages" and item.get("state") != "HELD"}


def schemathesis(base, folder, known, seed, seconds, phases="examples,coverage,fuzzing,stateful"):
    """Runs it; gives whether it found nothing, and its counts of answers by operation."""
    walls, told, document = (f"{folder}/{name}.json" for name in ("walls", "told", "openapi"))
    with open(walls, "w", encoding="utf-8") as file:
        json.dump(known, file)
    # From a file: the operation that gives the document would else be passed over.
    with open(document, "w", encoding="utf-8") as file:
        file.write(shipped.requests.get(f"{base}/openapi.json", timeout=30).text)
    command = [
        os.path.join(os.path.dirname(sys.executable), "st"), "--config-file", f"{HERE}/schemathesis.toml",
        "run", document, "--url", base, "--checks", ",".join(CHECKS), "--max-time", str(seconds), "--workers", "1",
        "--phases", phases, "--seed", str(seed), "--generation-with-security-parameters", "false",
        "--continue-on-failure", "--no-color", "--generation-database", "none", "--request-timeout", "20", "--warnings", "off",
    ]
    environment = {name: value for name, value in os.environ.items() if not name.lower().endswith("_proxy")}
    environment |= {"SCHEMATHESIS_HOOKS": "walls", "PYTHONPATH": HERE, "BAYWRIGHT_TEST_WALLS": walls, "BAYWRIGHT_TEST_TOLD": told}
    try:
        code = subprocess.run(command, env=environment, cwd=folder, timeout=seconds + 60).returncode
        with open(told, encoding="utf-8") as file:
            return code == 0, json.load(file)
    except subprocess.TimeoutExpired:
        print(f"schemathesis did not end within {seconds + 60} seconds")
        return False, {}


def asked_in(counts):
    """How many requests those are."""
    return sum(sum(count.values()) for count in counts.values())


def said_yes(counts):
    """The operations that answered 2xx at least once."""
    return {operation for operation, count in counts.items() if any(status.startswith("2") for status in count)}


def operations_of(document):
    """The ids of all operations of an API document."""
    return {operation["operationId"] for item in document["paths"].values()
            for method, operation in item.items() if method in ("get", "put", "post", "delete", "patch")}


def enough(counts, operations):
    """Whether there were enough requests, and enough operations said yes. A busy machine takes more rounds."""
    return asked_in(counts) >= LEAST // 2 and len(said_yes(counts)) >= SHARE * len(operations)


def fuzz(engine):
    """One engine; gives the number of requests and what must be true, by name."""
    with shipped.folder() as folder, shipped.database(engine, folder) as address:
        shipped.found_shop(PROGRAM, address, folder, f"{MARK} Studio", "peer@example.com")
        for number in range(ROUNDS):
            name = f"Plain Studio {number}"
            shipped.found_shop(PROGRAM, address, folder, name, account("owner", number))
            shipped.add_user(PROGRAM, address, folder, name, account("spare", number), "desk")
        with shipped.served(PROGRAM, address, folder) as (base, log):
            peer = shipped.Desk(base, "peer@example.com")
            life.live(peer, MARK)
            theirs = records(peer)
            before = unchanged(theirs)
            operations = operations_of(shipped.requests.get(f"{base}/openapi.json", timeout=30).json())
            clean, signed_in, counts = True, True, {}
            for number in range(ROUNDS):
                if not clean or enough(counts, operations):
                    break
                known = world(base, number, theirs)
                length = {"seconds": SECONDS} if number == 0 else {"seconds": SECONDS // 2, "phases": "fuzzing"}
                clean, added = schemathesis(base, folder, known, SEED + number, **length)
                for operation, count in added.items():
                    counts[operation] = collections.Counter(counts.get(operation, {})) + collections.Counter(count)
                headers = {"Authorization": f"Bearer {known['token']}"}
                signed_in &= shipped.requests.get(f"{base}/v1/me", headers=headers, timeout=30).status_code == 200
            untouched = unchanged(records(peer)) == before
            with open(log, encoding="utf-8") as lines:
                bad = [line for line in lines if re.search(r"ERROR.*baywright\w*::|panicked", line)]
    print("".join(bad[:20]))
    asked = asked_in(counts)
    good = said_yes(counts)
    print(f"{engine}: {asked} requests to {len(counts)} of {len(operations)} operations; {len(good)} of them said yes")
    print(f"not asked: {', '.join(sorted(operations - set(counts))) or 'none'}")
    print(f"never yes: {', '.join(sorted(set(counts) - good)) or 'none'}")
    return asked, {
        "schemathesis found nothing": clean,
        "every operation was asked": set(counts) == operations,
        "three of four operations said yes": len(good) >= SHARE * len(operations),
        "the owner stayed signed in": signed_in,
        "nothing of the other shop changed": untouched,
        "the log has no error": not bad,
    }


def main():
    passed = failed = cases = 0
    for engine in os.environ.get("BAYWRIGHT_TEST_FUZZ_ENGINES", "sqlite postgres").split():
        print(f"--- {engine}, seed {SEED}", flush=True)
        asked, checks = fuzz(engine)
        cases += asked
        for name, fine in checks.items():
            passed, failed = passed + fine, failed + (not fine)
            print("ok:" if fine else "FAILED:", f"{engine}: {name}")
    enough = cases >= LEAST
    print("ok:" if enough else "FAILED:", f"{cases} requests, at least {LEAST}")
    passed, failed = passed + enough, failed + (not enough)
    if failed:
        print(f"Repeat it with BAYWRIGHT_TEST_SEED={SEED}; ids and times are others in each run.")
    print(f"{passed} passed, {failed} failed")
    sys.exit(failed > 0)


if __name__ == "__main__":
    main()

"""A shop's life in short: one car from the first call to the paid invoice, so that there is a record of every kind."""
import struct
import zlib

DAYS = ["MONDAY", "TUESDAY", "WEDNESDAY", "THURSDAY", "FRIDAY", "SATURDAY", "SUNDAY"]


def euro(amount):
    return {"amount": amount, "currency": "EUR"}


def picture():
    """A grey PNG of 32 by 32 pixels (PNG specification, third edition)."""
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 32, 32, 8, 0, 0, 0, 0)
    rows = b"".join(b"\0" + bytes([120] * 32) for _ in range(32))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")


def menu(mark):
    """Three steps, two services, a product, a package."""
    setup = {"area": "DRY", "side": "OUTSIDE", "zone": None, "tool": None, "masked": False, "cleanliness": "CLEAN"}

    def step(code, stage, minutes, after, **more):
        return {
            "code": code, "name": f"{code} {mark}", "stage": stage, "base_minutes": minutes, "by_size": True,
            "by_condition": True, "two_hands": None, "skills": [], "bay_features": [], "wait": None,
            "split_piece_minutes": None, "setup": setup, "doses": [], "hazards": [], "own_cautions": [], "after": after,
        } | more

    def service(code, position, steps, price):
        prices = {size: euro(price) for size in ("small", "medium", "large", "extra_large")}
        return {
            "code": code, "name": f"{code} {mark}", "summary": "", "tax": "standard", "steps": [{"step": s} for s in steps],
            "price": {"kind": "FIXED", "amounts": prices}, "condition": {"priced": False}, "excludes": [],
            "online": True, "position": position,
        }

    dose = {"product": "shampoo", "basis": "COUNT", "units": "1", "rate": "1000", "by_size": False}
    shampoo = {
        "code": "shampoo", "name": f"pH-neutral shampoo {mark}", "unit": "MILLILITRE", "mix": "50 ml in 10 l",
        "price": euro("14.00"), "chemistry": ["NEUTRAL"], "never_with": [], "dwell_seconds": 30,
        "hazards": ["SKIN_AND_EYES"], "own_cautions": [],
    }
    both = {
        "code": "both", "name": f"both {mark}", "summary": "", "tax": "standard", "services": ["wash", "polish"],
        "price": {size: euro("300.00") for size in ("small", "medium", "large", "extra_large")},
        "by_condition": False, "online": True, "position": 30,
    }
    steps = [
        step("rinse", 10, 15, [], doses=[dose]),
        step("machine", 20, 60, ["rinse"], split_piece_minutes=30),
        step("final", 90, 15, ["rinse", "machine"]),
    ]
    services = [service("wash", 10, ["rinse", "final"], "80.00"),
                service("polish", 20, ["rinse", "machine", "final"], "250.00")]
    return {"checkpoints": [], "products": [shampoo], "steps": steps, "services": services, "packages": [both]}


def furnish(desk, mark):
    """Bays, hours, somebody who works, a menu in force."""
    for number in (1, 2):
        desk.post("/v1/bays", {"name": f"Bay {number} {mark}", "features": ["cover"]})
    always = [{"weekday": day, "from": "00:00", "until": "24:00"} for day in DAYS]
    hours = desk.get("/v1/opening-hours")
    desk.put("/v1/opening-hours", {"hours": always}, hours["version"])
    people = [
        desk.post("/v1/people", {"name": f"{name} {mark}", "email": f"{name.lower()}-{mark.lower()}@example.com",
                                 "role": "TECHNICIAN", "skills": ["polishing"], "shifts": always})
        for name in ("Sean", "Niamh")
    ]
    closed = {"first_day": "2031-12-24", "last_day": "2031-12-26", "reason": f"Holidays {mark}"}
    desk.post("/v1/closures", closed, params={"confirm": "far-ahead"})
    away = {"first_day": "2031-07-06", "last_day": "2031-07-17", "note": mark}
    desk.post(f"/v1/people/{people[0]['id']}/absences", away, params={"confirm": "far-ahead"})
    desk.post("/v1/tax-categories", {"code": "reduced", "name": f"Reduced {mark}", "category": "S",
                                     "rates": [{"from": "2020-01-01", "percent": "13.5"}]})
    draft = desk.put("/v1/menu/draft", menu(mark), desk.get("/v1/menu/draft")["version"])
    desk.post("/v1/menu/publish", {"from": None, "note": mark}, draft["version"])
    wash = {"lines": [{"kind": "SERVICE", "code": "wash"}], "size": "SMALL", "condition": "FAIR", "powertrain": "COMBUSTION"}
    desk.post("/v1/menu/price", wash | {"source": "IN_FORCE"})
    desk.post("/v1/menu/first-times", {"choice": wash | {"source": "IN_FORCE"}})


def looked_at(desk, mark, vehicle):
    """An inspection that may still be changed."""
    photo = desk.send("POST", "/v1/photos", data=picture(), headers={"Content-Type": "image/png"})
    found = {
        "vehicle_id": vehicle["id"], "odometer": 48210, "soil_grade": 2, "contamination_grade": 1,
        "findings": [{"panel": "BONNET", "kind": "SWIRLS", "severity": "MINOR", "note": mark, "photo_ids": [photo["id"]]}],
        "readings": [{"panel": "BONNET", "micrometres": [120, 118, 125]}],
    }
    inspection = desk.post("/v1/inspections", found)
    return desk.put(f"/v1/inspections/{inspection['id']}", found, inspection["version"])


def car(desk, mark, name):
    """A customer, their car and what was found on it."""
    customer = desk.post("/v1/customers?confirm=known-customer", {
        "kind": "PRIVATE", "name": f"{name} {mark}", "emails": [f"{name.lower()}-{mark.lower()}@example.com"],
        "phones": ["+353 20 910 0000"], "language": "en",
        "address": {"lines": [f"4 Harbour Row {mark}"], "city": "Cork", "country": "IE"},
        "consents": [{"kind": "MAIL", "how": "at the desk"}],
    })
    vehicle = desk.post("/v1/vehicles?confirm=known-vehicle", {
        "customer_id": customer["id"], "registration": "231-D-10101", "registration_country": "IE", "make": "Corrigan",
        "model": f"Estate {mark}", "year": 2023, "size_class": "MEDIUM", "paint_type": "METALLIC",
    })
    inspection = looked_at(desk, mark, vehicle)
    inspection = desk.post(f"/v1/inspections/{inspection['id']}/complete", {}, inspection["version"])
    return customer, vehicle, inspection


def drafted(desk, mark, name, services):
    """A quote as it is before it is sent."""
    customer, vehicle, inspection = car(desk, mark, name)
    draft = {"inspection_id": inspection["id"], "lines": [{"item": {"service": service}} for service in services]}
    desk.post("/v1/quote-prices", {"vehicle_id": vehicle["id"], "draft": draft, "choices": []})
    quote = desk.post("/v1/quotes", {"vehicle_id": vehicle["id"], "draft": draft})
    return customer, desk.put(f"/v1/quotes/{quote['id']}/draft", draft | {"notes": f"By hand {mark}"}, quote["version"])


def sent(desk, mark, name, services):
    """A quote that waits for its answer."""
    customer, quote = drafted(desk, mark, name, services)
    return customer, desk.post(f"/v1/quotes/{quote['id']}/send", {"by_mail": True}, quote["version"])


def signed(desk, mark, name, services):
    """A quote that was signed by phone."""
    customer, quote = sent(desk, mark, name, services)
    yes = {"digest": quote["latest"]["digest"], "name": customer["name"], "agreed": True, "early_start": True}
    return customer, desk.post(f"/v1/quotes/{quote['id']}/sign-off", yes, quote["version"])


def booked(desk, quote, hold=False):
    """The first time that is offered, or the offer of it."""
    time = desk.get(f"/v1/quotes/{quote['id']}/availability?count=1")["times"][0]
    body = {"quote_id": quote["id"], "bay_id": time["bay_id"], "start": time["start"], "hold": hold, "note": ""}
    return desk.post("/v1/bookings", body)


def varied(desk, mark, quote_id):
    """More work that is asked about."""
    return desk.post(f"/v1/quotes/{quote_id}/variations",
                     {"reason": f"Scratches {mark}", "lines": [{"item": {"service": "polish"}}]})


def work(desk, booking, mark):
    """From the car's arrival to its hand-over, with something noted and more work asked about."""
    path = f"/v1/bookings/{booking['id']}"
    booking = desk.post(f"{path}/arrive?confirm=arrival-on-another-day,bay-not-cleared", {}, booking["version"])
    job = next(job for job in desk.get("/v1/jobs")["items"] if job["booking_id"] == booking["id"])
    desk.post(f"/v1/jobs/{job['id']}/notes", {"step": None, "text": f"Dry {mark}", "photo_ids": []})
    varied(desk, mark, booking["quote_id"])
    for step in desk.get(f"/v1/jobs/{job['id']}")["steps"]:
        path_of_step = f"/v1/jobs/{job['id']}/steps/{step['code']}"
        desk.post(f"{path_of_step}/start", {}, desk.get(path_of_step)["version"])
        desk.post(f"{path_of_step}/undo", {"reason": f"Wrong step {mark}"}, desk.get(path_of_step)["version"])
        desk.post(f"{path_of_step}/start", {}, desk.get(path_of_step)["version"])
        desk.post(f"{path_of_step}/finish", {"used": []}, desk.get(path_of_step)["version"])
    booking = desk.post(f"{path}/ready", {}, desk.get(path)["version"])
    handover = {"received_by": f"Aoife {mark}", "odometer": 48215, "aftercare": "Keep it dry.", "note": "", "checklist": []}
    return desk.post(f"{path}/hand-over", handover, booking["version"])


def put_back(desk, path, operation):
    """Writes a record as it was read."""
    document, seen = desk.get("/openapi.json"), desk.get(path)
    body = document["paths"][operation]["put"]["requestBody"]["content"]["application/json"]["schema"]["$ref"]
    fields = document["components"]["schemas"][body.rsplit("/", 1)[1]]["properties"]
    desk.put(path, {name: value for name, value in seen.items() if name in fields}, seen["version"])


def all_put_back(desk):
    """One record of each kind that can be replaced, those of the shop itself as well."""
    for path in ("/v1/shop", "/v1/rates"):
        put_back(desk, path, path)
    for page in ("bays", "closures", "enquiries", "people", "tax-categories", "vehicles"):
        last = [item for item in desk.get(f"/v1/{page}?limit=200")["items"] if item.get("role") != "OWNER"][-1]
        put_back(desk, f"/v1/{page}/{last['id']}", f"/v1/{page}/{{id}}")
        for absence in desk.get(f"/v1/people/{last['id']}/absences")["items"] if page == "people" else []:
            put_back(desk, f"/v1/people/{last['id']}/absences/{absence['id']}", "/v1/people/{id}/absences/{absence}")


def live(desk, mark):
    """Everything, in every state that a record may wait in."""
    furnish(desk, mark)
    for caller in ("Maeve", "Orla"):
        desk.post("/v1/enquiries", {"caller": {"name": f"{caller} {mark}", "phone": "+353 20 910 0001"}, "wish": "A wash"})
    customer, quote = signed(desk, mark, "Aoife", ["wash"])
    work(desk, booked(desk, quote), mark)
    invoice = desk.post("/v1/invoices", {"quote_id": quote["id"]})
    invoice = desk.post(f"/v1/invoices/{invoice['id']}/issue", {}, invoice["version"])
    desk.post("/v1/payments", {"customer_id": customer["id"], "method": "TRANSFER", "amount": invoice["payable"],
                               "invoice_ids": [invoice["id"]]})
    # A car that is in its bay, with more work asked about; one that is expected, one whose place is kept for an answer.
    _, quote = signed(desk, mark, "Nora", ["wash"])
    booking = booked(desk, quote)
    desk.post(f"/v1/bookings/{booking['id']}/arrive?confirm=arrival-on-another-day,bay-not-cleared", {}, booking["version"])
    varied(desk, mark, quote["id"])
    variation = varied(desk, mark, quote["id"])
    desk.post(f"/v1/variations/{variation['id']}/send", {"by_mail": True}, variation["version"])
    desk.post("/v1/invoices", {"quote_id": signed(desk, mark, "Fionn", ["polish"])[1]["id"]})
    booked(desk, signed(desk, mark, "Brid", ["polish"])[1])
    booked(desk, signed(desk, mark, "Una", ["wash"])[1], hold=True)
    for name in ("Grainne", "Tomas"):
        sent(desk, mark, name, ["wash"])
        _, quote = drafted(desk, mark, f"{name}-Og", ["polish"])
        looked_at(desk, mark, {"id": quote["vehicle_id"]})
    all_put_back(desk)

"""Work of a small invented studio, as little of it as causes mails and jobs."""

STEP = {"code": "wash", "name": "Wash", "stage": 1, "base_minutes": 60, "by_size": False, "by_condition": False,
        "two_hands": None, "skills": [], "bay_features": [], "wait": None, "split_piece_minutes": None,
        "setup": {"area": "WET", "side": "OUTSIDE", "zone": None, "tool": None, "masked": False, "cleanliness": "DIRTY"},
        "doses": [], "hazards": [], "own_cautions": [], "after": []}
PRICES = {size: {"amount": amount, "currency": "EUR"} for size, amount in
          [("small", "80.00"), ("medium", "90.00"), ("large", "110.00"), ("extra_large", "130.00")]}
SERVICE = {"code": "wash", "name": "Wash", "summary": "A clean car.", "tax": "standard",
           "steps": [{"step": "wash", "base_minutes": None}], "price": {"kind": "FIXED", "amounts": PRICES},
           "condition": {"priced": False, "at_worst": None}, "excludes": [], "online": True, "position": 10}
DAYS = ["MONDAY", "TUESDAY", "WEDNESDAY", "THURSDAY", "FRIDAY", "SATURDAY", "SUNDAY"]
MENU = {"checkpoints": [], "products": [], "steps": [STEP], "services": [SERVICE], "packages": []}


def furnish(desk):
    """A menu of one service, and open every day, since reminders go out while the shop is open; quotes hold for three days,
    and nobody is told before they lapse."""
    week = [{"weekday": day, "from": "08:00", "until": "20:00"} for day in DAYS]
    desk.put("/v1/opening-hours", {"hours": week}, tag(desk, "/v1/opening-hours"))
    desk.put("/v1/menu/draft", MENU, tag(desk, "/v1/menu/draft"))
    desk.post("/v1/menu/publish", {"from": None, "note": ""}, tag(desk, "/v1/menu/draft"))
    change_terms(desk, quote_days=3, lapse_reminder_days=0)


def tag(desk, path):
    """A record's tag as it stands."""
    return desk.session.get(desk.base + path, timeout=30).headers["ETag"]


def change_terms(desk, **terms):
    """Changes some of the shop's terms and leaves the rest."""
    shop = desk.get("/v1/shop")
    told = ("id", "version", "currency", "created_at", "updated_at")
    body = {name: value for name, value in shop.items() if name not in told}
    desk.put("/v1/shop", body | {"terms": body["terms"] | terms}, shop["version"])


def send_quote(desk, email):
    """A new customer with a car, and a quote that is mailed to them; gives its id."""
    customer = desk.post("/v1/customers?confirm=known-customer", {"name": "Aoife Byrne", "emails": [email],
                                           "consents": [{"kind": "MAIL", "how": "at the desk"}]})
    vehicle = desk.post("/v1/vehicles?confirm=known-vehicle", {"customer_id": customer["id"], "make": "Corrigan", "model": "Estate 2.0", "size_class": "MEDIUM",
                                         "paint_type": "METALLIC", "powertrain": "COMBUSTION"})
    draft = {"condition": "FAIR", "lines": [{"item": {"service": "wash"}}]}
    quote = desk.post("/v1/quotes", {"vehicle_id": vehicle["id"], "draft": draft})
    return desk.post(f"/v1/quotes/{quote['id']}/send", {}, quote["version"])["id"]

"""A studio as its owner sets it up, with the client that was generated from the API document: shop, people, menu."""
import datetime
import uuid
from typing import Protocol

import baywright_client as api

DAYS = ["MONDAY", "TUESDAY", "WEDNESDAY", "THURSDAY", "FRIDAY", "SATURDAY", "SUNDAY"]
ALWAYS = [api.StretchBody(weekday=day, var_from="00:00", until="24:00") for day in DAYS]
PASSWORD = "thirteen quiet buckets of rain"


class Record(Protocol):
    """Whatever counts its changes."""

    version: int


def key() -> str:
    """A fresh Idempotency-Key."""
    return str(uuid.uuid4())


def seen(record: Record) -> str:
    """The If-Match of a record as it was read."""
    return f'"{record.version}"'


def euro(amount: str) -> api.Amount:
    return api.Amount(amount=amount, currency="EUR")


def same(what: str, found: object, wanted: object) -> None:
    assert found == wanted, f"{what}: {found!r}"
    print(f"ok: {what}", flush=True)


class Person:
    """Somebody who talks to the program, signed in or not yet."""

    def __init__(self, base: str, session: api.SessionView | None = None):
        client = api.ApiClient(api.Configuration(host=base, access_token=session.access_token if session else None))
        self.access = api.AccessApi(client)
        self.booking = api.BookingApi(client)
        self.customer = api.CustomerApi(client)
        self.enquiry = api.EnquiryApi(client)
        self.inspection = api.InspectionApi(client)
        self.invoice = api.InvoiceApi(client)
        self.job = api.JobApi(client)
        self.media = api.MediaApi(client)
        self.menu = api.MenuApi(client)
        self.message = api.MessageApi(client)
        self.payment = api.PaymentApi(client)
        self.people = api.PeopleApi(client)
        self.plan = api.PlanApi(client)
        self.quote = api.QuoteApi(client)
        self.shop = api.ShopApi(client)
        self.variation = api.VariationApi(client)
        self.vehicle = api.VehicleApi(client)
        self.id = session.me.person if session else ""


def founded(base: str, code: str) -> Person:
    """The first shop and its owner, by the code that the program printed."""
    owner = api.OwnerBody(name="Orla Finn", email="orla@example.com", password=PASSWORD)
    nobody = Person(base)
    nobody.access.access_set_up(api.SetupBody(
        code=code, name="Harbour Detailing", currency="EUR", zone="Europe/Dublin", tax_percent="23", owner=owner))
    return Person(base, nobody.access.access_sign_in(api.SignInBody(email=owner.email, password=PASSWORD)))


def furnished(owner: Person) -> None:
    """Address, terms, rates, a second tax, a bay, opening hours."""
    shop = owner.shop.shop_show()
    terms = shop.terms.model_copy()
    # A call that somebody notes is enough for a change of up to 500 euro.
    terms.call_tolerance, terms.payment_days = euro("500.00"), 14
    address = api.ShopBodyAddress(street="4 Harbour Row", city="Cork", postcode=None, country="IE")
    shop = owner.shop.shop_replace(seen(shop), api.ShopBody(
        name=shop.name, zone=shop.zone, terms=terms, address=address, email=shop.email, phone=shop.phone))
    same("the shop has its terms", (shop.terms.call_tolerance, shop.address.city), (euro("500.00"), "Cork"))
    rates = owner.shop.shop_rates_show()
    owner.shop.shop_rates_replace(seen(rates), api.RatesBody(
        private_prices="GROSS", trade_prices=rates.trade_prices, tax_basis="CATEGORY", tax_rounding=rates.tax_rounding,
        labour_rate=rates.labour_rate, price_step=rates.price_step, size_factors=rates.size_factors,
        condition_factors=rates.condition_factors, changeovers=rates.changeovers))
    owner.shop.shop_tax_categories_create(key(), api.TaxBody(
        code="reduced", name="Reduced", category="S",
        rates=[api.DatedRate(var_from=datetime.date(2020, 1, 1), percent="13.5")]))
    owner.shop.shop_bays_create(key(), api.BayBody(name="Bay 1", features=["cover"]))
    hours = owner.shop.shop_opening_hours_show()
    owner.shop.shop_opening_hours_replace(seen(hours), api.WeekBody(hours=ALWAYS))


def joined(base: str, owner: Person, name: str, role: str) -> Person:
    """Somebody who got an invite and chose a password."""
    works = role == "TECHNICIAN"
    person = owner.people.people_create(key(), api.PersonBody(
        name=name, email=f"{role.lower()}@example.com", role=role, skills=["polishing"] if works else [],
        shifts=ALWAYS if works else []))
    invite = owner.access.access_invite(person.id)
    session = Person(base).access.access_accept(api.AcceptBody(token=invite.token, password=PASSWORD))
    same(f"{name} is signed in", (session.me.role, session.me.person), (role, person.id))
    return Person(base, session)


def step(code: str, stage: int, minutes: int, after: list[str]) -> api.MenuStep:
    dose = api.MenuStepDose(product="shampoo", basis="COUNT", units="1", rate="1000", by_size=False)
    setup = api.MenuStepSetup(area="DRY", side="OUTSIDE", masked=False, cleanliness="CLEAN")
    return api.MenuStep(
        code=code, name=f"Step {code}", stage=stage, base_minutes=minutes, by_size=True, by_condition=True,
        skills=["polishing"] if code == "machine" else [], bay_features=[], doses=[dose] if code == "rinse" else [],
        hazards=[], own_cautions=[], after=after, setup=setup)


def service(code: str, position: int, steps: list[str], price: str) -> api.MenuService:
    one = euro(price)
    amounts = api.MenuSizePrices(small=one, medium=one, large=one, extra_large=one)
    return api.MenuService(
        code=code, name=f"Service {code}", summary="", tax="standard",
        steps=[api.MenuServiceStep(step=step) for step in steps],
        price=api.MenuServicePrice(kind="FIXED", amounts=amounts),
        condition=api.MenuServiceCondition(priced=False), excludes=[], online=True, position=position)


def published(owner: Person) -> None:
    """A product, three steps and two services, in force."""
    shampoo = api.MenuProduct(
        code="shampoo", name="pH-neutral shampoo", unit="MILLILITRE", mix="50 ml in 10 l", price=euro("14.00"),
        chemistry=["NEUTRAL"], never_with=[], dwell_seconds=30, hazards=["SKIN_AND_EYES"], own_cautions=[])
    menu = api.Menu(
        checkpoints=[], packages=[], products=[shampoo],
        steps=[step("rinse", 10, 45, []), step("machine", 20, 60, ["rinse"]),
               step("final", 90, 15, ["rinse", "machine"])],
        services=[service("wash", 10, ["rinse", "final"], "80.00"),
                  service("polish", 20, ["rinse", "machine", "final"], "250.00")])
    draft = owner.menu.menu_draft_replace(seen(owner.menu.menu_draft_show()), menu)
    owner.menu.menu_publish(seen(draft), key(), api.PublishBody(var_from=None, note=""))
    in_force = owner.menu.menu_show_in_force().menu
    same("the menu is in force", [service.code for service in in_force.services], ["wash", "polish"])


class Studio:
    """Everything that a studio has before its first call."""

    def __init__(self, base: str, code: str):
        owner = founded(base, code)
        furnished(owner)
        published(owner)
        self.desk = joined(base, owner, "Robin Quill", "DESK")
        self.accountant = joined(base, owner, "Una Tarr", "ACCOUNTANT")
        self.technician = joined(base, owner, "Sean Walsh", "TECHNICIAN")

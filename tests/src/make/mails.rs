//! Every kind of mail that the program writes, with names, links and amounts as long as they may well be.

use baywright_core::setup::usecase::send_test_mail;
use serde_json::{Value, json};

use crate::Studio;
use crate::make::customer;
use crate::make::menu::with;
use crate::make::quote::{id, tag};
use crate::make::shop::without;
use crate::person::Person;

/// A mail that was written.
#[derive(Debug, Clone)]
pub struct Written {
    /// What it is for, such as `quote.sent`.
    pub kind: String,
    /// The body as HTML.
    pub html: String,
}

const NAME: &str = "Fionnuala Ní Mhurchadha-Brennan of the Long Strand Road";
const EMAIL: &str = "fionnuala-ni-mhurchadha.of-the-long-strand-road@customers.studio.example";
const LONG: &str = "Oberflächenversiegelung-mit-Keramikbeschichtung-und-Nachpolitur-samt-Innenraumaufbereitung";
/// Minutes of a day.
const DAY: i64 = 24 * 60;

impl Studio {
    /// Leads a studio through all that is mailed about; gives one mail or more of every kind. The studio must be new.
    #[track_caller]
    pub fn every_mail(&self) -> Vec<Written> {
        let owner = self.owner();
        owner.introduce_studio();
        self.in_shop(self.shop(), |tx| send_test_mail(tx, "orla@studio.example"));
        owner.change_terms(&json!({ "call_tolerance": { "amount": "20000.00", "currency": "EUR" } }));
        let floor = self.floor();
        let called_off = self.signed_work_with(&["wash"], Some("50.00"));
        let booked = owner.place(&called_off, &floor.best, "2026-03-04T12:00:00Z", false).expect(201);
        let there = json!({ "bay_id": floor.best, "start": "2026-03-05T12:00:00Z" });
        let moved = owner.move_booking(&booked, "move", &there).expect(200);
        let cancelled = owner.move_booking(&moved, "cancel", &json!({ "reason": "Another week" })).expect(200);
        owner.move_booking(&cancelled, "undo", &json!({ "reason": null })).expect(200);
        self.outgrown(&owner, &called_off);

        let person = with(customer::body(NAME), json!({ "emails": [EMAIL] }));
        let customer = owner.post("/v1/customers?confirm=known-customer", &person).expect(201);
        let vehicle = owner.add_vehicle(&id(&customer), "231-D-10101");
        let agreed = self.quoted(&owner, &vehicle);
        self.quoted(&owner, &vehicle);
        owner.note_yes(&agreed, &[2]).expect(200);
        let declined = self.quoted(&owner, &vehicle);
        let token = self.token_mailed_to(EMAIL);
        assert_eq!(self.visitor(&token).decline(&format!("Too dear. {LONG}")).status, 303, "{declined}");

        let booking = owner.place(&id(&agreed), &floor.best, "2026-03-03T12:00:00Z", false).expect(201);
        self.tick();
        self.pass_minutes(DAY + 4 * 60);
        // Whoever was signed in the day before signs in anew.
        let owner = self.owner();
        let arrived = owner.move_booking(&booking, "arrive", &json!({})).expect(200);
        self.overrun(&owner, &arrived);
        vary(&owner, &agreed);
        self.asked_and_booked(&owner);

        let invoice = self.issued_invoice(&customer, &[(12_345_678, 23), (98_765, 23)]);
        owner.act(&format!("/v1/invoices/{}/send", id(&invoice)), &tag(&invoice), &json!({})).expect(200);
        let credited = self.issued_invoice(&customer, &[(98_765, 23)]);
        let credit = format!("/v1/invoices/{}/credit-notes", id(&credited));
        let note = owner.act(&credit, &tag(&credited), &json!({ "reason": format!("Called off. {LONG}") })).expect(201);
        owner.act(&format!("/v1/credit-notes/{}/send", id(&note)), &tag(&note), &json!({})).expect(200);
        for _ in 0..60 {
            self.tick();
            self.pass_minutes(DAY);
        }
        self.owner().written_mails()
    }

    /// A quote with quantities, discounts, options and a deposit, sent by mail.
    fn quoted(&self, owner: &Person, vehicle: &Value) -> Value {
        let eur = |amount: &str| json!({ "amount": amount, "currency": "EUR" });
        let off = |percent: &str| json!({ "off": { "percent": percent }, "reason": format!("Opening week, {LONG}") });
        let typed = json!({ "custom": { "name": LONG, "price": eur("12345.67") } });
        let draft = json!({
            "condition": "FAIR", "notes": format!("Bring both keys, please. {LONG}"), "deposit": { "percent": "20" },
            "lines": [
                { "item": { "service": "wash" }, "quantity": "2", "discount": off("10") },
                { "item": typed, "quantity": "3" },
                { "item": { "service": "polish" }, "required": false },
                { "item": typed, "quantity": "2", "required": false },
            ],
            "discounts": [off("5")],
        });
        let written = owner.write_quote(&id(vehicle), &draft).expect(201);
        let sent =
            owner.move_quote(&written, "send", &json!({ "email": EMAIL, "message": format!("As we said. {LONG}") }));
        let sent = sent.expect(200);
        self.tick();
        sent
    }

    /// The customer signs more work, by their link, than the place of their booking is long enough for.
    fn outgrown(&self, owner: &Person, quote: &str) {
        let path = format!("/v1/quotes/{quote}");
        let open = owner.move_quote(&owner.get(&path).expect(200), "revisions", &json!({})).expect(200);
        let draft = json!({ "condition": "FAIR", "lines": [{ "item": { "service": "coating" } }] });
        let open = owner.put(&format!("{path}/draft"), &tag(&open), &draft).expect(200);
        owner.move_quote(&open, "send", &json!({})).expect(200);
        let token = self.token_mailed_to("aoife.byrne@example.com");
        assert_eq!(self.visitor(&token).accept(&[], "Aoife Byrne").status, 303);
    }

    /// A customer asks something on the page of their stay, and books a time there.
    fn asked_and_booked(&self, owner: &Person) {
        let allowed = json!({ "allowed": true, "notice_hours": 0 });
        owner.put("/v1/self-booking", "\"1\"", &allowed).expect(200);
        self.signed_work(&["wash"]);
        let guest = self.guest_mailed_to("aoife.byrne@example.com");
        assert_eq!(guest.ask(&format!("Do you wash the roof box? {LONG}")).status, 303);
        let time = guest.offered_times().remove(0);
        assert_eq!(guest.choose(&time).status, 303);
    }

    /// The work on a car takes longer than the customer was told.
    fn overrun(&self, owner: &Person, booking: &Value) {
        let late = json!({ "overruns": [{ "booking_id": booking["id"], "finish": "2026-03-04T16:00:00Z" }] });
        let made = owner.post("/v1/reschedulings", &late).expect(201);
        owner.act(&format!("/v1/reschedulings/{}/accept", id(&made)), &tag(&made), &json!({})).expect(200);
        self.tick();
    }
}

/// Something comes up while the car is in its bay; the customer agrees on the phone.
fn vary(owner: &Person, quote: &Value) {
    let draft = json!({ "reason": format!("Deep scratches. {LONG}"), "lines": [{ "item": { "service": "coating" } }] });
    let written = owner.post(&format!("/v1/quotes/{}/variations", id(quote)), &draft).expect(201);
    let path = format!("/v1/variations/{}", id(&written));
    let sent = owner.act(&format!("{path}/send"), &tag(&written), &json!({})).expect(200);
    let yes = json!({ "digest": sent["digest"], "name": NAME, "agreed": true, "early_start": true });
    owner.act(&format!("{path}/sign-off"), &tag(&sent), &yes).expect(200);
}

impl Person {
    /// Gives the shop an address, a telephone number, an email address and an account; returns the shop.
    #[track_caller]
    pub fn introduce_studio(&self) -> Value {
        let now = self.get("/v1/shop");
        let etag = now.etag();
        let mut shop = without(&now.expect(200), &["id", "version", "currency", "created_at", "updated_at"]);
        let known = json!({
            "phone": "+353 20 910 0199", "email": "hello@teststudio.example", "legal_name": "Test Studio Limited",
            "address": { "street": "1 Test Quay", "postcode": "D02 X285", "city": "Dublin", "country": "IE" },
        });
        shop.as_object_mut().unwrap().extend(known.as_object().unwrap().clone());
        self.put("/v1/shop", &etag, &shop).expect(200)
    }

    /// Every mail of the shop, the first one first.
    #[track_caller]
    pub fn written_mails(&self) -> Vec<Written> {
        let list = self.get("/v1/messages?limit=200&sort=created_at").expect(200);
        assert_eq!(list["next"], Value::Null, "more mails than one page holds");
        let text = |value: &Value| value.as_str().unwrap().to_owned();
        let read = |message: &Value| {
            let whole = self.get(&format!("/v1/messages/{}", id(message))).expect(200);
            Written { kind: text(&whole["kind"]), html: text(&whole["html"]) }
        };
        list["items"].as_array().unwrap().iter().map(read).collect()
    }
}

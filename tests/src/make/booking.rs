//! Bookings for tests: a studio that can work, signed work, and places for it.

use serde_json::{Value, json};

use crate::Studio;
use crate::answer::Answer;
use crate::make::menu::{product, service, step, with};
use crate::make::quote::id;
use crate::person::Person;

/// A studio with bays and people, whose days are Monday to Friday from 8:00 to 17:30.
pub struct Floor {
    /// A bay with everything.
    pub best: String,
    /// A bay without cover.
    pub plain: String,
    /// Somebody who can polish.
    pub polisher: String,
    /// Somebody who can't.
    pub helper: String,
}

impl Studio {
    /// Two bays and two technicians.
    pub fn floor(&self) -> Floor {
        let owner = self.owner();
        Floor {
            best: id(&owner.add_bay("Bay 1", &["cover", "dust-free"])),
            plain: id(&owner.add_bay("Bay 2", &[])),
            polisher: id(&owner.add_technician("Niall Quirke", &["correction"])),
            helper: id(&owner.add_technician("Orla Shea", &[])),
        }
    }

    /// Work that a customer has signed; gives the quote's id. The services are those of [`floor_menu`].
    pub fn signed_work(&self, services: &[&str]) -> String {
        self.signed_work_with(services, None)
    }

    /// The same with a deposit, such as `50.00`.
    pub fn signed_work_with(&self, services: &[&str], deposit: Option<&str>) -> String {
        let owner = self.owner();
        if owner.get("/v1/menu").status != 200 {
            owner.publish_menu_with(&floor_menu(), &json!({}));
        }
        let (_, vehicle) = owner.add_customer_with_car();
        owner.signed_quotes(vehicle["id"].as_str().unwrap(), &[services], deposit).remove(0)
    }
}

impl Person {
    /// Publishes a menu for a shop whose changeovers take no time, but for these.
    #[track_caller]
    pub fn publish_menu_with(&self, menu: &Value, changeovers: &Value) {
        self.publish_menu(menu);
        let changeovers = with(no_changeovers(self), changeovers.clone());
        self.change_rates(&json!({ "changeovers": changeovers }));
    }

    /// Quotes for a vehicle in fair condition, each of some services, signed by phone; gives their ids.
    #[track_caller]
    pub fn signed_quotes(&self, vehicle: &str, services: &[&[&str]], deposit: Option<&str>) -> Vec<String> {
        let deposit = deposit.map(|amount| json!({ "amount": { "amount": amount, "currency": "EUR" } }));
        let sign = |services: &&[&str]| {
            let lines: Vec<Value> = services.iter().map(|code| json!({ "item": { "service": code } })).collect();
            let mut draft = json!({ "condition": "FAIR", "lines": lines });
            if let Some(deposit) = &deposit {
                draft["deposit"] = deposit.clone();
            }
            let written = self.write_quote(vehicle, &draft).expect(201);
            let sent = self.move_quote(&written, "send", &json!({ "by_mail": false })).expect(200);
            id(&self.note_yes(&sent, &[]).expect(200))
        };
        services.iter().map(sign).collect()
    }

    /// Asks when the signed work can be done.
    #[track_caller]
    pub fn times(&self, quote: &str, count: u8) -> Vec<Value> {
        let found = self.get(&format!("/v1/quotes/{quote}/availability?count={count}")).expect(200);
        found["times"].as_array().unwrap().clone()
    }

    /// Asks for a place.
    pub fn place(&self, quote: &str, bay: &str, start: &str, hold: bool) -> Answer {
        let body = json!({ "quote_id": quote, "bay_id": bay, "start": start, "hold": hold, "note": "" });
        self.post("/v1/bookings", &body)
    }

    /// Asks for a place for two people.
    pub fn place_for_two(&self, quote: &str, bay: &str, start: &str, hold: bool) -> Answer {
        let body =
            json!({ "quote_id": quote, "bay_id": bay, "start": start, "hold": hold, "hands": "TWO", "note": "" });
        self.post("/v1/bookings", &body)
    }

    /// Books the first time that is offered; gives the booking.
    #[track_caller]
    pub fn book_first(&self, quote: &str) -> Value {
        let times = self.times(quote, 1);
        let (bay, start) = (times[0]["bay_id"].as_str().unwrap(), times[0]["start"].as_str().unwrap());
        self.place(quote, bay, start, false).expect(201)
    }

    /// Makes a move of a booking as it was last seen; gives the booking after it.
    #[track_caller]
    pub fn move_booking(&self, booking: &Value, verb: &str, body: &Value) -> Answer {
        let path = format!("/v1/bookings/{}/{verb}", booking["id"].as_str().unwrap());
        self.act(&path, &format!("\"{}\"", booking["version"]), body)
    }
}

/// Four steps in a row, of 60, 120, 60 and 15 minutes whatever the car; a second person helps with the second, in 72
/// minutes; the coat cures for twelve hours under cover.
pub fn floor_menu() -> Value {
    let shampoo = with(
        product("shampoo", "14.00"),
        json!({ "mix": "50 ml in 10 l", "dwell_seconds": 30, "hazards": ["SKIN_AND_EYES"] }),
    );
    let dose = json!([{ "product": "shampoo", "basis": "COUNT", "units": "1", "rate": "10000", "by_size": false }]);
    let cure = json!({ "wait_minutes": 720, "when": "ANY", "holds": "CAR", "needs_bay": true, "needs_cover": true });
    let steps = [
        with(fixed_step("wash", 1, 60, &[]), json!({ "doses": dose })),
        with(
            fixed_step("machine", 2, 120, &["wash"]),
            json!({ "skills": ["correction"], "split_piece_minutes": 60, "two_hands": "0.6" }),
        ),
        with(fixed_step("coat", 3, 60, &["machine"]), json!({ "bay_features": ["dust-free"], "wait": cure })),
        fixed_step("final", 9, 15, &["wash", "machine", "coat"]),
    ];
    let services = [
        service("wash", 10, &["wash", "final"], Some([80, 90, 110, 130])),
        service("polish", 20, &["wash", "machine", "final"], Some([250, 290, 340, 400])),
        service("coating", 30, &["wash", "machine", "coat", "final"], Some([500, 590, 690, 790])),
    ];
    json!({ "checkpoints": [], "products": [shampoo], "steps": steps, "services": services, "packages": [] })
}

/// The same menu in a studio that washes only where there is a drain, so that a car to be coated changes bays if no bay
/// has a drain and is free of dust as well.
pub fn drained_menu() -> Value {
    let mut menu = floor_menu();
    menu["steps"][0]["bay_features"] = json!(["drain"]);
    menu
}

/// An hour's work on seats that then dry for four hours, 20 minutes of trim inside after them, and three hours of polishing
/// outside, whatever the car; `holds` says what the drying holds back.
pub fn drying_menu(holds: &str) -> Value {
    let inside =
        json!({ "area": "DRY", "side": "INSIDE", "zone": null, "tool": null, "masked": false, "cleanliness": "CLEAN" });
    let drying =
        json!({ "wait_minutes": 240, "when": "ANY", "holds": holds, "needs_bay": false, "needs_cover": false });
    let steps = [
        with(fixed_step("extract", 1, 60, &[]), json!({ "setup": inside, "wait": drying })),
        with(fixed_step("trim", 2, 20, &["extract"]), json!({ "setup": inside })),
        fixed_step("polish", 3, 180, &[]),
    ];
    let services = [service("valet", 10, &["extract", "trim", "polish"], Some([300, 340, 390, 450]))];
    json!({ "checkpoints": [], "products": [], "steps": steps, "services": services, "packages": [] })
}

/// A step that takes as long whatever the car.
fn fixed_step(code: &str, stage: u32, minutes: u32, after: &[&str]) -> Value {
    with(step(code, stage, minutes, after), json!({ "by_size": false, "by_condition": false }))
}

/// The shop's changeovers, of no minutes at all.
fn no_changeovers(owner: &Person) -> Value {
    let mut rates = owner.get("/v1/rates").expect(200)["changeovers"].clone();
    for minutes in rates.as_object_mut().unwrap().values_mut() {
        *minutes = json!(0);
    }
    rates
}

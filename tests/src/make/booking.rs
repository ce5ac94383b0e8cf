//! Bookings for tests: a studio that can work, signed work, and places for it.

use baywright::plan::usecase::{NewPlan, keep};
use baywright::platform::ids;
use baywright_domain::caution::{Caution, Hazard};
use baywright_domain::id::{CustomerId, VehicleId};
use baywright_domain::inspection::ConditionClass;
use baywright_domain::menu::{
    Basis, ChangeoverRates, Chemistry, Code, ConditionRule, Dose, Factors, Menu, Price, Product, Service, Setup, Split,
    Step, StepUse, Unit, Wait, WaitWhen,
};
use baywright_domain::mixing::Ratio;
use baywright_domain::money::{Currency, Money};
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::{Car, Powertrain, SizeClass};
use rust_decimal::Decimal;
use serde_json::{Value, json};

use crate::Studio;
use crate::answer::Answer;
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
        let id = |view: Value| view["id"].as_str().unwrap().to_owned();
        Floor {
            best: id(owner.add_bay("Bay 1", &["cover", "dust-free"])),
            plain: id(owner.add_bay("Bay 2", &[])),
            polisher: id(owner.add_technician("Niall Quirke", &["correction"])),
            helper: id(owner.add_technician("Orla Shea", &[])),
        }
    }

    /// Work that a customer has signed; gives the quote's id. The services are `wash`, `polish` and `coating`.
    pub fn signed_work(&self, services: &[&str]) -> String {
        self.signed_work_with(services, None)
    }

    /// The same with a deposit, in minor units.
    pub fn signed_work_with(&self, services: &[&str], deposit: Option<i64>) -> String {
        let (customer, vehicle) = self.owner().add_customer_with_car();
        let id = |view: &Value| view["id"].as_str().unwrap().to_owned();
        let new = NewPlan {
            quote: ids::new(),
            revision: ids::new(),
            variations: Vec::new(),
            customer: CustomerId::new(id(&customer)),
            vehicle: VehicleId::new(id(&vehicle)),
            deposit: deposit.map(Money::from_minor),
            menu: menu(),
            services: services.iter().map(|text| code(text)).collect(),
            car: Car { size: SizeClass::Medium, condition: ConditionClass::Fair, powertrain: Powertrain::Combustion },
        };
        self.in_shop(self.shop(), |tx| keep(tx, &new)).quote.to_string()
    }
}

impl Person {
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

fn code(text: &str) -> Code {
    Code::parse(text).unwrap()
}

/// Four steps in a row, of 60, 120, 60 and 15 minutes; the coat cures for twelve hours under cover.
fn menu() -> Menu {
    let step = |name: &str, stage, minutes, after: &[&str]| Step {
        code: code(name),
        name: name.to_uppercase(),
        stage,
        minutes: Minutes::new(minutes),
        by_size: false,
        by_condition: false,
        two_hands: None,
        skills: Vec::new(),
        features: Vec::new(),
        wait: Wait::NONE,
        split: None,
        setup: Setup::PLAIN,
        doses: Vec::new(),
        cautions: Vec::new(),
        after: after.iter().map(|text| code(text)).collect(),
    };
    let shampoo = Product {
        code: code("shampoo"),
        name: "pH-neutral shampoo".into(),
        unit: Unit::Millilitre,
        mix: Some(Ratio::parse("50 ml in 10 l").unwrap()),
        price: None,
        chemistry: vec![Chemistry::Neutral],
        never_with: Vec::new(),
        dwell_seconds: Some(30),
        cautions: vec![Caution::Known(Hazard::SkinAndEyes)],
    };
    let dose = Dose {
        product: code("shampoo"),
        basis: Basis::Count(Decimal::ONE),
        rate: Decimal::from(10_000),
        by_size: false,
    };
    let steps = vec![
        Step { doses: vec![dose], ..step("wash", 1, 60, &[]) },
        Step {
            skills: vec![code("correction")],
            split: Some(Split { piece: Minutes::new(60) }),
            ..step("machine", 2, 120, &["wash"])
        },
        Step {
            features: vec![code("dust-free")],
            wait: Wait { minutes: Minutes::new(720), when: WaitWhen::Any, needs_bay: true, needs_cover: true },
            ..step("coat", 3, 60, &["machine"])
        },
        step("final", 9, 15, &["wash", "machine", "coat"]),
    ];
    let service = |name: &str, steps: &[&str]| Service {
        code: code(name),
        name: name.to_uppercase(),
        summary: String::new(),
        steps: steps.iter().map(|step| StepUse { step: code(step), minutes: None }).collect(),
        price: Price::Built,
        condition: ConditionRule::default(),
        excludes: Vec::new(),
        tax: code("standard"),
        online: true,
    };
    let services = vec![
        service("wash", &["wash", "final"]),
        service("polish", &["wash", "machine", "final"]),
        service("coating", &["wash", "machine", "coat", "final"]),
    ];
    let free = ChangeoverRates::USUAL;
    Menu {
        factors: Factors::usual(Money::from_minor(6000), Currency::EUR),
        changeovers: ChangeoverRates {
            tool_out: Minutes::ZERO,
            tool_away: Minutes::ZERO,
            clean_up: Minutes::ZERO,
            ..free
        },
        gates: Vec::new(),
        products: vec![shampoo],
        steps,
        services,
        packages: Vec::new(),
    }
}

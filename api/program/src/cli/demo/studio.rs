//! The demo's studio: its bays, people, menu, customers and cars, from `demo-data/`.

use std::collections::BTreeMap;

use baywright_core::people::usecase::NewPerson;
use baywright_core::platform::db::Scope;
use baywright_core::platform::program::Program;
use baywright_core::platform::secret::Secret;
use baywright_core::setup::usecase::{NewShop, found as found_shop};
use baywright_domain::id::{PersonId, ShopId};
use baywright_domain::money::{Currency, Percent};
use baywright_domain::people::Role;
use rust_decimal::Decimal;
use serde::Deserialize;
use serde_json::{Value, json};

use super::desk::Desk;
use crate::cli::Trouble;
use crate::cli::operator::said;

/// The password of everyone in the demo.
pub(super) const PASSWORD: &str = "seven soft mitts drying";

const STUDIO: &str = include_str!("../../../../../demo-data/studio.json");
const MENU: &str = include_str!("../../../../../demo-data/menu.json");
const CUSTOMERS: &str = include_str!("../../../../../demo-data/customers.json");

/// Content of `studio.json`.
#[derive(Deserialize)]
pub(super) struct Plan {
    shop: Value,
    hours: Value,
    bays: Vec<Value>,
    /// Person who works there, the owner first.
    pub(super) people: Vec<Worker>,
    /// Enquiries that nobody has answered yet.
    pub(super) enquiries: Vec<Value>,
}

/// Person who works in the demo.
#[derive(Deserialize)]
pub(super) struct Worker {
    /// Their name.
    pub(super) name: String,
    /// The address they sign in with.
    pub(super) email: String,
    /// OWNER, DESK or TECHNICIAN.
    pub(super) role: String,
    skills: Vec<String>,
    days: Vec<String>,
}

/// Reads `studio.json`.
pub(super) fn plan() -> Result<Plan, Trouble> {
    Ok(serde_json::from_str(STUDIO)?)
}

fn text(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

/// Creates the shop with its owner.
pub(super) fn found(program: &Program) -> Result<(ShopId, PersonId), Trouble> {
    let plan = plan()?;
    let owner = plan.people.first().ok_or("the demo has no owner")?;
    let password_hash = program.passwords.hash(&Secret::new(PASSWORD.to_owned())?).map_err(said)?;
    let tax: Decimal = text(&plan.shop["tax"]).parse().map_err(|_| "the demo has no tax")?;
    let tax = Percent::new(tax).map_err(|e| e.to_string())?;
    let new = NewShop {
        name: text(&plan.shop["name"]),
        currency: Currency::of(&text(&plan.shop["currency"])).ok_or("the demo has no currency")?,
        zone: text(&plan.shop["zone"]),
        tax,
        owner: NewPerson { name: owner.name.clone(), email: owner.email.clone(), role: Role::Owner, password_hash },
    };
    let now = program.clock.now();
    program.db.write(Scope::Program, |conn| found_shop(conn, &program.config, now, &new)).map_err(said)
}

/// Sets the shop up; returns the cars by registration, each with `id` and `customer_id`.
pub(super) fn furnish(desk: &mut Desk) -> Result<BTreeMap<String, Value>, Trouble> {
    let plan = plan()?;
    let shop = desk.get("/v1/shop")?;
    let mut body = plan.shop.clone();
    for word in ["currency", "tax"] {
        body.as_object_mut().ok_or("studio.json has no shop")?.remove(word);
    }
    body["terms"] = shop["terms"].clone();
    desk.put("/v1/shop", &shop, &body)?;
    let hours = desk.get("/v1/opening-hours")?;
    desk.put("/v1/opening-hours", &hours, &json!({ "hours": plan.hours }))?;
    for bay in &plan.bays {
        desk.post("/v1/bays", bay)?;
    }
    people(desk, &plan)?;
    let draft = desk.get("/v1/menu/draft")?;
    let draft = desk.put("/v1/menu/draft", &draft, &serde_json::from_str(MENU)?)?;
    desk.act("/v1/menu/publish", &draft, Some(&json!({})))?;
    cars(desk)
}

fn people(desk: &mut Desk, plan: &Plan) -> Result<(), Trouble> {
    let owner = desk.get("/v1/people")?["items"][0].clone();
    for (place, worker) in plan.people.iter().enumerate() {
        let shifts: Vec<Value> = worker
            .days
            .iter()
            .map(|day| {
                let (from, until) = if day == "SATURDAY" { ("09:00", "14:00") } else { ("08:00", "18:00") };
                json!({ "weekday": day, "from": from, "until": until })
            })
            .collect();
        let body = json!({
            "name": worker.name, "email": worker.email, "role": worker.role, "skills": worker.skills, "shifts": shifts
        });
        if place == 0 {
            desk.put(&format!("/v1/people/{}", text(&owner["id"])), &owner, &body)?;
            continue;
        }
        let person = desk.post("/v1/people", &body)?;
        let invite = desk.post(&format!("/v1/people/{}/invite", text(&person["id"])), &json!({}))?;
        desk.post("/v1/invites/accept", &json!({ "token": invite["token"], "password": PASSWORD }))?;
    }
    Ok(())
}

fn cars(desk: &mut Desk) -> Result<BTreeMap<String, Value>, Trouble> {
    let mut cars = BTreeMap::new();
    let customers: Vec<Value> = serde_json::from_str(CUSTOMERS)?;
    for mut customer in customers {
        let vehicles = customer["vehicles"].take();
        customer.as_object_mut().ok_or("customers.json: not an object")?.remove("vehicles");
        let made = desk.post("/v1/customers", &customer)?;
        for vehicle in vehicles.as_array().into_iter().flatten() {
            let mut body = vehicle.clone();
            body["customer_id"] = made["id"].clone();
            let car = desk.post("/v1/vehicles", &body)?;
            cars.insert(text(&car["registration"]), car);
        }
    }
    Ok(cars)
}

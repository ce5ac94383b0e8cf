//! Bays, closures and taxes for tests.

use serde_json::{Value, json};

use crate::person::Person;

impl Person {
    /// Adds a bay with those features; gives the answer's body.
    #[track_caller]
    pub fn add_bay(&self, name: &str, features: &[&str]) -> Value {
        self.post("/v1/bays", &json!({ "name": name, "features": features })).expect(201)
    }

    /// Closes the shop, or one bay, from a day up to, not including, another; gives the answer's body.
    #[track_caller]
    pub fn close(&self, bay: Option<&str>, from: &str, until: &str) -> Value {
        let body = json!({ "bay_id": bay, "first_day": from, "last_day": day_before(until), "reason": "Closed" });
        self.post("/v1/closures", &body).expect(201)
    }

    /// Adds the tax `reverse-charge`, under which the customer owes the tax.
    #[track_caller]
    pub fn add_reverse_charge(&self) {
        let tax = json!({
            "code": "reverse-charge", "name": "Reverse charge", "category": "AE", "usual": false,
            "reason": "Reverse charge", "rates": [{ "from": "2020-01-01", "percent": "0" }]
        });
        self.post("/v1/tax-categories", &tax).expect(201);
    }

    /// Opens the shop on those days of the week from one time to another, and on no other; gives the answer's body.
    #[track_caller]
    pub fn open_on(&self, weekdays: &[&str], from: &str, until: &str) -> Value {
        let hours: Vec<Value> =
            weekdays.iter().map(|day| json!({ "weekday": day, "from": from, "until": until })).collect();
        let etag = self.get("/v1/opening-hours").etag();
        self.put("/v1/opening-hours", &etag, &json!({ "hours": hours })).expect(200)
    }

    /// Changes some of the shop's terms and leaves the rest; gives the shop as it then stands.
    #[track_caller]
    pub fn change_terms(&self, terms: &Value) -> Value {
        let now = self.get("/v1/shop");
        let etag = now.etag();
        let mut shop = now.expect(200);
        for (name, value) in terms.as_object().into_iter().flatten() {
            shop["terms"][name] = value.clone();
        }
        let shop = without(&shop, &["id", "version", "currency", "created_at", "updated_at"]);
        self.put("/v1/shop", &etag, &shop).expect(200)
    }

    /// Changes some of what the shop is and leaves the rest; gives the shop as it then stands.
    #[track_caller]
    pub fn change_shop(&self, changes: &Value) -> Value {
        let now = self.get("/v1/shop");
        let etag = now.etag();
        let mut shop = without(&now.expect(200), &["id", "version", "currency", "created_at", "updated_at"]);
        for (name, value) in changes.as_object().into_iter().flatten() {
            shop[name] = value.clone();
        }
        self.put("/v1/shop", &etag, &shop).expect(200)
    }

    /// Changes some of the shop's rates and leaves the rest; gives the rates as they then stand.
    #[track_caller]
    pub fn change_rates(&self, changes: &Value) -> Value {
        let now = self.get("/v1/rates");
        let etag = now.etag();
        let mut rates = without(&now.expect(200), &["version", "updated_at"]);
        for (name, value) in changes.as_object().into_iter().flatten() {
            rates[name] = value.clone();
        }
        self.put("/v1/rates", &etag, &rates).expect(200)
    }
}

/// A view without what a body may not say.
pub fn without(view: &Value, names: &[&str]) -> Value {
    let mut body = view.clone();
    if let Some(fields) = body.as_object_mut() {
        fields.retain(|name, _| !names.contains(&name.as_str()));
    }
    body
}

/// The day before another one, both such as `2026-03-03`.
#[track_caller]
pub fn day_before(day: &str) -> String {
    day.parse::<chrono::NaiveDate>().unwrap().pred_opt().unwrap().to_string()
}

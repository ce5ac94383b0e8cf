//! Customers for tests.

use serde_json::{Value, json};

use crate::person::Person;

/// A private customer whom the desk may write to and call, under an invented name.
pub fn body(name: &str) -> Value {
    json!({
        "kind": "PRIVATE", "name": name, "emails": ["aoife.byrne@example.com"], "phones": ["+353 20 910 0000"],
        "address": { "lines": ["4 Harbour Row"], "city": "Cork", "postcode": "T12 AB12", "country": "IE" },
        "consents": [{ "kind": "MAIL", "how": "at the desk" }, { "kind": "PHONE", "how": "at the desk" }],
        "language": "en"
    })
}

/// A dealer: prices without tax, purchase orders, a VAT number.
pub fn trade_body(name: &str) -> Value {
    json!({
        "kind": "TRADE", "name": name, "contact_name": "Padraig Nolan", "emails": ["accounts@dealer.example"],
        "phones": ["+353 20 910 0111"], "vat_id": "IE1234567FA", "purchase_order_required": true,
        "address": { "lines": ["Unit 9", "Quay Road"], "city": "Galway", "country": "IE" }
    })
}

impl Person {
    /// Adds a private customer, though others are reached the same way; gives the answer's body.
    #[track_caller]
    pub fn add_customer(&self, name: &str) -> Value {
        self.post("/v1/customers?confirm=known-customer", &body(name)).expect(201)
    }

    /// Adds a trade customer; gives the answer's body.
    #[track_caller]
    pub fn add_trade_customer(&self, name: &str) -> Value {
        self.post("/v1/customers?confirm=known-customer", &trade_body(name)).expect(201)
    }
}

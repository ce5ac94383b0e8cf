//! Quotes for tests: written from the small menu, sent by mail, answered.

use serde_json::{Value, json};

use crate::Studio;
use crate::answer::Answer;
use crate::make::customer;
use crate::make::menu::with;
use crate::person::Person;

/// A quote that is with its customer, and what it was made from.
#[derive(Debug, Clone)]
pub struct SentQuote {
    /// The customer's id.
    pub customer: String,
    /// The vehicle's id.
    pub vehicle: String,
    /// The id of the completed inspection.
    pub inspection: String,
    /// The quote's id.
    pub id: String,
    /// The quote as the API shows it.
    pub view: Value,
    /// The token of the link that the customer got by mail.
    pub token: String,
}

/// A draft for an inspected vehicle: services that stand, and services that the customer may tick.
pub fn draft(inspection: &str, required: &[&str], optional: &[&str]) -> Value {
    let line = |code: &&str, required: bool| json!({ "item": { "service": code }, "required": required });
    let lines = required.iter().map(|code| line(code, true)).chain(optional.iter().map(|code| line(code, false)));
    json!({ "inspection_id": inspection, "lines": lines.collect::<Vec<_>>() })
}

/// The id of a record.
pub fn id(view: &Value) -> String {
    view["id"].as_str().unwrap().to_owned()
}

/// The ETag of a record.
pub fn tag(view: &Value) -> String {
    format!("\"{}\"", view["version"])
}

impl Person {
    /// Adds a customer with an address of their own, their car, and its completed inspection; gives the three bodies.
    #[track_caller]
    pub fn add_inspected_car(&self, name: &str, email: &str) -> (Value, Value, Value) {
        let body = with(customer::body(name), json!({ "emails": [email] }));
        let customer = self.post("/v1/customers?confirm=known-customer", &body).expect(201);
        let vehicle = self.add_vehicle(&id(&customer), "231-D-10101");
        let inspection = self.inspect(&id(&vehicle));
        (customer, vehicle, inspection)
    }

    /// Writes a quote; gives the answer.
    #[track_caller]
    pub fn write_quote(&self, vehicle: &str, draft: &Value) -> Answer {
        self.post("/v1/quotes", &json!({ "vehicle_id": vehicle, "draft": draft }))
    }

    /// Makes a move of a quote as it was last seen; gives the answer.
    #[track_caller]
    pub fn move_quote(&self, quote: &Value, verb: &str, body: &Value) -> Answer {
        self.act(&format!("/v1/quotes/{}/{verb}", id(quote)), &tag(quote), body)
    }

    /// Notes a yes by phone to what is with the customer, with those optional lines; gives the answer.
    #[track_caller]
    pub fn note_yes(&self, quote: &Value, choices: &[u32]) -> Answer {
        let body = json!({
            "digest": quote["latest"]["digest"], "name": quote["latest"]["document"]["customer"]["name"],
            "agreed": true, "early_start": true, "choices": choices
        });
        self.move_quote(quote, "sign-off", &body)
    }
}

impl Studio {
    /// A quote of those services of the small menu, the optional ones to be ticked, sent by mail to `email`.
    #[track_caller]
    pub fn sent_quote(&self, email: &str, required: &[&str], optional: &[&str]) -> SentQuote {
        self.sent_quote_with(email, |inspection| draft(inspection, required, optional))
    }

    /// The same, with a draft of the caller's for the inspection.
    #[track_caller]
    pub fn sent_quote_with(&self, email: &str, draft: impl FnOnce(&str) -> Value) -> SentQuote {
        let owner = self.owner();
        if owner.get("/v1/menu").status == 404 {
            owner.publish_small_menu();
        }
        let (customer, vehicle, inspection) = owner.add_inspected_car("Aoife Byrne", email);
        let written = owner.write_quote(&id(&vehicle), &draft(&id(&inspection))).expect(201);
        let view = owner.move_quote(&written, "send", &json!({})).expect(200);
        SentQuote {
            customer: id(&customer),
            vehicle: id(&vehicle),
            inspection: id(&inspection),
            id: id(&view),
            view,
            token: self.token_mailed_to(email),
        }
    }

    /// The same, signed with those optional lines ticked; `view` is the quote after it.
    #[track_caller]
    pub fn signed_quote(&self, email: &str, required: &[&str], optional: &[&str], choices: &[u32]) -> SentQuote {
        let mut quote = self.sent_quote(email, required, optional);
        quote.view = self.owner().note_yes(&quote.view, choices).expect(200);
        quote
    }

    /// The token of the last link that was mailed to that address.
    #[track_caller]
    pub fn token_mailed_to(&self, email: &str) -> String {
        self.tick();
        let start = format!("{}/q/", self.base);
        let mails = self.mails_to(email);
        let link = mails.iter().rev().find_map(|mail| mail.link(&start));
        link.unwrap_or_else(|| panic!("no link was mailed to {email}"))[start.len()..].to_owned()
    }
}

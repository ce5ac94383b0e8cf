//! Invoices for tests.

use baywright_core::invoice::usecase::{Source, SourceLine, draft};
use baywright_domain::document::{Document, Line, Prices};
use baywright_domain::id::CustomerId;
use baywright_domain::invoice::InvoiceKind;
use baywright_domain::money::Currency;
use baywright_domain::tax::{Category, Profile, Rate, Treatment};
use rust_decimal::Decimal;
use serde_json::{Value, json};

use crate::Studio;
use crate::person::Person;

/// One piece each at these prices in minor units, at these rates in percent.
pub fn document(prices: Prices, lines: &[(i64, u8)]) -> Document {
    let line = |&(minor, rate): &(i64, u8)| {
        let treatment = Treatment::new(Category::Standard, Rate::whole(rate)).unwrap();
        Line::new(Decimal::ONE, Decimal::new(minor, 2), treatment)
    };
    Document::new(Currency::EUR, prices, Profile::EN_16931, lines.iter().map(line).collect())
}

/// What an invoice is made of where no quote is behind it.
pub fn source(customer: &Value, document: Document) -> Source {
    let line =
        |at: usize| SourceLine { name: format!("Service {at}"), origin: "Q-2026-0001".into(), ..SourceLine::default() };
    Source {
        kind: InvoiceKind::Final,
        follows_quote: false,
        claims: Vec::new(),
        preceding: Vec::new(),
        tax_point: None,
        customer: CustomerId::new(customer["id"].as_str().unwrap()),
        quote: None,
        vehicle: Some("Estate car, 231-D-10101".into()),
        lines: (1..=document.lines.len()).map(line).collect(),
        document,
        purchase_order: None,
        note: String::new(),
    }
}

impl Studio {
    /// Drafts an invoice with prices that include tax; gives its path.
    pub fn draft_invoice(&self, customer: &Value, lines: &[(i64, u8)]) -> String {
        let source = source(customer, document(Prices::Gross, lines));
        let made = self.in_shop(self.shop(), |tx| draft(tx, &source));
        format!("/v1/invoices/{}", made.id)
    }

    /// Drafts and issues such an invoice; gives the answer's body.
    #[track_caller]
    pub fn issued_invoice(&self, customer: &Value, lines: &[(i64, u8)]) -> Value {
        let path = self.draft_invoice(customer, lines);
        self.owner().act(&format!("{path}/issue"), "\"1\"", &json!({})).expect(200)
    }
}

impl Person {
    /// Records a payment for those invoices, or for whatever is open; gives the answer's body.
    #[track_caller]
    pub fn pay(&self, customer: &Value, amount: &str, invoices: &[&Value]) -> Value {
        self.post("/v1/payments", &payment(customer, amount, invoices)).expect(201)
    }
}

/// A transfer from that customer.
pub fn payment(customer: &Value, amount: &str, invoices: &[&Value]) -> Value {
    let invoices: Vec<&Value> = invoices.iter().map(|invoice| &invoice["id"]).collect();
    json!({
        "customer_id": customer["id"], "method": "TRANSFER", "amount": { "amount": amount, "currency": "EUR" },
        "invoice_ids": invoices
    })
}

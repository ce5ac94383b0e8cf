//! The page of an issued invoice: readable, printable, with how to pay it and what was paid.

use actix_web::get;
use actix_web::http::StatusCode;
use actix_web::web::Path;
use askama::Template;
use baywright_core::invoice::kept::InvoiceDocument;
use baywright_core::invoice::usecase::{Invoice, lines};
use baywright_core::mail::compose::Line;
use baywright_core::payment::usecase::Payment;
use baywright_core::platform::kept::Amount;
use baywright_core::shop::settings::Settings;
use baywright_core::stay::usecase;
use baywright_domain::calendar::day_in_full;
use baywright_domain::id::InvoiceId;
use baywright_domain::money::Money;
use baywright_http::platform::answer::Answer;

use super::show::path;
use super::view::frame;
use crate::platform::{Frame, filters, html};
use crate::signoff::{Visit, stopped_page};

/// The page of an invoice.
#[derive(Template)]
#[template(path = "stay/views/invoice.html")]
struct InvoicePage {
    frame: Frame,
    back: String,
    number: String,
    facts: Vec<(String, String)>,
    lines: Vec<Line>,
    note: String,
    /// Payments: day and way, and the amount.
    paid: Vec<(String, String)>,
    /// How to pay what is open: label and value; empty if nothing is.
    to_pay: Vec<(String, String)>,
    open: String,
}

/// The invoice with that id, if it belongs to the stay.
#[get("/c/{token}/invoices/{id}")]
pub(super) async fn show_invoice(visit: Visit, address: Path<(String, String)>) -> Answer {
    let (_, id) = address.into_inner();
    let found = visit.read(move |tx, link| {
        let (settings, invoice, payments) = usecase::invoice(tx, link, &InvoiceId::new(id))?;
        let document = invoice.document()?;
        Ok((settings, invoice, document, payments))
    });
    match found.await {
        Ok((settings, invoice, document, payments)) => {
            let page = InvoicePage::of(&settings, &invoice, &document, &payments, path(&visit));
            html(StatusCode::OK, &page)
        }
        Err(stopped) => stopped_page(&stopped),
    }
}

impl InvoicePage {
    fn of(
        settings: &Settings,
        invoice: &Invoice,
        document: &InvoiceDocument,
        payments: &[Payment],
        back: String,
    ) -> Self {
        let number = invoice.number.clone().unwrap_or_default();
        let amount = |money: Money| Amount::of(money, settings.currency).to_string();
        let open = invoice.account.open;
        let fact = |label: &str, value: Option<String>| value.map(|value| (label.to_owned(), value));
        let buyer: Vec<&str> =
            std::iter::once(&document.buyer.name).chain(&document.buyer.address).map(String::as_str).collect();
        let facts = [
            fact("Date", invoice.issued_on.map(day_in_full)),
            fact("To", Some(buyer.join(", "))),
            fact("Your VAT number", document.buyer.vat_id.clone()),
            fact("Your order", document.purchase_order.clone()),
            fact("Vehicle", document.vehicle.clone()),
            fact("Quote", document.quote_number.clone()),
        ];
        let to_pay = [
            fact("Please pay by", invoice.due_on.map(day_in_full)),
            fact("Account (IBAN)", document.seller.iban.clone()),
            fact("Payment reference", document.payment_reference.clone()),
        ];
        let to_pay = if open.is_zero() { Vec::new() } else { to_pay.into_iter().flatten().collect() };
        let part = |payment: &Payment| {
            let sum = payment.parts.iter().filter(|part| part.invoice == invoice.id).map(|part| part.used).sum();
            (format!("{}, {}", day_in_full(payment.received_on), payment.method.label()), amount(sum))
        };
        Self {
            frame: frame(&format!("Invoice {number}"), settings),
            facts: facts.into_iter().flatten().collect(),
            lines: lines(document),
            note: document.note.clone(),
            paid: payments.iter().filter(|payment| payment.undone.is_none()).map(part).collect(),
            open: amount(open),
            to_pay,
            number,
            back,
        }
    }
}

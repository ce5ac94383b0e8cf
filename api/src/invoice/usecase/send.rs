//! Mailing an issued invoice.

use baywright_domain::calendar::day_in_words;
use baywright_domain::id::InvoiceId;
use baywright_domain::invoice::State;
use serde_json::json;

use super::{Invoice, show};
use crate::invoice::form::InvoiceDocument;
use crate::invoice::store;
use crate::mail::compose::{Line, Notice, bodies};
use crate::mail::outbox::{self, Attachment, NewMail};
use crate::platform::etag::IfMatch;
use crate::platform::fail::Done;
use crate::platform::problem::Problem;
use crate::platform::record;
use crate::platform::tx::Tx;
use crate::platform::wire::Amount;

/// Mails the invoice to the customer, with the sealed document attached.
pub fn send(tx: &mut Tx<'_>, id: &InvoiceId, seen: IfMatch) -> Done<Invoice> {
    let invoice = show(tx, id)?;
    seen.check(invoice.version)?;
    let document = invoice.document()?;
    let Some(number) = document.number.clone().filter(|_| invoice.account.state != State::Draft) else {
        return Err(Problem::conflict("wrong-state", "A draft has no number yet. Issue it, then send it.").into());
    };
    let customer = crate::customer::usecase::show(tx, &invoice.customer)?;
    let Some(email) = customer.email() else {
        let detail = "The customer has no mail address. Add one to their record, then send the invoice.";
        return Err(Problem::conflict("no-mail-address", detail).into());
    };
    let bodies = bodies(&tx.studio, &notice(&document, &number))?;
    outbox::send(
        tx,
        NewMail {
            kind: "invoice.sent",
            to_name: document.buyer.name.clone(),
            to_email: email.to_owned(),
            subject: format!("Invoice {number}"),
            text: bodies.text,
            html: bodies.html,
            attachments: vec![Attachment {
                name: format!("{number}.json"),
                media_type: "application/json".to_owned(),
                bytes: invoice.text.clone().into_bytes(),
            }],
            about: ("invoice", id.to_string()),
        },
    )?;
    store::mailed(tx, &invoice)?;
    record::write(tx, "invoice.mailed", ("invoice", id.as_str()), json!({ "number": number }))?;
    show(tx, id)
}

/// What the mail says: the whole invoice.
fn notice(document: &InvoiceDocument, number: &str) -> Notice {
    let fact = |label: &str, value: Option<String>| value.map(|value| (label.to_owned(), value));
    let seller = &document.seller;
    let legal = std::iter::once(&seller.legal_name).chain(&seller.address);
    let legal: Vec<&str> = legal.map(String::as_str).filter(|line| !line.is_empty()).collect();
    let buyer: Vec<&str> =
        std::iter::once(&document.buyer.name).chain(&document.buyer.address).map(String::as_str).collect();
    let facts = [
        fact("Invoice", Some(number.to_owned())),
        fact("Date", document.issued_on.map(|day| day_in_words(day.0))),
        fact("Please pay by", document.due_on.map(|day| day_in_words(day.0))),
        fact("From", Some(legal.join(", "))),
        fact("VAT number", seller.vat_id.clone()),
        fact("To", Some(buyer.join(", "))),
        fact("Your VAT number", document.buyer.vat_id.clone()),
        fact("Your order", document.purchase_order.clone()),
        fact("Vehicle", document.vehicle.clone()),
        fact("Quote", document.quote_number.clone()),
        fact("Account (IBAN)", seller.iban.clone()),
        fact("Payment reference", document.payment_reference.clone()),
    ];
    let mut closing = reasons(document);
    closing.extend(Some(document.note.clone()).filter(|note| !note.is_empty()));
    closing.push("The attached file holds the same invoice for accounting programs.".to_owned());
    Notice {
        title: format!("Invoice {number}"),
        greeting: document.buyer.name.clone(),
        opening: vec!["Thank you for your custom. This is your invoice.".to_owned()],
        facts: facts.into_iter().flatten().collect(),
        lines: lines(document),
        action: None,
        closing,
    }
}

/// Lines, what is taken off, tax and total, as a table.
fn lines(document: &InvoiceDocument) -> Vec<Line> {
    let line = |what: String, amount: &Amount, total| Line { what, amount: amount.to_string(), total };
    let mut lines: Vec<Line> = document
        .lines
        .iter()
        .map(|l| {
            let many =
                if l.quantity.0 == 1.into() { String::new() } else { format!("{} × ", l.quantity.0.normalize()) };
            line(format!("{many}{}", l.name), &l.amount, false)
        })
        .collect();
    for allowance in &document.allowances {
        let reason = allowance.reason.as_deref().unwrap_or("Discount");
        lines.push(Line { what: reason.to_owned(), amount: allowance.amount.less(), total: false });
    }
    let totals = &document.totals;
    lines.push(line("Without tax".to_owned(), &totals.net, false));
    for tax in &totals.taxes {
        lines.push(line(format!("Tax {} % on {}", tax.rate.0.normalize(), tax.taxable), &tax.tax, false));
    }
    if !totals.rounding.is_zero() {
        lines.push(line("Rounding".to_owned(), &totals.rounding, false));
    }
    lines.push(line("To pay".to_owned(), &totals.payable, true));
    lines
}

/// Why no tax is charged, each reason once.
fn reasons(document: &InvoiceDocument) -> Vec<String> {
    let mut reasons: Vec<String> = document.lines.iter().filter_map(|line| line.tax_reason.clone()).collect();
    reasons.dedup();
    reasons
}

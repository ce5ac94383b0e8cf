//! Mailing an issued invoice.

use baywright_domain::calendar::day_in_full;
use baywright_domain::document::Prices;
use baywright_domain::id::InvoiceId;
use baywright_domain::invoice::{InvoiceKind, State};
use rust_decimal::Decimal;
use serde_json::json;

use super::{Invoice, show};
use crate::invoice::kept::{InvoiceDocument, InvoiceLine};
use crate::invoice::store;
use crate::mail::compose::{Line, Notice, Table, bodies};
use crate::mail::outbox::{self, Attachment, NewMail};
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::quote::usecase::letter::LINK_IS_YOURS;
use crate::signoff;

/// Mails the invoice to the customer, with the sealed document attached.
pub fn send(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen) -> Done<Invoice> {
    let invoice = show(tx, id)?;
    seen.check(invoice.version)?;
    if invoice.kind == InvoiceKind::Opening {
        let detail = "This invoice was issued before the studio used this program, which has only its unpaid amount. Send \
                      the paper that was issued then.";
        return Err(Refused::conflict("opening-invoice", detail).into());
    }
    let document = invoice.document()?;
    let Some(number) = document.number.clone().filter(|_| invoice.account.state != State::Draft) else {
        return Err(Refused::conflict("wrong-state", "A draft has no number yet. Issue it, then send it.").into());
    };
    let customer = crate::customer::usecase::show(tx, &invoice.customer)?;
    let Some(email) = customer.email() else {
        let detail = "The customer has no email address. Add one to their record, then send the invoice.";
        return Err(Refused::conflict("no-mail-address", detail).into());
    };
    let page = invoice.quote.as_ref().map(|quote| signoff::usecase::stay_address(tx, quote, email)).transpose()?;
    let notice = notice(&document, &number, page);
    let bodies = bodies(&tx.studio, &notice)?;
    outbox::send(
        tx,
        NewMail {
            kind: "invoice.sent",
            to_name: document.buyer.name.clone(),
            to_email: email.to_owned(),
            subject: notice.title,
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

/// Content of the mail: the whole invoice, and the page for the stay that it is for, if there is one.
fn notice(document: &InvoiceDocument, number: &str, page: Option<String>) -> Notice {
    let fact = |label: &str, value: Option<String>| value.map(|value| (label.to_owned(), value));
    let seller = &document.seller;
    let legal = std::iter::once(&seller.legal_name).chain(&seller.address);
    let legal: Vec<&str> = legal.map(String::as_str).filter(|line| !line.is_empty()).collect();
    let buyer: Vec<&str> =
        std::iter::once(&document.buyer.name).chain(&document.buyer.address).map(String::as_str).collect();
    let facts = [
        fact("Invoice", Some(number.to_owned())),
        fact("Date", document.issued_on.map(|day| day_in_full(day.0))),
        fact("Please pay by", document.due_on.map(|day| day_in_full(day.0))),
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
    let due = document.due_on.map(|day| day_in_full(day.0));
    let pay =
        due.map(|day| format!("Please pay {} by {day}, and quote the payment reference.", document.totals.payable));
    let what = if document.what() == InvoiceKind::Deposit { "Deposit invoice" } else { "Invoice" };
    let first = match document.what() {
        InvoiceKind::Deposit => {
            format!("Thank you for your order. Here is the invoice {number} for the agreed deposit.")
        }
        _ => format!("Thank you for coming to us. Here is your invoice {number}."),
    };
    let mut opening = vec![first];
    opening.extend(pay);
    let mut closing = reasons(document);
    closing.extend(Some(document.note.clone()).filter(|note| !note.is_empty()));
    closing.push("If something is wrong with the invoice or the work, please reply to this email.".to_owned());
    closing.push("The attached file contains the same invoice for accounting programs.".to_owned());
    closing.extend(page.is_some().then(|| LINK_IS_YOURS.to_owned()));
    Notice {
        title: format!("{what} {number}"),
        greeting: document.buyer.name.clone(),
        opening,
        facts: facts.into_iter().flatten().collect(),
        tables: vec![Table { heading: String::new(), lines: lines(document) }],
        action: page.map(|page| ("Open the invoice".to_owned(), page)),
        closing,
        ..Notice::default()
    }
}

/// Lines, discounts, VAT and total, as a table that adds up: VAT is added to prices without it, and is part of prices
/// with it.
pub fn lines(document: &InvoiceDocument) -> Vec<Line> {
    let mut lines: Vec<Line> = document.lines.iter().map(line).collect();
    for allowance in &document.allowances {
        let reason = allowance.reason.as_deref().unwrap_or("Discount");
        lines.push(Line::plain(format!("Discount: {reason}"), &allowance.amount.less()));
    }
    for charge in &document.charges {
        lines.push(Line::plain(charge.reason.as_deref().unwrap_or("Charge"), &charge.amount));
    }
    let totals = &document.totals;
    let credits = document.what() == InvoiceKind::CreditNote;
    let label = if credits { "Credited, including VAT" } else { "To pay, including VAT" };
    let mut payable = Line::total(label, &totals.payable);
    let vat =
        totals.taxes.iter().map(|tax| (format!("VAT at {} % on {}", tax.rate.0.normalize(), tax.taxable), &tax.tax));
    match document.prices.0 {
        Prices::Net => {
            lines.push(Line::total("Total without VAT", &totals.net));
            lines.extend(vat.map(|(what, tax)| Line::plain(what, tax)));
            if !totals.rounding.is_zero() {
                lines.push(Line::plain("Rounding", &totals.rounding));
            }
        }
        Prices::Gross => {
            let parts = vat.map(|(what, tax)| format!("This includes {what}: {tax}"));
            payable.notes = std::iter::once(format!("Total without VAT: {}", totals.net)).chain(parts).collect();
        }
    }
    if !totals.prepaid.is_zero() {
        lines.push(Line::plain("Already paid", &totals.prepaid.less()));
    }
    lines.push(payable);
    lines
}

fn line(line: &InvoiceLine) -> Line {
    let several = line.quantity.0.abs() != Decimal::ONE;
    let many = if several { format!("{} × ", line.quantity.0.normalize()) } else { String::new() };
    let mut shown = Line::plain(format!("{many}{}", line.name), &line.amount);
    if several {
        shown = shown.noting(format!("{} each", line.amount.price(line.unit_price.0)));
    }
    if !line.discount.is_zero() {
        shown = shown.discounted(&line.discount, line.discount_reason.as_deref());
    }
    shown
}

/// Reason why no tax is charged, each reason once.
pub fn reasons(document: &InvoiceDocument) -> Vec<String> {
    let mut reasons: Vec<String> = document.lines.iter().filter_map(|line| line.tax_reason.clone()).collect();
    reasons.dedup();
    reasons
}

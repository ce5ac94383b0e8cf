//! What the mails of reminders say.

use baywright_domain::calendar::day_in_words as day;
use baywright_domain::id::MessageId;
use baywright_domain::invoice::days_overdue;
use chrono::NaiveDate;

use crate::invoice::usecase::Invoice;
use crate::mail::compose::{Line, Notice, bodies};
use crate::mail::outbox::{self, NewMail};
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::platform::wire::Amount;
use crate::quote::usecase::Lapsing;

fn fact(label: &str, value: Option<String>) -> Option<(String, String)> {
    value.filter(|value| !value.is_empty()).map(|value| (label.to_owned(), value))
}

/// The quote holds until that day.
pub(super) fn quote(tx: &mut Tx<'_>, lapsing: &Lapsing, last_day: NaiveDate, to: &str, link: &str) -> Done<MessageId> {
    let document = &lapsing.document;
    let holds = day(last_day);
    let mut lines = Vec::new();
    if let Some(payable) = lapsing.payable {
        let amount = Amount::of(payable, tx.studio.currency).to_string();
        lines.push(Line { what: "What is included, with tax".to_owned(), amount, total: true });
    }
    let notice = Notice {
        title: format!("Quote {} holds until {holds}", document.number),
        greeting: document.customer.name.clone(),
        opening: vec![format!(
            "our quote {} for {} is still open. Its prices hold until the end of {holds}.",
            document.number, document.vehicle.name
        )],
        facts: [fact("Vehicle", Some(document.vehicle.name.clone())), fact("Holds until", Some(holds.clone()))]
            .into_iter()
            .flatten()
            .collect(),
        lines,
        action: Some(("Read, choose and answer".to_owned(), link.to_owned())),
        closing: vec![
            "If you don't want it, you need do nothing: it ends by itself.".to_owned(),
            "The link is meant for you alone. Whoever has it can answer for you.".to_owned(),
        ],
    };
    let bodies = bodies(&tx.studio, &notice)?;
    let mail = NewMail {
        kind: "quote.reminder",
        to_name: document.customer.name.clone(),
        to_email: to.to_owned(),
        subject: notice.title,
        text: bodies.text,
        html: bodies.html,
        attachments: Vec::new(),
        about: ("quote", lapsing.id.to_string()),
    };
    outbox::send(tx, mail)
}

/// The invoice is overdue. `number` is that of the letter, from 1.
pub(super) fn invoice(tx: &mut Tx<'_>, invoice: &Invoice, number: u8, to: &str) -> Done<MessageId> {
    let document = invoice.document()?;
    let called = invoice.number.clone().unwrap_or_default();
    let today = tx.today()?;
    let days = invoice.due_on.map_or(0, |due| days_overdue(due, today));
    let amount = |money| Amount::of(money, tx.studio.currency).to_string();
    let open = amount(invoice.account.open);
    let (title, opening) = match number {
        1 => (
            format!("A reminder of invoice {called}"),
            format!("perhaps our invoice {called} escaped you: {open} of it is still open."),
        ),
        2 => (
            format!("Second reminder of invoice {called}"),
            format!("{open} of our invoice {called} is still open, {days} days after it was due. Please pay it now."),
        ),
        _ => (
            format!("Last reminder of invoice {called}"),
            format!(
                "{open} of our invoice {called} is open {days} days after it was due. This is our last reminder: please \
                 pay it within seven days, or tell us what stands in the way."
            ),
        ),
    };
    let facts = [
        fact("Invoice", Some(called.clone())),
        fact("Date", invoice.issued_on.map(day)),
        fact("Was due on", invoice.due_on.map(day)),
        fact("Your order", document.purchase_order.clone()),
        fact("Account (IBAN)", document.seller.iban.clone()),
        fact("Payment reference", document.payment_reference.clone()),
    ];
    let mut lines = vec![Line { what: "Invoiced".to_owned(), amount: amount(invoice.payable), total: false }];
    if !invoice.account.paid.is_zero() {
        lines.push(Line { what: "Paid".to_owned(), amount: amount(invoice.account.paid), total: false });
    }
    lines.push(Line { what: "Still open".to_owned(), amount: open, total: true });
    let notice = Notice {
        title,
        greeting: document.buyer.name.clone(),
        opening: vec![opening],
        facts: facts.into_iter().flatten().collect(),
        lines,
        action: None,
        closing: vec![
            "If you have paid in the meantime, thank you: then please take no notice of this letter.".to_owned(),
            "If something is wrong with the invoice or the work, tell us. Answers to this mail reach us.".to_owned(),
        ],
    };
    let bodies = bodies(&tx.studio, &notice)?;
    let mail = NewMail {
        kind: "invoice.reminder",
        to_name: document.buyer.name,
        to_email: to.to_owned(),
        subject: notice.title,
        text: bodies.text,
        html: bodies.html,
        attachments: Vec::new(),
        about: ("invoice", invoice.id.to_string()),
    };
    outbox::send(tx, mail)
}

//! Mails of reminders.

use baywright_domain::calendar::day_in_full as day;
use baywright_domain::id::MessageId;
use baywright_domain::invoice::days_overdue;
use chrono::NaiveDate;

use crate::invoice::usecase::Invoice;
use crate::mail::compose::{Line, Notice, Table, bodies};
use crate::mail::outbox::{self, NewMail};
use crate::platform::fail::Done;
use crate::platform::kept::Amount;
use crate::platform::tx::Tx;
use crate::quote::usecase::Lapsing;
use crate::quote::usecase::letter::{LINK_IS_YOURS, offered, vehicle};
use crate::signoff;

fn fact(label: &str, value: Option<String>) -> Option<(String, String)> {
    value.filter(|value| !value.is_empty()).map(|value| (label.to_owned(), value))
}

/// A quote is about to lapse; `last_day` is its last day.
pub(super) fn quote(tx: &mut Tx<'_>, lapsing: &Lapsing, last_day: NaiveDate, to: &str, link: &str) -> Done<MessageId> {
    let document = &lapsing.document;
    let until = day(last_day);
    let notice = Notice {
        title: format!("Quote {} is valid until {until}", document.number),
        greeting: document.customer.name.clone(),
        opening: vec![
            format!("Our quote {} is still open for you. You can accept it until {until}.", document.number),
            "Open it to choose what you want, and accept or decline.".to_owned(),
        ],
        facts: vec![("Vehicle".to_owned(), vehicle(document)), ("Valid until".to_owned(), until)],
        tables: offered(document, "What is included", "Total, including VAT"),
        action: Some(("Open the quote".to_owned(), link.to_owned())),
        closing: vec![
            "If you do not want it, you do not need to do anything: the quote will simply expire.".to_owned(),
            LINK_IS_YOURS.to_owned(),
        ],
        parts: Vec::new(),
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

/// An invoice is overdue. `number` is that of the letter, from 1.
pub(super) fn invoice(tx: &mut Tx<'_>, invoice: &Invoice, number: u8, to: &str) -> Done<MessageId> {
    let document = invoice.document()?;
    let called = invoice.number.clone().unwrap_or_default();
    let today = tx.today()?;
    let days = invoice.due_on.map_or(0, |due| days_overdue(due, today));
    let amount = |money| Amount::of(money, tx.studio.currency).to_string();
    let open = amount(invoice.account.open);
    let (title, opening) = match number {
        1 => (
            format!("Reminder of invoice {called}"),
            format!("You may have missed invoice {called}: {open} is still unpaid."),
        ),
        2 => (
            format!("Second reminder of invoice {called}"),
            format!("{open} of invoice {called} is still unpaid, {days} days after it was due. Please pay it now."),
        ),
        _ => (
            format!("Last reminder of invoice {called}"),
            format!(
                "{open} of invoice {called} is still unpaid, {days} days after it was due. This is our last reminder: \
                 please pay within seven days, or let us know if there is a problem."
            ),
        ),
    };
    let facts = [
        fact("Invoice", Some(called.clone())),
        fact("Date", invoice.issued_on.map(day)),
        fact("Due on", invoice.due_on.map(day)),
        fact("Your order", document.purchase_order.clone()),
        fact("Account (IBAN)", document.seller.iban.clone()),
        fact("Payment reference", document.payment_reference.clone()),
    ];
    let mut lines = vec![Line::plain("Invoiced", &amount(invoice.payable))];
    if !invoice.account.paid.is_zero() {
        lines.push(Line::plain("Paid", &Amount::of(invoice.account.paid, tx.studio.currency).less()));
    }
    if !invoice.credited.is_zero() {
        lines.push(Line::plain("Credited", &Amount::of(invoice.credited, tx.studio.currency).less()));
    }
    lines.push(Line::total("Still unpaid", &open));
    let page = match &invoice.quote {
        Some(quote) => Some(("Open the invoice".to_owned(), signoff::usecase::stay_address(tx, quote, to)?)),
        None => None,
    };
    let private = page.as_ref().map(|_| LINK_IS_YOURS.to_owned());
    let ignore = "If you have paid in the last few days, thank you. Please ignore this reminder.".to_owned();
    let wrong = "If something is wrong with the invoice or the work, please reply to this email.".to_owned();
    let notice = Notice {
        title,
        greeting: document.buyer.name.clone(),
        opening: vec![opening, "Please quote the payment reference with your transfer.".to_owned()],
        facts: facts.into_iter().flatten().collect(),
        tables: vec![Table { heading: String::new(), lines }],
        action: page,
        closing: [ignore, wrong].into_iter().chain(private).collect(),
        ..Notice::default()
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

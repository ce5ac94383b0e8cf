//! Takes the forms about money.

use baywright_core::invoice::usecase::{self as invoice, Order, Remarks};
use baywright_core::payment::usecase::{NewPayment, record};
use baywright_core::platform::fail::Done;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_core::visit::usecase::Told;
use baywright_domain::payment::Method;
use baywright_http::platform::wire::{Day, Line, Text};

use super::is_of;
use crate::platform::form::{Fields, Reading, amount};
use crate::visit::act::Verb;
use crate::visit::ask::invoice_of;

pub(super) fn take(tx: &mut Tx<'_>, told: &Told, verb: Verb, fields: &Fields) -> Done<()> {
    if verb == Verb::Invoice {
        let order = Order { quote: told.visit.head.quote.clone(), remarks: remarks(fields)? };
        invoice::of_quote(tx, &order)?;
        return Ok(());
    }
    let billed = invoice_of(tx, told)?;
    is_of(fields, billed.id.as_str())?;
    if verb == Verb::Payment {
        return paid(tx, &billed, fields);
    }
    let seen = Reading::of(fields).version()?;
    if verb == Verb::MailInvoice {
        invoice::send(tx, &billed.id, seen)?;
        return Ok(());
    }
    let issued = invoice::issue(tx, &billed.id, seen)?;
    if fields.yes("by_mail") {
        invoice::send(tx, &issued.id, Seen(issued.version))?;
    }
    Ok(())
}

fn remarks(fields: &Fields) -> Result<Remarks, Refused> {
    let mut form = Reading::of(fields);
    let purchase_order = form.optional("purchase_order", Line::<80>::parse).map(Line::into_string);
    let note = form.optional("note", Text::<2000>::parse).map(Text::into_string).unwrap_or_default();
    form.done(Some(Remarks { purchase_order, note }))
}

fn paid(tx: &mut Tx<'_>, billed: &invoice::Invoice, fields: &Fields) -> Done<()> {
    let currency = tx.studio.currency;
    let mut form = Reading::of(fields);
    let sum = form.needed("amount", |text| amount(text, currency));
    let method = form.needed("method", |text| Method::parse(text).map_err(|_| "choose how it was paid".to_owned()));
    let day = form.needed("received_on", |text| Day::parse(text.trim()));
    let reference = form.optional("reference", Line::<140>::parse).map(Line::into_string).unwrap_or_default();
    let (sum, (method, day)) = form.done(sum.zip(method.zip(day)))?;
    let new = NewPayment {
        customer: billed.customer.clone(),
        method,
        received_on: day.0,
        amount: sum,
        invoices: vec![billed.id.clone()],
        reference,
        note: String::new(),
    };
    record(tx, &new)?;
    Ok(())
}

//! Takes the form of a verb: reads what was typed and runs the use case.

mod customer;
mod money;

use baywright_core::booking::usecase as booking;
use baywright_core::invoice::usecase::{is_issued, not_invoiced_since};
use baywright_core::job::usecase::{self as job, Checked, NewHandover};
use baywright_core::platform::fail::Done;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::visit::usecase::{self, Told};
use baywright_domain::id::QuoteId;
use baywright_http::platform::wire::{Line, Text};

use super::act::Verb;
use super::{ask, at};
use crate::platform::form::{Fields, Reading, number};

/// The highest odometer reading.
const MOST_SHOWN: u32 = 9_999_999;

/// Does what the form of a verb says; gives the address of the page that follows.
pub(super) fn take(tx: &mut Tx<'_>, quote: &QuoteId, verb: Verb, fields: &Fields) -> Done<String> {
    let told = usecase::show(tx, quote)?;
    match verb {
        Verb::Send
        | Verb::SendAgain
        | Verb::Accepted
        | Verb::Declined
        | Verb::Withdraw
        | Verb::SendVariation
        | Verb::VariationAccepted
        | Verb::VariationDeclined => customer::take(tx, &told, verb, fields)?,
        Verb::Invoice | Verb::Issue | Verb::MailInvoice | Verb::Payment => money::take(tx, &told, verb, fields)?,
        Verb::Confirm
        | Verb::Deposit
        | Verb::Arrive
        | Verb::NoShow
        | Verb::Cancel
        | Verb::Ready
        | Verb::HandOver
        | Verb::Undo => of_booking(tx, &told, verb, fields)?,
    }
    // A draft of an invoice is checked at once.
    if verb == Verb::Invoice {
        return Ok(Verb::Issue.address(quote));
    }
    Ok(format!("{}?done={}", at(quote), verb.slug()))
}

/// Refuses a form that was filled in for another record than the one that it would change now.
fn is_of(fields: &Fields, record: &str) -> Result<(), Refused> {
    let seen = fields.text("record");
    if seen.is_empty() || seen == record {
        return Ok(());
    }
    let detail = "This stay has changed since you opened the form. Go back to it and look at what is next.";
    Err(Refused::conflict("wrong-state", detail))
}

fn of_booking(tx: &mut Tx<'_>, told: &Told, verb: Verb, fields: &Fields) -> Done<()> {
    let id = ask::booking(told)?.id.clone();
    is_of(fields, id.as_str())?;
    let seen = Reading::of(fields).version()?;
    match verb {
        Verb::Confirm => booking::book(tx, &id, seen)?,
        Verb::Deposit => booking::deposit_received(tx, &id, seen)?,
        Verb::Arrive => job::arrive(tx, &id, seen)?.0,
        Verb::NoShow => booking::no_show(tx, &id, seen)?,
        Verb::Ready => job::make_ready(tx, &id, seen, is_issued)?,
        Verb::HandOver => job::hand_over(tx, &id, seen, &handover(fields)?, is_issued)?,
        Verb::Cancel => {
            let mut form = Reading::of(fields);
            let reason = form.needed("reason", Line::<500>::parse);
            booking::cancel(tx, &id, seen, form.done(reason)?.as_str())?
        }
        _ => {
            let mut form = Reading::of(fields);
            let reason = form.optional("reason", Line::<500>::parse);
            let reason = form.done(Some(reason))?;
            job::undo_booking(tx, &id, seen, reason.as_ref().map(Line::as_str), not_invoiced_since)?
        }
    };
    Ok(())
}

/// The record of a hand-over, or everything that is wrong with it.
fn handover(fields: &Fields) -> Result<NewHandover, Refused> {
    let mut form = Reading::of(fields);
    let received_by = form.needed("received_by", Line::<200>::parse);
    let odometer = form.optional("odometer", |text| {
        let shown = number(text, 0)?.normalize().to_string().parse::<u32>().ok();
        shown.filter(|shown| *shown <= MOST_SHOWN).ok_or_else(|| "write a reading from 0 to 9,999,999".to_owned())
    });
    let aftercare = form.optional("aftercare", Text::<4000>::parse);
    let note = form.optional("note", Text::<2000>::parse);
    let done = |point: &str| fields.all("checklist").any(|ticked| ticked == point);
    let points = [("keys", "Keys and papers returned"), ("walk-round", "Walked round the car together")];
    let checklist = points.map(|(point, what)| Checked { what: what.to_owned(), done: done(point) }).to_vec();
    let received_by = form.done(received_by)?;
    Ok(NewHandover {
        received_by: received_by.into_string(),
        odometer,
        checklist,
        aftercare: aftercare.map(Text::into_string).unwrap_or_default(),
        note: note.map(Text::into_string).unwrap_or_default(),
    })
}

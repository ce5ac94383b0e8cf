//! Unpaid amounts that are written off, demanded again or disputed.

use baywright_domain::id::{InvoiceId, WriteOffId};
use baywright_domain::invoice::State;
use baywright_domain::ledger::{GivenUp, WriteOffCause};
use baywright_domain::money::Money;
use chrono::NaiveDate;
use serde_json::json;

use super::open::{Settled, settle};
use super::{Invoice, show};
use crate::invoice::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::ids;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;

/// An amount that was written off, or its reversal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrittenOff {
    /// Its id.
    pub id: WriteOffId,
    /// The invoice.
    pub invoice: InvoiceId,
    /// Cause of the change.
    pub cause: WriteOffCause,
    /// Day from which it counts.
    pub on: NaiveDate,
    /// The amount, below zero if it is a reversal.
    pub amount: Money,
    /// Reason that the owner gave; empty if none was given.
    pub reason: String,
    /// Time when it was recorded.
    pub created_at: UtcTime,
}

/// Amount that is written off or demanded again.
#[derive(Debug, Clone, Default)]
pub struct WriteOffOrder {
    /// The amount; `None` for all of it.
    pub amount: Option<Money>,
    /// Day from which it counts; `None` for today.
    pub on: Option<NaiveDate>,
    /// Reason for it.
    pub reason: String,
}

/// The day of an order: today or earlier, and not before the invoice.
fn day_of(tx: &Tx<'_>, invoice: &Invoice, on: Option<NaiveDate>) -> Done<NaiveDate> {
    let today = tx.today()?;
    let on = on.unwrap_or(today);
    if on > today {
        return Err(Refused::field("/on", "in_future", "Write today or an earlier day.").into());
    }
    if invoice.issued_on.is_some_and(|issued_on| on < issued_on) {
        let detail = "Write the day on which the invoice was issued, or a later one.";
        return Err(Refused::field("/on", "before_invoice", detail).into());
    }
    Ok(on)
}

/// Refuses a draft, which owes nothing yet.
fn issued(invoice: &Invoice) -> Done<()> {
    if invoice.account.state == State::Draft {
        return Err(Refused::conflict("wrong-state", "This invoice is a draft. Issue it first, or discard it.").into());
    }
    Ok(())
}

/// Writes off some or all of the unpaid amount, with the owner's reason.
pub fn write_off(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen, order: &WriteOffOrder) -> Done<Invoice> {
    let invoice = show(tx, id)?;
    seen.check(invoice.version)?;
    issued(&invoice)?;
    let on = day_of(tx, &invoice, order.on)?;
    let amount = order.amount.unwrap_or(invoice.account.open);
    let item = invoice.item().write_off(amount)?;
    let detail = json!({ "amount": amount.minor().to_string(), "on": on.to_string() });
    settle(tx, &invoice, item, Settled { action: "invoice.written-off", detail })?;
    note_given_up(tx, &GivenUp { invoice: id.clone(), on, amount }, WriteOffCause::GivenUp, &order.reason)?;
    show(tx, id)
}

/// Demands some or all of the written-off amount again.
pub fn reinstate(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen, order: &WriteOffOrder) -> Done<Invoice> {
    let invoice = show(tx, id)?;
    seen.check(invoice.version)?;
    issued(&invoice)?;
    let on = day_of(tx, &invoice, order.on)?;
    let amount = order.amount.unwrap_or(invoice.written_off);
    let item = invoice.item().reinstate(amount)?;
    let detail = json!({ "amount": amount.minor().to_string(), "on": on.to_string() });
    settle(tx, &invoice, item, Settled { action: "invoice.reinstated", detail })?;
    note_given_up(tx, &GivenUp { invoice: id.clone(), on, amount: -amount }, WriteOffCause::Reinstated, &order.reason)?;
    show(tx, id)
}

/// Notes that the customer disputes an invoice: no letters about it go out until the dispute ends.
pub fn dispute(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen, reason: &str) -> Done<Invoice> {
    let invoice = show(tx, id)?;
    seen.check(invoice.version)?;
    issued(&invoice)?;
    let item = invoice.item().dispute(tx.today()?)?;
    settle(tx, &invoice, item, Settled { action: "invoice.disputed", detail: json!({ "reason": reason }) })?;
    show(tx, id)
}

/// Ends the dispute about an invoice: letters go out again.
pub fn end_dispute(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen) -> Done<Invoice> {
    let invoice = show(tx, id)?;
    seen.check(invoice.version)?;
    issued(&invoice)?;
    let item = invoice.item().end_dispute()?;
    settle(tx, &invoice, item, Settled { action: "invoice.dispute-ended", detail: json!({}) })?;
    show(tx, id)
}

/// Stores a change of the written-off amount, which the rules made.
pub fn note_given_up(tx: &mut Tx<'_>, given_up: &GivenUp, cause: WriteOffCause, reason: &str) -> Done<()> {
    let GivenUp { invoice, on, amount } = given_up.clone();
    let new = WrittenOff { id: ids::new(), invoice, cause, on, amount, reason: reason.to_owned(), created_at: tx.now };
    Ok(store::insert_write_off(tx, &new)?)
}

/// Write-offs of an invoice and their reversals, in the order in which they were made.
pub fn write_offs(tx: &mut Tx<'_>, id: &InvoiceId) -> Done<Vec<WrittenOff>> {
    show(tx, id)?;
    Ok(store::write_offs(tx, id)?)
}

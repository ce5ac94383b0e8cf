//! Undoing a payment: what it paid is unpaid again, and its record stays with the reason.

use baywright_domain::id::PaymentId;
use baywright_domain::ledger::{PaymentUndoReason, WriteOffCause};
use chrono::NaiveDate;
use serde_json::json;

use super::ledger::{Touched, settled};
use super::{Payment, Undone, show};
use crate::invoice::usecase as invoice;
use crate::payment::store;
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;

/// Request to undo a payment.
#[derive(Debug, Clone)]
pub struct UndoOrder {
    /// Reason for it.
    pub reason: PaymentUndoReason,
    /// Day on which the bank returned the money; `None` for today.
    pub on: Option<NaiveDate>,
    /// Note of the desk.
    pub note: String,
}

/// Undoes a payment.
///
/// # Errors
/// `Conflict` if it was undone before, or if what was left over of it has been used or refunded since.
pub fn undo(tx: &mut Tx<'_>, id: &PaymentId, seen: Seen, order: &UndoOrder) -> Done<Payment> {
    let payment = show(tx, id)?;
    seen.check(payment.version)?;
    let today = tx.today()?;
    let on = order.on.unwrap_or(today);
    if on > today {
        return Err(Refused::field("/on", "in_future", "Write today or an earlier day.").into());
    }
    if on < payment.received_on {
        let detail = "Write the day on which the payment was received, or a later one.";
        return Err(Refused::field("/on", "before_payment", detail).into());
    }
    let mut invoices = Vec::new();
    for part in &payment.parts {
        invoices.push(invoice::show(tx, &part.invoice)?);
    }
    let customer = payment.customer.clone();
    let touched = Touched::of(tx, &customer, invoices, vec![payment.clone()])?;
    let mut ledger = touched.ledger.clone();
    ledger.undo_payment(id, order.reason, on)?;
    store::undo(tx, &payment, &Undone { on, reason: order.reason, note: order.note.clone() })?;
    let detail = json!({ "reason": order.reason.as_str(), "on": on.to_string() });
    record::write(tx, "payment.undone", ("payment", id.as_str()), detail)?;
    settled(tx, &touched, &ledger, WriteOffCause::PaymentUndone, "invoice.payment-undone")?;
    show(tx, id)
}

//! The part of a customer's ledger that a move of money touches: it is loaded, the rules make the move on it, and what
//! changed is stored.

use std::collections::BTreeMap;

use baywright_domain::id::{CreditNoteId, CustomerId, PaymentId};
use baywright_domain::invoice::{InvoiceKind, State};
use baywright_domain::ledger::{Ledger, LedgerRefusal, Receipt, ReceiptPart, TakenBack, WriteOffCause};
use baywright_domain::money::Money;
use chrono::NaiveDate;
use serde_json::json;

use super::Payment;
use crate::booking;
use crate::invoice::usecase::{self as invoice, Invoice, Settled};
use crate::payment::store;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;

/// The records that a move touches, before it.
pub(super) struct Touched {
    /// The invoices, in the given order.
    pub(super) invoices: Vec<Invoice>,
    /// Their part of the ledger.
    pub(super) ledger: Ledger,
}

impl Touched {
    /// The part of a customer's ledger with these invoices and payments.
    pub(super) fn of(
        tx: &mut Tx<'_>,
        customer: &CustomerId,
        invoices: Vec<Invoice>,
        payments: Vec<Payment>,
    ) -> Done<Self> {
        let unused = store::credit(tx, customer)?;
        let items = invoices.iter().map(|invoice| (invoice.id.clone(), invoice.item()));
        let ledger = Ledger::part(items, payments.into_iter().map(receipt), unused);
        Ok(Self { invoices, ledger })
    }
}

/// A payment for the rules.
fn receipt(payment: Payment) -> (PaymentId, Receipt) {
    let parts = payment.parts.into_iter();
    let parts = parts.map(|part| ReceiptPart { invoice: part.invoice, used: part.used, recovered: part.recovered });
    let undone = payment.undone.map(|undone| (undone.on, undone.reason));
    (payment.id, Receipt { method: payment.method, amount: payment.amount, parts: parts.collect(), undone })
}

/// Stores the invoices and write-offs that a move changed.
pub(super) fn settled(
    tx: &mut Tx<'_>,
    before: &Touched,
    after: &Ledger,
    cause: WriteOffCause,
    action: &'static str,
) -> Done<()> {
    for invoice in &before.invoices {
        let Some(item) = after.item(&invoice.id).filter(|item| *item != invoice.item()) else { continue };
        let detail = json!({ "state": item.state().as_str() });
        invoice::settle(tx, invoice, item, Settled { action, detail })?;
        let (was, is) = (invoice.account.state == State::Paid, item.state() == State::Paid);
        if let Some(quote) = invoice.quote.as_ref().filter(|_| invoice.kind == InvoiceKind::Deposit && was != is) {
            booking::usecase::deposit_paid(tx, quote, is)?;
        }
    }
    for given_up in after.given_up() {
        invoice::note_given_up(tx, given_up, cause, "")?;
    }
    Ok(())
}

/// Books a credit note, which is stored already, on its invoice: what it releases of payments becomes the customer's
/// credit.
///
/// # Errors
/// `Conflict` if less is left of the invoice.
pub fn release(
    tx: &mut Tx<'_>,
    invoice: &Invoice,
    credit: &CreditNoteId,
    amount: Money,
    takes_all: bool,
    on: NaiveDate,
) -> Done<TakenBack> {
    let payments = store::using(tx, &invoice.id)?;
    let touched = Touched::of(tx, &invoice.customer, vec![invoice.clone()], payments)?;
    let mut ledger = touched.ledger.clone();
    let done = ledger.credit(&invoice.id, amount, takes_all, on)?;
    let used: BTreeMap<&PaymentId, Money> =
        touched.ledger.payments().map(|(id, receipt)| (id, used_by(receipt, invoice))).collect();
    for (id, receipt) in ledger.payments() {
        let now = used_by(receipt, invoice);
        let before = used.get(id).copied().ok_or(LedgerRefusal::Unknown("payment"))?;
        if before != now {
            store::release(tx, credit, id, &invoice.id, before - now)?;
        }
    }
    settled(tx, &touched, &ledger, WriteOffCause::Credited, "invoice.credited")?;
    Ok(done)
}

/// Amount of a payment that an invoice uses.
fn used_by(receipt: &Receipt, invoice: &Invoice) -> Money {
    receipt.parts.iter().filter(|part| part.invoice == invoice.id).map(|part| part.used).sum()
}

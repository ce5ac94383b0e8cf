//! The ledger of a customer: invoices, credit notes, payments, refunds and write-offs.
//!
//! One equation is true after every move, for each customer and for all of them together (see [`Sums::hold`]): invoices
//! − credits = payments − refunds + the amount owed. A move that is refused changes nothing.

mod entry;
mod item;
mod refused;
mod sums;

use alloc::collections::BTreeMap;
use alloc::vec::Vec;

use chrono::NaiveDate;

use crate::id::{InvoiceId, PaymentId, RefundId};
use crate::money::Money;
use crate::payment::{BadPayment, Method, check_amount, take_from_credit};
use crate::refusal::WrongState;

pub use entry::{GivenUp, PaymentUndoReason, Receipt, ReceiptPart, WriteOffCause};
pub use item::{Item, Taken, TakenBack};
pub use refused::LedgerRefusal;
pub use sums::Sums;

use entry::Refund;

/// A customer's ledger.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Ledger {
    items: BTreeMap<InvoiceId, Item>,
    payments: BTreeMap<PaymentId, Receipt>,
    refunds: BTreeMap<RefundId, Refund>,
    given_up: Vec<GivenUp>,
    unused: Money,
}

impl Ledger {
    /// The part of a ledger that a move touches, without the rest of the customer's records. The invoices that a payment
    /// names are enough to record it; a payment with its invoices is enough to undo it; an invoice with all payments
    /// that it uses is enough to credit it. `unused` is the customer's whole credit. No write-off is in it, so
    /// [`Ledger::given_up`] has only those of the moves that follow.
    pub fn part(
        items: impl IntoIterator<Item = (InvoiceId, Item)>,
        payments: impl IntoIterator<Item = (PaymentId, Receipt)>,
        unused: Money,
    ) -> Self {
        let (items, payments) = (items.into_iter().collect(), payments.into_iter().collect());
        Self { items, payments, unused, ..Self::default() }
    }

    /// The same part with a refund, which is enough to undo it.
    #[must_use]
    pub fn with_refund(mut self, refund: RefundId, amount: Money, undone: bool) -> Self {
        self.refunds.insert(refund, Refund { amount, undone });
        self
    }

    /// All invoices, in order of their ids.
    pub fn items(&self) -> impl Iterator<Item = (&InvoiceId, Item)> {
        self.items.iter().map(|(id, item)| (id, *item))
    }

    /// All payments, in order of their ids.
    pub fn payments(&self) -> impl Iterator<Item = (&PaymentId, &Receipt)> {
        self.payments.iter()
    }

    /// The customer's credit.
    pub fn unused(&self) -> Money {
        self.unused
    }

    /// The current state of an invoice.
    pub fn item(&self, invoice: &InvoiceId) -> Option<Item> {
        self.items.get(invoice).copied()
    }

    /// The current state of a payment.
    pub fn payment(&self, payment: &PaymentId) -> Option<&Receipt> {
        self.payments.get(payment)
    }

    /// All write-offs and their reversals, in the order in which they were made.
    pub fn given_up(&self) -> &[GivenUp] {
        &self.given_up
    }

    /// Amount that is written off at the end of a day: the base for correcting the tax of unpaid invoices (Council
    /// Directive 2006/112/EC, article 90).
    pub fn given_up_by(&self, day: NaiveDate) -> Money {
        self.given_up.iter().filter(|entry| entry.on <= day).map(|entry| entry.amount).sum()
    }

    /// Totals of the ledger.
    pub fn sums(&self) -> Sums {
        let of_items = |part: fn(Item) -> Money| self.items.values().map(|item| part(*item)).sum::<Money>();
        let paid = self.payments.values().filter(|receipt| receipt.undone.is_none() && receipt.method.is_money());
        let refunded = self.refunds.values().filter(|refund| !refund.undone);
        Sums {
            invoiced: of_items(|item| item.billed),
            credited: of_items(|item| item.credited),
            paid: paid.map(|receipt| receipt.amount).sum(),
            refunded: refunded.map(|refund| refund.amount).sum(),
            open: of_items(Item::open),
            written_off: of_items(|item| item.written_off),
            unused: self.unused,
        }
    }

    fn found(&self, invoice: &InvoiceId) -> Result<Item, LedgerRefusal> {
        self.item(invoice).ok_or(LedgerRefusal::Unknown("invoice"))
    }

    fn note_given_up(&mut self, invoice: &InvoiceId, on: NaiveDate, amount: Money) {
        if !amount.is_zero() {
            self.given_up.push(GivenUp { invoice: invoice.clone(), on, amount });
        }
    }

    /// Adds an issued invoice. An invoice from before the shop used this program is added with its unpaid amount.
    ///
    /// # Errors
    /// [`LedgerRefusal::Known`] for the same id, [`LedgerRefusal::Negative`] for an amount that no invoice can have.
    pub fn issue(&mut self, invoice: InvoiceId, billed: Money) -> Result<(), LedgerRefusal> {
        let item = Item::issued(billed)?;
        if self.items.contains_key(&invoice) {
            return Err(LedgerRefusal::Known("invoice"));
        }
        self.items.insert(invoice, item);
        Ok(())
    }

    /// Books a credit note on an invoice (see [`Item::credit`]); payments that it releases become the customer's
    /// credit. The latest payment is released first.
    ///
    /// # Errors
    /// See [`Item::credit`].
    pub fn credit(
        &mut self,
        invoice: &InvoiceId,
        amount: Money,
        whole: bool,
        on: NaiveDate,
    ) -> Result<TakenBack, LedgerRefusal> {
        let mut done = self.found(invoice)?.credit(amount, whole)?;
        let mut left = done.released;
        let counted = self.payments.values_mut().rev().filter(|receipt| receipt.undone.is_none());
        for part in counted.flat_map(|receipt| &mut receipt.parts).filter(|part| part.invoice == *invoice) {
            let released = left.min(part.used);
            left = left - released;
            part.used = part.used - released;
            part.recovered = part.recovered.min(part.used);
        }
        // The recovered amount of the invoice follows from its parts of payments.
        done.item.recovered = self.recovered_parts(invoice);
        self.items.insert(invoice.clone(), done.item);
        self.note_given_up(invoice, on, -done.from_write_off);
        self.unused += done.released;
        Ok(done)
    }

    fn recovered_parts(&self, invoice: &InvoiceId) -> Money {
        let counted = self.payments.values().filter(|receipt| receipt.undone.is_none());
        let parts = counted.flat_map(|receipt| &receipt.parts).filter(|part| part.invoice == *invoice);
        parts.map(|part| part.recovered).sum()
    }

    /// Records a payment and uses it for the invoices in the given order; with [`Method::Credit`] it is paid from the
    /// customer's credit. What no invoice uses becomes the customer's credit; the returned value is that amount.
    ///
    /// # Errors
    /// [`LedgerRefusal`] if the amount is not above zero, the credit does not suffice, or an invoice can't be paid.
    pub fn pay(
        &mut self,
        payment: PaymentId,
        method: Method,
        amount: Money,
        invoices: &[InvoiceId],
        on: NaiveDate,
    ) -> Result<Money, LedgerRefusal> {
        check_amount(amount)?;
        if self.payments.contains_key(&payment) {
            return Err(LedgerRefusal::Known("payment"));
        }
        if !method.is_money() {
            take_from_credit(self.unused, amount)?;
        }
        let mut taken: Vec<(&InvoiceId, Taken)> = Vec::new();
        let mut left = amount;
        for (at, invoice) in invoices.iter().enumerate() {
            if invoices[..at].contains(invoice) {
                return Err(BadPayment::Twice.into());
            }
            let part = self.found(invoice)?.pay(left)?;
            left = part.surplus;
            taken.push((invoice, part));
        }
        let mut parts = Vec::new();
        for (invoice, Taken { item, used, recovered, .. }) in taken {
            if used.is_zero() {
                continue;
            }
            self.items.insert(invoice.clone(), item);
            self.note_given_up(invoice, on, -recovered);
            parts.push(ReceiptPart { invoice: invoice.clone(), used, recovered });
        }
        self.unused = if method.is_money() { self.unused + left } else { self.unused - (amount - left) };
        self.payments.insert(payment, Receipt { method, amount, parts, undone: None });
        Ok(left)
    }

    /// Undoes a payment: its amount is unpaid again on the invoices that used it, and its record stays with the reason.
    ///
    /// # Errors
    /// [`LedgerRefusal::State`] if it was undone before, [`LedgerRefusal::SurplusUsed`] if the part that no invoice
    /// used, or that a credit note released, was used or refunded since.
    pub fn undo_payment(
        &mut self,
        payment: &PaymentId,
        why: PaymentUndoReason,
        on: NaiveDate,
    ) -> Result<(), LedgerRefusal> {
        let receipt = self.payments.get_mut(payment).ok_or(LedgerRefusal::Unknown("payment"))?;
        if receipt.undone.is_some() {
            return Err(WrongState { record: "payment", state: "undone", wanted: "undone", hint: "" }.into());
        }
        let used: Money = receipt.parts.iter().map(|part| part.used).sum();
        let brought = if receipt.method.is_money() { receipt.amount } else { Money::ZERO };
        let unused = self.unused + used - brought;
        if unused.is_negative() {
            return Err(LedgerRefusal::SurplusUsed);
        }
        receipt.undone = Some((on, why));
        for ReceiptPart { invoice, used, recovered } in receipt.parts.clone() {
            if let Some(item) = self.items.get_mut(&invoice) {
                *item = item.unpay(used, recovered);
            }
            self.note_given_up(&invoice, on, recovered);
        }
        self.unused = unused;
        Ok(())
    }

    /// Refunds money from the customer's credit.
    ///
    /// # Errors
    /// [`LedgerRefusal::Payment`] if the credit does not suffice.
    pub fn refund(&mut self, refund: RefundId, amount: Money) -> Result<(), LedgerRefusal> {
        if self.refunds.contains_key(&refund) {
            return Err(LedgerRefusal::Known("refund"));
        }
        self.unused = take_from_credit(self.unused, amount)?;
        self.refunds.insert(refund, Refund { amount, undone: false });
        Ok(())
    }

    /// Undoes a refund that the customer never received: the amount is their credit again.
    ///
    /// # Errors
    /// [`LedgerRefusal::State`] if it was undone before.
    pub fn undo_refund(&mut self, refund: &RefundId) -> Result<(), LedgerRefusal> {
        let found = self.refunds.get_mut(refund).ok_or(LedgerRefusal::Unknown("refund"))?;
        if found.undone {
            return Err(WrongState { record: "refund", state: "undone", wanted: "undone", hint: "" }.into());
        }
        found.undone = true;
        self.unused += found.amount;
        Ok(())
    }

    /// Writes off some or all of the unpaid amount of an invoice, from the given day on.
    ///
    /// # Errors
    /// See [`Item::write_off`].
    pub fn write_off(&mut self, invoice: &InvoiceId, amount: Money, on: NaiveDate) -> Result<(), LedgerRefusal> {
        let item = self.found(invoice)?.write_off(amount)?;
        self.items.insert(invoice.clone(), item);
        self.note_given_up(invoice, on, amount);
        Ok(())
    }

    /// Demands a written-off amount again.
    ///
    /// # Errors
    /// See [`Item::reinstate`].
    pub fn reinstate(&mut self, invoice: &InvoiceId, amount: Money, on: NaiveDate) -> Result<(), LedgerRefusal> {
        let item = self.found(invoice)?.reinstate(amount)?;
        self.items.insert(invoice.clone(), item);
        self.note_given_up(invoice, on, -amount);
        Ok(())
    }

    /// Notes that the customer disputes an invoice.
    ///
    /// # Errors
    /// See [`Item::dispute`].
    pub fn dispute(&mut self, invoice: &InvoiceId, on: NaiveDate) -> Result<(), LedgerRefusal> {
        let item = self.found(invoice)?.dispute(on)?;
        self.items.insert(invoice.clone(), item);
        Ok(())
    }

    /// Ends the dispute about an invoice.
    ///
    /// # Errors
    /// See [`Item::end_dispute`].
    pub fn end_dispute(&mut self, invoice: &InvoiceId) -> Result<(), LedgerRefusal> {
        let item = self.found(invoice)?.end_dispute()?;
        self.items.insert(invoice.clone(), item);
        Ok(())
    }
}

#[cfg(test)]
mod tests;

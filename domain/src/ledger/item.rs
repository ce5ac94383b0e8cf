//! One invoice in the ledger: amounts billed, credited, paid and written off; its state follows from these.

use chrono::NaiveDate;

use super::LedgerRefusal;
use crate::invoice::State;
use crate::money::{LIMIT, Money};
use crate::refusal::WrongState;

/// An issued invoice. Its amounts always satisfy `billed = credited + paid + written off + open`, none of them below zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Item {
    /// Amount payable when it was issued, or unpaid when the shop began to use this program.
    pub billed: Money,
    /// Amount of its credit notes.
    pub credited: Money,
    /// Amount that payments settle, including recovered amounts.
    pub paid: Money,
    /// Amount that is written off and was not paid after all.
    pub written_off: Money,
    /// Amount that was paid after it had been written off.
    pub recovered: Money,
    /// Whether all its lines are credited.
    pub credited_whole: bool,
    /// Day since which the customer disputes it; `None` if they don't.
    pub disputed_since: Option<NaiveDate>,
}

/// Effect of a payment on an invoice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Taken {
    /// The invoice after the payment.
    pub item: Item,
    /// The part that the invoice took.
    pub used: Money,
    /// Part of that amount that had been written off.
    pub recovered: Money,
    /// Rest of the payment.
    pub surplus: Money,
}

/// Effect of a credit note on an invoice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TakenBack {
    /// The invoice after the credit note.
    pub item: Item,
    /// Part of the unpaid amount that it covers.
    pub covered: Money,
    /// Part of the written-off amount that it covers: it is no longer a loss, because it is no longer owed.
    pub from_write_off: Money,
    /// Amount that the customer has now overpaid, which becomes their credit, to use or to be refunded.
    pub released: Money,
}

impl Item {
    /// An invoice that was just issued.
    ///
    /// # Errors
    /// [`LedgerRefusal::Negative`] below zero or beyond [`LIMIT`].
    pub fn issued(billed: Money) -> Result<Self, LedgerRefusal> {
        if billed.is_negative() || billed.minor() > LIMIT {
            return Err(LedgerRefusal::Negative);
        }
        Ok(Self {
            billed,
            credited: Money::ZERO,
            paid: Money::ZERO,
            written_off: Money::ZERO,
            recovered: Money::ZERO,
            credited_whole: false,
            disputed_since: None,
        })
    }

    /// Unpaid amount.
    pub fn open(self) -> Money {
        self.billed - self.credited - self.paid - self.written_off
    }

    /// Its state. Payments of a written-off amount make it part paid, or paid if all of it was paid.
    pub fn state(self) -> State {
        if self.credited_whole {
            State::Credited
        } else if self.open().is_zero() && self.written_off.is_zero() {
            State::Paid
        } else if self.open().is_zero() && self.recovered.is_zero() {
            State::WrittenOff
        } else if self.paid.is_zero() {
            State::Issued
        } else {
            State::PartPaid
        }
    }

    /// Whether reminders about it are paused because the customer disputes it.
    pub const fn stops_letters(self) -> bool {
        self.disputed_since.is_some()
    }

    fn refuse(self, wanted: &'static str, hint: &'static str) -> WrongState {
        WrongState { record: "invoice", state: self.state().label(), wanted, hint }
    }

    /// Takes a payment: the unpaid amount first, then the written-off amount.
    ///
    /// # Errors
    /// [`WrongState`] if nothing can be paid on it.
    pub fn pay(self, amount: Money) -> Result<Taken, WrongState> {
        if self.open().is_zero() && self.written_off.is_zero() {
            return Err(self.refuse("paid", "; keep the payment as the customer's credit"));
        }
        let settled = amount.min(self.open());
        let recovered = (amount - settled).min(self.written_off);
        let used = settled + recovered;
        let item = Self {
            paid: self.paid + used,
            written_off: self.written_off - recovered,
            recovered: self.recovered + recovered,
            ..self
        };
        Ok(Taken { item, used, recovered, surplus: amount - used })
    }

    /// Reverses a payment of which it had used `used`, and `recovered` of that for a written-off amount; that is
    /// written off again, and the rest is unpaid again.
    pub(super) fn unpay(self, used: Money, recovered: Money) -> Self {
        Self {
            paid: self.paid - used,
            written_off: self.written_off + recovered,
            recovered: self.recovered - recovered,
            ..self
        }
    }

    /// Takes a credit note of the given amount: it covers the unpaid amount, then the written-off amount, and releases
    /// the rest from payments. `whole` says that all lines are credited after it.
    ///
    /// # Errors
    /// [`LedgerRefusal::State`] if it was credited in full before, [`LedgerRefusal::CreditTooLarge`] for more than the
    /// rest, for less than the rest with `whole`, and for zero without it.
    pub fn credit(self, amount: Money, whole: bool) -> Result<TakenBack, LedgerRefusal> {
        if self.credited_whole {
            return Err(self.refuse("credited", "").into());
        }
        let left = self.billed - self.credited;
        let fits = if whole { amount == left } else { amount > Money::ZERO && amount <= left };
        if !fits {
            return Err(LedgerRefusal::CreditTooLarge);
        }
        let covered = amount.min(self.open());
        let from_write_off = (amount - covered).min(self.written_off);
        let released = amount - covered - from_write_off;
        let paid = self.paid - released;
        let item = Self {
            credited: self.credited + amount,
            paid,
            written_off: self.written_off - from_write_off,
            recovered: self.recovered.min(paid),
            credited_whole: whole,
            ..self
        };
        Ok(TakenBack { item, covered, from_write_off, released })
    }

    /// Writes off some or all of the unpaid amount.
    ///
    /// # Errors
    /// [`LedgerRefusal::State`] if nothing is unpaid, [`LedgerRefusal::WriteOffAmount`] for zero or more than the
    /// unpaid amount.
    pub fn write_off(self, amount: Money) -> Result<Self, LedgerRefusal> {
        if self.open().is_zero() {
            return Err(self.refuse("written off", "").into());
        }
        if amount <= Money::ZERO || amount > self.open() {
            return Err(LedgerRefusal::WriteOffAmount);
        }
        Ok(Self { written_off: self.written_off + amount, ..self })
    }

    /// Demands some or all of the written-off amount again: it is unpaid again.
    ///
    /// # Errors
    /// [`LedgerRefusal::WriteOffAmount`] for zero or more than the written-off amount.
    pub fn reinstate(self, amount: Money) -> Result<Self, LedgerRefusal> {
        if amount <= Money::ZERO || amount > self.written_off {
            return Err(LedgerRefusal::WriteOffAmount);
        }
        Ok(Self { written_off: self.written_off - amount, ..self })
    }

    /// Notes that the customer disputes it from the given day on: reminders are paused.
    ///
    /// # Errors
    /// [`WrongState`] if nothing is unpaid, or it is already disputed.
    pub fn dispute(self, on: NaiveDate) -> Result<Self, WrongState> {
        if self.open().is_zero() {
            return Err(self.refuse("disputed", ""));
        }
        match self.disputed_since {
            Some(_) => Err(WrongState { record: "invoice", state: "disputed", wanted: "disputed", hint: "" }),
            None => Ok(Self { disputed_since: Some(on), ..self }),
        }
    }

    /// Ends the dispute: reminders continue.
    ///
    /// # Errors
    /// [`WrongState`] if it is not disputed.
    pub fn end_dispute(self) -> Result<Self, WrongState> {
        match self.disputed_since {
            Some(_) => Ok(Self { disputed_since: None, ..self }),
            None => Err(self.refuse("taken out of dispute", "; nobody disputes it")),
        }
    }
}

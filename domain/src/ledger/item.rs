//! One invoice in the ledger: what was billed, credited, paid and given up; its state follows from these.

use chrono::NaiveDate;

use super::LedgerRefusal;
use crate::invoice::State;
use crate::money::{LIMIT, Money};
use crate::refusal::WrongState;

/// An issued invoice. Its amounts always satisfy `billed = credited + paid + written off + open`, none of them below zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Item {
    /// What it came to when it was issued: payable, or what was still open of it when the shop began with this program.
    pub billed: Money,
    /// What credit notes took back.
    pub credited: Money,
    /// What payments settle of it, recovered amounts included.
    pub paid: Money,
    /// What is given up and was not paid after all.
    pub written_off: Money,
    /// What was paid after it had been given up.
    pub recovered: Money,
    /// Whether nothing of its lines is left to credit.
    pub credited_whole: bool,
    /// The day since which the customer disputes it; `None` if they don't.
    pub disputed_since: Option<NaiveDate>,
}

/// What a payment did to an invoice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Taken {
    /// The invoice after it.
    pub item: Item,
    /// What the invoice took.
    pub used: Money,
    /// How much of that had been given up.
    pub recovered: Money,
    /// What is left of the payment.
    pub surplus: Money,
}

/// What a credit note did to an invoice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TakenBack {
    /// The invoice after it.
    pub item: Item,
    /// How much of the open amount it covers.
    pub covered: Money,
    /// How much of what was given up it covers: no loss any more, since it is no longer owed.
    pub from_write_off: Money,
    /// What the customer has now paid too much: theirs, to use or to be refunded.
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

    /// What is still to be paid.
    pub fn open(self) -> Money {
        self.billed - self.credited - self.paid - self.written_off
    }

    /// Its state. Money that arrives for what was given up makes it part paid, or paid once all of it has arrived.
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

    /// Whether letters about it wait: the customer disputes it.
    pub const fn stops_letters(self) -> bool {
        self.disputed_since.is_some()
    }

    fn refuse(self, wanted: &'static str, hint: &'static str) -> WrongState {
        WrongState { record: "invoice", state: self.state().label(), wanted, hint }
    }

    /// Takes a payment: what is open first, then what was given up.
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

    /// Takes a payment back of which it had used `used`, and `recovered` of that for what had been given up; that is given
    /// up again, and the rest is open again.
    pub(super) fn unpay(self, used: Money, recovered: Money) -> Self {
        Self {
            paid: self.paid - used,
            written_off: self.written_off + recovered,
            recovered: self.recovered - recovered,
            ..self
        }
    }

    /// Takes a credit note of that amount: it covers what is open, then what was given up, and releases the rest of what
    /// was paid. `whole` says that with it nothing of the lines is left to credit.
    ///
    /// # Errors
    /// [`LedgerRefusal::State`] if it was credited in full before, [`LedgerRefusal::CreditTooLarge`] for more than is left,
    /// for less than all that is left with `whole`, and for nothing without it.
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

    /// Gives up some or all of what is open.
    ///
    /// # Errors
    /// [`LedgerRefusal::State`] if nothing is open, [`LedgerRefusal::WriteOffAmount`] for nothing or more than is open.
    pub fn write_off(self, amount: Money) -> Result<Self, LedgerRefusal> {
        if self.open().is_zero() {
            return Err(self.refuse("written off", "").into());
        }
        if amount <= Money::ZERO || amount > self.open() {
            return Err(LedgerRefusal::WriteOffAmount);
        }
        Ok(Self { written_off: self.written_off + amount, ..self })
    }

    /// Asks again for some or all of what was given up: it is open again.
    ///
    /// # Errors
    /// [`LedgerRefusal::WriteOffAmount`] for nothing or more than was given up.
    pub fn reinstate(self, amount: Money) -> Result<Self, LedgerRefusal> {
        if amount <= Money::ZERO || amount > self.written_off {
            return Err(LedgerRefusal::WriteOffAmount);
        }
        Ok(Self { written_off: self.written_off - amount, ..self })
    }

    /// Notes that the customer disputes it from that day on: letters wait.
    ///
    /// # Errors
    /// [`WrongState`] if nothing is open, or it is disputed already.
    pub fn dispute(self, on: NaiveDate) -> Result<Self, WrongState> {
        if self.open().is_zero() {
            return Err(self.refuse("disputed", ""));
        }
        match self.disputed_since {
            Some(_) => Err(WrongState { record: "invoice", state: "disputed", wanted: "disputed", hint: "" }),
            None => Ok(Self { disputed_since: Some(on), ..self }),
        }
    }

    /// Ends the dispute: letters go on.
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

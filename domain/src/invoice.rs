//! Invoices: their states, unpaid amounts and due dates; deposits and credit notes.
//!
//! draft → issued → part paid → paid; or credited · written off. An issued invoice never changes: a mistake is
//! credited and issued again.

mod agreed;
mod called_off;
mod claim;
mod correct;
mod credit;
mod deduction;
mod deposit;
mod kind;
mod retax;
mod terms;

use chrono::NaiveDate;

use crate::document::Totals;
use crate::money::Money;
use crate::refusal::{Kind, Refusal, WrongState};
use crate::tax::Category;
use crate::word::words;

pub use agreed::{NotTogether, agreed};
pub use called_off::DepositAfterCancellation;
pub use claim::{Claimed, Claims, InvoicedAlready};
pub use correct::{Correction, correct};
pub use credit::{BadCredit, Credit, CreditLine, Left, credit_note};
pub use deduction::{Advance, BadDeduction, Deducted, DeductedLine, deduct};
pub use deposit::{BadDeposit, DepositAsked, DepositSize, deposit};
pub use kind::InvoiceKind;
pub use retax::{BadRetax, MovedRate, Retaxed, retaxed};
pub use terms::{LONGEST_USUAL_DAYS, PaymentTerms};

words! {
    /// State of an invoice.
    pub enum State("invoice state") {
        /// Being written; has no number yet.
        Draft = "DRAFT" "draft",
        /// Numbered and sent; nothing is paid.
        Issued = "ISSUED" "issued",
        /// Part of it is paid, the rest is unpaid.
        PartPaid = "PART_PAID" "part paid",
        /// Nothing is unpaid.
        Paid = "PAID" "paid",
        /// All of it was credited.
        Credited = "CREDITED" "credited",
        /// The unpaid amount was written off.
        WrittenOff = "WRITTEN_OFF" "written off",
    }
}

/// State and amounts of an invoice, on which its moves depend.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Account {
    /// Its state.
    pub state: State,
    /// Amount that is still to be paid; never below zero.
    pub open: Money,
    /// Paid amount.
    pub paid: Money,
}

/// Reason why an invoice can't be issued.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadInvoice {
    /// It was issued already.
    #[error(transparent)]
    State(#[from] WrongState),
    /// Its total is below zero.
    #[error("an invoice can't come to less than zero: give money back with a credit note")]
    Negative,
    /// Category O beside another one (BR-O-11).
    #[error(
        "lines outside the scope of VAT (category O) can't share an invoice with others: write a second invoice for them"
    )]
    OutOfScopeMixed,
}

impl Refusal for BadInvoice {
    fn kind(&self) -> Kind {
        match self {
            Self::State(state) => state.kind(),
            Self::Negative | Self::OutOfScopeMixed => Kind::Invalid,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::State(state) => state.code(),
            Self::Negative => "negative-invoice",
            Self::OutOfScopeMixed => "out-of-scope-mixed",
        }
    }
}

/// Effect of a payment on an invoice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Received {
    /// The invoice after the payment.
    pub account: Account,
    /// The part that the invoice took.
    pub used: Money,
    /// The surplus, which stays the customer's credit.
    pub surplus: Money,
}

/// Effect of a credit note on an invoice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Credited {
    /// The invoice after the payment.
    pub account: Account,
    /// Part of the unpaid amount that it covers.
    pub covered: Money,
    /// Amount that the customer has now overpaid; it is theirs, to use or to be refunded.
    pub released: Money,
}

impl Account {
    /// An invoice that is being written.
    pub const DRAFT: Self = Self { state: State::Draft, open: Money::ZERO, paid: Money::ZERO };

    fn refuse(self, wanted: &'static str, hint: &'static str) -> WrongState {
        WrongState { record: "invoice", state: self.state.label(), wanted, hint }
    }

    /// The state of an issued invoice that follows from its amounts.
    fn settled(self) -> Self {
        let state = match (self.open.is_zero(), self.paid.is_zero()) {
            (true, _) => State::Paid,
            (false, true) => State::Issued,
            (false, false) => State::PartPaid,
        };
        Self { state, ..self }
    }

    /// Issues a draft with these totals. If nothing is payable (a deposit covers it all) it is paid at once.
    ///
    /// # Errors
    /// [`BadInvoice`]; a draft must total zero or more, and category O stands alone.
    pub fn issue(self, totals: &Totals) -> Result<Self, BadInvoice> {
        if self.state != State::Draft {
            return Err(self.refuse("issued", "; credit it and write a new one").into());
        }
        if totals.payable.is_negative() {
            return Err(BadInvoice::Negative);
        }
        let out_of_scope = |row: &crate::document::CategoryTotal| row.treatment.category() == Category::OutOfScope;
        if totals.taxes.len() > 1 && totals.taxes.iter().any(out_of_scope) {
            return Err(BadInvoice::OutOfScopeMixed);
        }
        Ok(Self { open: totals.payable, ..self }.settled())
    }

    /// Takes a payment, of which the invoice uses at most the unpaid amount. [`crate::payment`] ensures that the
    /// payment is above zero.
    ///
    /// # Errors
    /// [`WrongState`] if nothing can be paid on it.
    pub fn pay(self, amount: Money) -> Result<Received, WrongState> {
        let hint = match self.state {
            State::Issued | State::PartPaid => {
                let used = amount.min(self.open);
                let account = Self { open: self.open - used, paid: self.paid + used, ..self }.settled();
                return Ok(Received { account, used, surplus: amount - used });
            }
            State::Draft => "; issue it first",
            _ => "; keep the payment as the customer's credit",
        };
        Err(self.refuse("paid", hint))
    }

    /// Takes a credit note of that amount; `all` means that it leaves nothing of the invoice to credit.
    ///
    /// # Errors
    /// [`WrongState`] if nothing can be credited on it.
    pub fn credit(self, amount: Money, all: bool) -> Result<Credited, WrongState> {
        if !matches!(self.state, State::Issued | State::PartPaid | State::Paid) {
            let hint = if self.state == State::Draft { "; change the draft instead" } else { "" };
            return Err(self.refuse("credited", hint));
        }
        let covered = amount.min(self.open);
        let account = Self { open: self.open - covered, ..self };
        let account = if all { Self { state: State::Credited, ..account } } else { account.settled() };
        Ok(Credited { account, covered, released: amount - covered })
    }

    /// Writes the unpaid amount off; the second value is that amount.
    ///
    /// # Errors
    /// [`WrongState`] if nothing is unpaid.
    pub fn write_off(self) -> Result<(Self, Money), WrongState> {
        if !matches!(self.state, State::Issued | State::PartPaid) {
            return Err(self.refuse("written off", ""));
        }
        Ok((Self { state: State::WrittenOff, open: Money::ZERO, ..self }, self.open))
    }
}

/// Due date of an invoice: `days` days after its issue (a shop's setting).
pub fn due_on(issued: NaiveDate, days: u16) -> NaiveDate {
    PaymentTerms::Days(days).due_on(issued)
}

/// Number of days for which an invoice has been overdue today: 0 on its due date and before.
pub fn days_overdue(due: NaiveDate, today: NaiveDate) -> u64 {
    u64::try_from((today - due).num_days()).unwrap_or(0)
}

#[cfg(test)]
mod tests;

//! Payments, refunds and write-offs as the ledger keeps them.

use alloc::vec::Vec;

use chrono::NaiveDate;

use crate::id::InvoiceId;
use crate::money::Money;
use crate::payment::Method;
use crate::word::words;

words! {
    /// Reason why a payment is undone; its record stays.
    pub enum PaymentUndoReason("reason to undo a payment") {
        /// It was typed by mistake.
        Mistake = "MISTAKE" "recorded by mistake",
        /// The bank returned it.
        Bounced = "BOUNCED" "returned by the bank",
        /// The bank of the customer's card took it back at their request.
        ChargedBack = "CHARGED_BACK" "charged back",
    }
}

words! {
    /// Cause of a change of the written-off amount of an invoice.
    pub enum WriteOffCause("cause of a write-off") {
        /// The owner wrote it off.
        GivenUp = "GIVEN_UP" "written off",
        /// It is demanded again.
        Reinstated = "REINSTATED" "demanded again",
        /// It was paid after all.
        Paid = "PAID" "paid after all",
        /// The payment that had recovered it was undone.
        PaymentUndone = "PAYMENT_UNDONE" "payment undone",
        /// A credit note covers it, so it is no longer owed.
        Credited = "CREDITED" "credited",
    }
}

/// A payment in the ledger.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Receipt {
    /// Method of payment; [`Method::Credit`] brings no money in.
    pub method: Method,
    /// Its amount.
    pub amount: Money,
    /// Amount that invoices use of it now: less than at first if a credit note released some.
    pub parts: Vec<ReceiptPart>,
    /// Time and reason of its undoing; `None` while it counts.
    pub undone: Option<(NaiveDate, PaymentUndoReason)>,
}

/// Part of a payment that one invoice uses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReceiptPart {
    /// The invoice.
    pub invoice: InvoiceId,
    /// Amount that it uses.
    pub used: Money,
    /// Part of that amount that had been written off before.
    pub recovered: Money,
}

/// A refund.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Refund {
    /// Its amount.
    pub(super) amount: Money,
    /// Whether it was undone.
    pub(super) undone: bool,
}

/// A write-off, or its reversal as an amount below zero: paid after all, reinstated or credited.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GivenUp {
    /// The invoice.
    pub invoice: InvoiceId,
    /// Day from which it counts.
    pub on: NaiveDate,
    /// Amount written off, or below zero if it is a reversal.
    pub amount: Money,
}

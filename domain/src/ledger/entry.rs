//! Payments, refunds and write-offs as the ledger keeps them.

use alloc::vec::Vec;

use chrono::NaiveDate;

use crate::id::InvoiceId;
use crate::money::Money;
use crate::payment::Method;
use crate::word::words;

words! {
    /// Why a payment is undone; its record stays.
    pub enum PaymentUndoReason("reason to undo a payment") {
        /// It was typed by mistake.
        Mistake = "MISTAKE" "recorded by mistake",
        /// The bank returned it.
        Bounced = "BOUNCED" "returned by the bank",
        /// The customer had their card's bank take it back.
        ChargedBack = "CHARGED_BACK" "charged back",
    }
}

/// A payment in the ledger.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Receipt {
    /// How it was paid; [`Method::Credit`] brings no money in.
    pub method: Method,
    /// Its amount.
    pub amount: Money,
    /// What invoices use of it now: less than at first after a credit note released some.
    pub parts: Vec<ReceiptPart>,
    /// When and why it was undone; `None` while it counts.
    pub undone: Option<(NaiveDate, PaymentUndoReason)>,
}

/// What one invoice uses of a payment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReceiptPart {
    /// The invoice.
    pub invoice: InvoiceId,
    /// How much it uses.
    pub used: Money,
    /// How much of that had been given up before.
    pub recovered: Money,
}

/// Money given back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Refund {
    /// Its amount.
    pub(super) amount: Money,
    /// Whether it was undone.
    pub(super) undone: bool,
}

/// A write-off, or below zero what came back of one: paid after all, reinstated or credited.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GivenUp {
    /// The invoice.
    pub invoice: InvoiceId,
    /// The day that it counts from.
    pub on: NaiveDate,
    /// The amount given up, or below zero what came back.
    pub amount: Money,
}

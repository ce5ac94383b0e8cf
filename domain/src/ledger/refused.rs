//! Reasons why a move of money is refused.

use crate::payment::BadPayment;
use crate::refusal::{Kind, Refusal, WrongState};

/// Reason why a move of money is refused; the ledger is unchanged.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LedgerRefusal {
    /// The record's state does not allow it.
    #[error(transparent)]
    State(#[from] WrongState),
    /// The payment or the refund itself is not valid.
    #[error(transparent)]
    Payment(#[from] BadPayment),
    /// The ledger has no such record.
    #[error("no such {0} is known here")]
    Unknown(&'static str),
    /// The id is already used.
    #[error("this {0} is recorded already")]
    Known(&'static str),
    /// An invoice below zero, or above the maximum of a document.
    #[error("an invoice can't come to less than zero: give money back with a credit note")]
    Negative,
    /// A credit note for more than the rest of its invoice.
    #[error("less than that is left to credit on the invoice: credit at most what is left")]
    CreditTooLarge,
    /// A write-off of zero or of more than the unpaid amount, or a reinstatement of more than the written-off amount.
    #[error("give up more than zero and at most what is open; take back at most what was given up")]
    WriteOffAmount,
    /// The money of the payment was used or refunded since.
    #[error("what was left over of this payment has been used since: undo the refund or the later payment first")]
    SurplusUsed,
}

impl Refusal for LedgerRefusal {
    fn kind(&self) -> Kind {
        match self {
            Self::State(state) => state.kind(),
            Self::Payment(bad) => bad.kind(),
            Self::Negative | Self::WriteOffAmount => Kind::Invalid,
            Self::Unknown(_) | Self::Known(_) | Self::CreditTooLarge | Self::SurplusUsed => Kind::Conflict,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::State(state) => state.code(),
            Self::Payment(bad) => bad.code(),
            Self::Unknown(_) => "not-found",
            Self::Known(_) => "recorded-already",
            Self::Negative => "negative-invoice",
            Self::CreditTooLarge => "credit-exceeds-invoice",
            Self::WriteOffAmount => "write-off-amount",
            Self::SurplusUsed => "undo-first",
        }
    }
}

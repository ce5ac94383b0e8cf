//! Faults of documents whose totals can't be computed.

use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::fmt;

use crate::refusal::{Fault, Kind, Refusal};

/// A document whose totals can't be computed, with the position and the broken rule.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{place}: {broken}")]
pub struct BadDocument {
    /// Position in the document.
    pub place: Place,
    /// Kind of fault.
    pub broken: Broken,
}

/// A position in a document; items count from 0 here and from 1 in texts for people.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// The whole document.
    Whole,
    /// A field of the document.
    Field(&'static str),
    /// An item of a list, such as `lines`, and the field in it.
    Item {
        /// The list's name.
        list: &'static str,
        /// The item's position from 0.
        at: usize,
        /// The field's name.
        field: &'static str,
    },
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Whole => f.write_str("the document"),
            Self::Field(field) => f.write_str(field),
            Self::Item { list, at, field } => write!(f, "{list}, number {}, {field}", at + 1),
        }
    }
}

impl Place {
    /// The place as a JSON pointer into the document.
    fn pointer(self) -> String {
        match self {
            Self::Whole => String::new(),
            Self::Field(field) => alloc::format!("/{field}"),
            Self::Item { list, at, field } => alloc::format!("/{list}/{at}/{field}"),
        }
    }
}

/// Description of the fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Broken {
    /// No lines (BR-16).
    #[error("add at least one line")]
    Empty,
    /// More than [`super::MOST`] in one list, or [`super::MOST_DISCOUNTS`] discounts.
    #[error("too many for one document; make two")]
    TooMany,
    /// A price below zero (BR-27).
    #[error("a price can't be negative; give the quantity a minus sign instead")]
    NegativePrice,
    /// A base quantity that is not above zero.
    #[error("the quantity that a price is for must be above zero")]
    BaseQuantity,
    /// An amount beyond what a document may hold, or a number with too many digits to compute with exactly.
    #[error("the number is too large or has too many digits")]
    TooLarge,
    /// A discount without a reason.
    #[error("say why the discount is given")]
    NoReason,
    /// A discount above the amount it is deducted from, or with the other sign.
    #[error("a discount can't be more than what it is taken off, nor raise it")]
    DiscountTooLarge,
}

impl Refusal for BadDocument {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        match self.broken {
            Broken::Empty => "no-lines",
            Broken::TooMany => "too-many-lines",
            Broken::NegativePrice => "negative-price",
            Broken::BaseQuantity => "base-quantity",
            Broken::TooLarge => "amount-too-large",
            Broken::NoReason => "discount-reason",
            Broken::DiscountTooLarge => "discount-too-large",
        }
    }

    fn faults(&self) -> Vec<Fault> {
        alloc::vec![Fault { pointer: self.place.pointer(), code: self.code(), detail: self.broken.to_string() }]
    }
}

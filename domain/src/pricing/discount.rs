//! A discount on one line of a quote.

use alloc::string::String;

use rust_decimal::Decimal;

use crate::money::Money;
use crate::refusal::{Kind, Refusal};

/// Size of the discount.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Off {
    /// An amount.
    Amount(Money),
    /// A percentage of the line, rounded half away from zero to the minor unit.
    Percent(Decimal),
}

/// A discount on one line, with its reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LineDiscount {
    /// Size of the discount.
    pub off: Off,
    /// Reason for the discount, as the customer reads it.
    pub reason: String,
}

/// Reason why a discount can't be given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadDiscount {
    /// No reason.
    #[error("say why the discount is given, in at most 200 characters")]
    NoReason,
    /// A percentage out of range.
    #[error("the percentage must be above 0 and at most 100, with at most 4 decimals")]
    Percent,
    /// The amount is zero, negative, or more than the line.
    #[error("the discount must be above zero and no more than the line itself")]
    Amount,
}

impl Refusal for BadDiscount {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bad-discount"
    }
}

impl LineDiscount {
    /// Amount of the discount on a line with that amount.
    ///
    /// # Errors
    /// [`BadDiscount`] without a reason, or if it is zero or more than the line.
    pub fn taken_off(&self, line: Money) -> Result<Money, BadDiscount> {
        if self.reason.trim().is_empty() || self.reason.chars().count() > 200 {
            return Err(BadDiscount::NoReason);
        }
        let taken = match self.off {
            Off::Amount(amount) if amount > Money::ZERO => amount,
            Off::Amount(_) => return Err(BadDiscount::Amount),
            Off::Percent(percent) => {
                let fits =
                    percent > Decimal::ZERO && percent <= Decimal::ONE_HUNDRED && percent.normalize().scale() <= 4;
                let exact = fits.then(|| line.decimal().checked_mul(percent)).flatten().ok_or(BadDiscount::Percent)?;
                Money::round(exact / Decimal::ONE_HUNDRED).map_err(|_| BadDiscount::Percent)?
            }
        };
        (taken <= line).then_some(taken).ok_or(BadDiscount::Amount)
    }
}

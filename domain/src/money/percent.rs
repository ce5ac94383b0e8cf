//! Percentages: tax rates, discounts and deposits.

use core::fmt;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::fraction::money_of;
use super::{Money, NotMoney, Rounding};
use crate::refusal::{Kind, Refusal};

/// A percentage from 0 to 100 with at most four decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Percent(u32);

/// Units of a [`Percent`] in the whole: 100 % is a million of them.
pub(crate) const WHOLE: i128 = 1_000_000;

/// Reason why a number is no percentage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a percentage is from 0 to 100, with at most four decimals")]
pub struct NotPercent;

impl Refusal for NotPercent {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "not-a-percentage"
    }
}

impl Percent {
    /// Zero percent.
    pub const ZERO: Self = Self(0);

    /// The percentage with that decimal value, such as `13.5`.
    ///
    /// # Errors
    /// [`NotPercent`] below 0, above 100, or with more than four decimals.
    pub fn new(percent: Decimal) -> Result<Self, NotPercent> {
        let steps = percent.checked_mul(Decimal::from(10_000)).filter(|s| s.fract().is_zero()).ok_or(NotPercent)?;
        let steps = steps.to_u32().filter(|&s| i128::from(s) <= WHOLE).ok_or(NotPercent)?;
        Ok(Self(steps))
    }

    /// A whole percentage; more than 100 counts as 100.
    pub const fn whole(percent: u8) -> Self {
        Self(if percent > 100 { 1_000_000 } else { percent as u32 * 10_000 })
    }

    /// The number before the percent sign, without trailing zeros.
    pub fn decimal(self) -> Decimal {
        Decimal::new(i64::from(self.0), 4).normalize()
    }

    /// Whether it is 0 %.
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }

    /// In millionths.
    pub(crate) fn steps(self) -> i128 {
        i128::from(self.0)
    }

    /// That share of an amount, rounded once.
    ///
    /// # Errors
    /// [`NotMoney::TooLarge`] if the amount is beyond what a document may hold.
    pub fn of(self, amount: Money, rounding: Rounding) -> Result<Money, NotMoney> {
        money_of(i128::from(amount.minor()) * self.steps(), WHOLE, rounding)
    }
}

impl fmt::Display for Percent {
    /// The number without the sign: `13.5`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.decimal())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_percentage_lies_between_nothing_and_the_whole_with_four_decimals() {
        for (good, shown) in [("0", "0"), ("25.0", "25"), ("13.5", "13.5"), ("100", "100"), ("0.0001", "0.0001")] {
            let parsed: Decimal = good.parse().unwrap();
            assert_eq!(alloc::string::ToString::to_string(&Percent::new(parsed).unwrap()), shown);
        }
        for bad in ["-1", "100.0001", "0.00001", "79228162514264337593543950335"] {
            assert_eq!(Percent::new(bad.parse().unwrap()), Err(NotPercent), "{bad}");
        }
        assert_eq!(Percent::whole(19), Percent::new(Decimal::from(19)).unwrap());
    }
}

//! Amounts of money: whole minor units of one currency (ISO 4217), never floating point.
//!
//! An amount does not carry its currency: a shop has one, and each document freezes it. Sums and differences are
//! checked; rates, quantities and factors are [`Decimal`]s, and turning one back into money rounds half away from
//! zero, once, in [`Money::round`].

mod currency;
pub(crate) mod fraction;
pub(crate) mod percent;
pub(crate) mod split;

use core::fmt;
use core::iter::Sum;

use rust_decimal::prelude::ToPrimitive;
use rust_decimal::{Decimal, RoundingStrategy};

use crate::refusal::{Kind, Refusal};

pub use currency::Currency;
pub use fraction::Rounding;
pub use percent::{NotPercent, Percent};
pub use split::split;

/// An amount in minor units (cents for EUR) of the document's currency; negative for what is given back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Money(i64);

/// The largest amount, either way, that a document may hold: 10 billion in a currency of two decimals. Sums of a
/// thousand such amounts still fit an `i64`, so only what comes from outside has to be checked against it.
pub const LIMIT: i64 = 1_000_000_000_000;

/// Reason why text or a decimal is not an amount.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotMoney {
    /// The text is no plain decimal number.
    #[error("write the amount as digits with a point, such as 123.45")]
    Malformed,
    /// More decimals than the currency has.
    #[error("{currency} amounts have at most {decimals} decimals")]
    TooPrecise {
        /// The currency's code.
        currency: &'static str,
        /// Number of decimals it has.
        decimals: u32,
    },
    /// Beyond [`LIMIT`].
    #[error("the amount is too large")]
    TooLarge,
}

impl Refusal for NotMoney {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "not-an-amount"
    }
}

impl Money {
    /// Zero.
    pub const ZERO: Self = Self(0);

    /// An amount of that number of minor units.
    pub const fn from_minor(minor: i64) -> Self {
        Self(minor)
    }

    /// The amount in minor units.
    pub const fn minor(self) -> i64 {
        self.0
    }

    /// Rounds a decimal number of *minor units* half away from zero (RULES: money), the only rounding of money.
    ///
    /// # Errors
    /// [`NotMoney::TooLarge`] beyond [`LIMIT`].
    pub fn round(minor: Decimal) -> Result<Self, NotMoney> {
        let whole = minor.round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero);
        whole.to_i64().filter(|m| m.unsigned_abs() <= LIMIT.unsigned_abs()).map(Self).ok_or(NotMoney::TooLarge)
    }

    /// The amount as a decimal number of minor units, to multiply by rates and quantities.
    pub fn decimal(self) -> Decimal {
        Decimal::from(self.0)
    }

    /// Reads an amount in the currency's major unit, such as `"123.45"`.
    ///
    /// # Errors
    /// [`NotMoney`] if the text is not a plain decimal number, is too precise for the currency, or too large.
    pub fn parse(text: &str, currency: Currency) -> Result<Self, NotMoney> {
        let value = read_decimal(text)?;
        let minor = value.checked_mul(currency.scale()).ok_or(NotMoney::TooLarge)?;
        if !minor.fract().is_zero() {
            return Err(NotMoney::TooPrecise { currency: currency.code(), decimals: currency.decimals() });
        }
        Self::round(minor)
    }

    /// The amount in the currency's major unit, with all its decimals: `"123.45"`, `"-0.50"`.
    pub fn to_major(self, currency: Currency) -> alloc::string::String {
        alloc::string::ToString::to_string(&self.major(currency))
    }

    /// The amount in the currency's major unit, for use as a price.
    pub fn major(self, currency: Currency) -> Decimal {
        Decimal::from_i128_with_scale(i128::from(self.0), currency.decimals())
    }

    /// The sum, or `None` if it exceeds an `i64`.
    pub fn checked_add(self, other: Self) -> Option<Self> {
        self.0.checked_add(other.0).map(Self)
    }

    /// The amount without its sign.
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// Whether it is zero.
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }

    /// Whether it is negative.
    pub const fn is_negative(self) -> bool {
        self.0 < 0
    }
}

/// Reads a plain decimal number: digits, at most one point between them, a minus sign in front if it is negative. No
/// exponent, no plus sign, no grouping, and nothing is rounded away.
///
/// # Errors
/// [`NotMoney::Malformed`] for any other text, [`NotMoney::TooLarge`] for more digits than a decimal holds.
pub fn read_decimal(text: &str) -> Result<Decimal, NotMoney> {
    let digits = text.strip_prefix('-').unwrap_or(text);
    let plain = !digits.is_empty()
        && digits.len() <= 29
        && digits.starts_with(|c: char| c.is_ascii_digit())
        && digits.ends_with(|c: char| c.is_ascii_digit())
        && digits.chars().all(|c| c.is_ascii_digit() || c == '.')
        && digits.matches('.').count() <= 1;
    if !plain {
        return Err(NotMoney::Malformed);
    }
    Decimal::from_str_exact(text).map_err(|_| NotMoney::TooLarge)
}

impl core::ops::Add for Money {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl core::ops::Sub for Money {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl core::ops::Neg for Money {
    type Output = Self;

    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl core::ops::AddAssign for Money {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self::ZERO, |a, b| a + b)
    }
}

impl fmt::Display for Money {
    /// Minor units, for logs and failed assertions; people are shown [`Money::to_major`].
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} minor units", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const EUR: Currency = Currency::EUR;

    #[test]
    fn an_amount_reads_and_writes_the_major_unit() {
        for (text, minor) in [("123.45", 12345), ("0.5", 50), ("-0.50", -50), ("7", 700)] {
            assert_eq!(Money::parse(text, EUR), Ok(Money(minor)));
        }
        assert_eq!(Money(-50).to_major(EUR), "-0.50");
        assert_eq!(Money(700).to_major(EUR), "7.00");
    }

    #[test]
    fn text_that_is_no_plain_amount_is_refused() {
        for text in ["", "-", ".5", "5.", "1e3", "1,5", " 1", "1_0", "+1", "--1", "1.2.3"] {
            assert_eq!(Money::parse(text, EUR), Err(NotMoney::Malformed), "{text:?}");
        }
        assert!(matches!(Money::parse("0.001", EUR), Err(NotMoney::TooPrecise { .. })));
        for text in ["99999999999999", "-92233720368547758.08", "1234567890123456789012345678901"] {
            assert!(matches!(Money::parse(text, EUR), Err(NotMoney::TooLarge | NotMoney::Malformed)), "{text}");
        }
    }

    #[test]
    fn rounding_is_half_away_from_zero() {
        for (tenths, minor) in [(5, 1), (-5, -1), (4, 0), (15, 2), (25, 3), (-25, -3)] {
            assert_eq!(Money::round(Decimal::new(tenths, 1)), Ok(Money(minor)));
        }
    }
}

//! Ratios of actual minutes to budget, and outliers.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use crate::refusal::{Kind, Refusal};
use crate::time::Minutes;
use crate::word::words;

/// Actual time of a step, as a multiple of its budget; never negative.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Ratio(Decimal);

/// Reason why a number is no [`Ratio`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("actual minutes ÷ budget is never below zero: give what the clock counted")]
pub struct NotRatio;

impl Refusal for NotRatio {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "not-a-ratio"
    }
}

words! {
    /// Reason for leaving a job's step out (RULES: learning): somebody left the clock running, or paused it and worked
    /// on.
    pub enum Outlier("outlier") {
        /// More than four times its budget.
        TooLong = "TOO_LONG" "more than four times its budget",
        /// Less than a quarter of it.
        TooShort = "TOO_SHORT" "less than a quarter of its budget",
    }
}

/// The natural logarithm of a [`Ratio`] that is no outlier: the only input of learning.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct LogRatio(pub(super) f64);

/// Ratio above which a lesson is an outlier.
const MOST: Decimal = Decimal::from_parts(4, 0, 0, false, 0);
/// Ratio below which a lesson is an outlier: a quarter.
const LEAST: Decimal = Decimal::from_parts(25, 0, 0, false, 2);

impl Ratio {
    /// The ratio of actual to budgeted minutes; `None` without a budget, since then nothing can be compared.
    pub fn of(actual: Minutes, budget: Minutes) -> Option<Self> {
        Decimal::from(actual.get()).checked_div(Decimal::from(budget.get())).map(Self)
    }

    /// The ratio with that decimal value.
    ///
    /// # Errors
    /// [`NotRatio`] below zero.
    pub fn new(ratio: Decimal) -> Result<Self, NotRatio> {
        if ratio < Decimal::ZERO { Err(NotRatio) } else { Ok(Self(ratio)) }
    }

    /// As a decimal.
    pub const fn decimal(self) -> Decimal {
        self.0
    }

    /// Its logarithm, if it is no outlier. Exactly four times the budget, and exactly a quarter of it, are none.
    ///
    /// # Errors
    /// [`Outlier`] says why it is left out.
    pub fn learn(self) -> Result<LogRatio, Outlier> {
        match self.0 {
            ratio if ratio > MOST => Err(Outlier::TooLong),
            ratio if ratio < LEAST => Err(Outlier::TooShort),
            ratio => ratio.to_f64().map(|ratio| LogRatio(libm::log(ratio))).ok_or(Outlier::TooLong),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_than_four_times_the_budget_or_less_than_a_quarter_teaches_nothing() {
        let told = |actual, budget| Ratio::of(Minutes::new(actual), Minutes::new(budget)).unwrap().learn().err();
        assert_eq!([told(240, 60), told(15, 60), told(60, 60)], [None; 3]);
        assert_eq!((told(241, 60), told(14, 60)), (Some(Outlier::TooLong), Some(Outlier::TooShort)));
        assert_eq!((told(0, 1), told(u32::MAX, 1)), (Some(Outlier::TooShort), Some(Outlier::TooLong)));
        // The ratios closest to the two limits.
        let most = u32::MAX / 4;
        assert_eq!((told(4 * most, most), told(4 * most + 1, most)), (None, Some(Outlier::TooLong)));
        assert_eq!((told(most, 4 * most), told(most - 1, 4 * most)), (None, Some(Outlier::TooShort)));
    }

    #[test]
    fn without_a_budget_there_is_nothing_to_compare() {
        assert_eq!(Ratio::of(Minutes::new(10), Minutes::ZERO), None);
        assert_eq!(Ratio::new(Decimal::NEGATIVE_ONE), Err(NotRatio));
    }
}

//! Half-years and their reference rates.
//!
//! Source: Directive 2011/7/EU, article 3(2): the rate in force on 1 January counts until the end of June, the one in force
//! on 1 July until the end of the year. Article 2(7): in the euro area it is the European Central Bank's rate for its main
//! refinancing operations, elsewhere the equivalent rate of the national central bank. A shop enters it twice a year.

use alloc::collections::BTreeMap;
use core::fmt;

use chrono::{Datelike, NaiveDate};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use crate::refusal::{Kind, Refusal};

/// January to June or July to December of a year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct HalfYear {
    year: i32,
    second: bool,
}

impl HalfYear {
    /// The half-year of a day.
    pub fn of(day: NaiveDate) -> Self {
        Self { year: day.year(), second: day.month() > 6 }
    }

    /// Its last day.
    pub fn last_day(self) -> NaiveDate {
        let (month, day) = if self.second { (12, 31) } else { (6, 30) };
        NaiveDate::from_ymd_opt(self.year, month, day).unwrap_or(NaiveDate::MAX)
    }
}

impl fmt::Display for HalfYear {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the {} half of {}", if self.second { "second" } else { "first" }, self.year)
    }
}

/// A reference rate, in percent a year; it may be below zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ReferenceRate(i64);

/// A number that is not a reference rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a reference rate is from -10 to 100 percent, with at most four decimals")]
pub struct NotReferenceRate;

impl Refusal for NotReferenceRate {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "reference-rate"
    }
}

impl ReferenceRate {
    /// Rate from a number of percent, such as `2.15`.
    ///
    /// # Errors
    /// [`NotReferenceRate`] outside of -10 to 100, or with more than four decimals.
    pub fn new(percent: Decimal) -> Result<Self, NotReferenceRate> {
        let steps = percent.checked_mul(Decimal::from(10_000)).filter(|steps| steps.fract().is_zero());
        let steps = steps.and_then(|steps| steps.to_i64()).filter(|steps| (-100_000..=1_000_000).contains(steps));
        steps.map(Self).ok_or(NotReferenceRate)
    }

    /// The rate as a number of percent.
    pub fn percent(self) -> Decimal {
        Decimal::new(self.0, 4).normalize()
    }

    /// The rate in millionths of the whole, as [`crate::money::Percent`] counts.
    pub(super) fn steps(self) -> i128 {
        i128::from(self.0)
    }
}

/// The reference rates that a shop has entered.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReferenceRates(BTreeMap<HalfYear, ReferenceRate>);

impl ReferenceRates {
    /// Table of these rates; a later one for the same half-year replaces the earlier one.
    pub fn new(rates: impl IntoIterator<Item = (HalfYear, ReferenceRate)>) -> Self {
        Self(rates.into_iter().collect())
    }

    /// The rate of a half-year; `None` if it was not entered.
    pub fn of(&self, half: HalfYear) -> Option<ReferenceRate> {
        self.0.get(&half).copied()
    }
}

#[cfg(test)]
mod tests {
    use alloc::string::ToString;

    use super::*;

    #[test]
    fn a_reference_rate_counts_for_a_half_year() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let first = HalfYear::of(day("2024-06-30"));
        let second = HalfYear::of(day("2024-07-01"));
        assert!(first < second && first == HalfYear::of(day("2024-01-01")) && second < HalfYear::of(day("2025-01-01")));
        assert_eq!((first.last_day(), second.last_day()), (day("2024-06-30"), day("2024-12-31")));
        assert_eq!(second.to_string(), "the second half of 2024");
        let rate = |text: &str| ReferenceRate::new(text.parse().unwrap());
        assert_eq!(rate("4.50").map(|rate| rate.percent().to_string()), Ok("4.5".into()));
        assert!(rate("-0.88").is_ok());
        for wrong in ["-10.01", "100.01", "0.00001"] {
            assert_eq!(rate(wrong), Err(NotReferenceRate), "{wrong}");
        }
        let rates = ReferenceRates::new([(first, rate("4.5").unwrap())]);
        assert_eq!((rates.of(first), rates.of(second)), (rate("4.5").ok(), None));
    }
}

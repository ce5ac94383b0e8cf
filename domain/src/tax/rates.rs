//! Dated tax rates.

use alloc::vec::Vec;

use chrono::NaiveDate;

use super::{BadTreatment, Category, Rate, Treatment};
use crate::refusal::{Kind, Refusal};

/// One tax of a shop (such as its standard or its reduced one): a category, and the rate from each date on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RateTable {
    category: Category,
    /// Ascending by date, no date twice.
    from: Vec<(NaiveDate, Treatment)>,
}

/// Reason why there is no rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoRate {
    /// The tax point is before the first rate.
    #[error("no rate of category {category} is in force on {date}; add one that applies from that day or earlier")]
    NotYet {
        /// The category.
        category: Category,
        /// The tax point.
        date: NaiveDate,
    },
    /// Two rates from the same day.
    #[error("two rates of category {category} start on {date}; keep one of them")]
    Twice {
        /// The category.
        category: Category,
        /// The day.
        date: NaiveDate,
    },
    /// A rate that the category can't have.
    #[error(transparent)]
    Treatment(#[from] BadTreatment),
}

impl Refusal for NoRate {
    fn kind(&self) -> Kind {
        match self {
            Self::NotYet { .. } => Kind::Conflict,
            Self::Twice { .. } | Self::Treatment(_) => Kind::Invalid,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::NotYet { .. } => "no-tax-rate",
            Self::Twice { .. } => "tax-rate-twice",
            Self::Treatment(bad) => bad.code(),
        }
    }
}

impl RateTable {
    /// The table of a category, from rates in any order.
    ///
    /// # Errors
    /// [`NoRate::Treatment`] for a rate that the category can't have, [`NoRate::Twice`] for a date given twice.
    pub fn new(category: Category, rates: impl IntoIterator<Item = (NaiveDate, Rate)>) -> Result<Self, NoRate> {
        let mut from = Vec::new();
        for (date, rate) in rates {
            from.push((date, Treatment::new(category, rate)?));
        }
        from.sort_by_key(|&(date, _)| date);
        match from.windows(2).find(|pair| pair[0].0 == pair[1].0) {
            Some(pair) => Err(NoRate::Twice { category, date: pair[0].0 }),
            None => Ok(Self { category, from }),
        }
    }

    /// The category of all its rates.
    pub const fn category(&self) -> Category {
        self.category
    }

    /// Each rate with the day from which it applies, earliest first.
    pub fn rates(&self) -> impl Iterator<Item = (NaiveDate, Rate)> {
        self.from.iter().map(|&(date, treatment)| (date, treatment.rate()))
    }

    /// The treatment on a tax point: the last rate that applies from that day or earlier.
    ///
    /// # Errors
    /// [`NoRate::NotYet`] before the first one.
    pub fn on(&self, tax_point: NaiveDate) -> Result<Treatment, NoRate> {
        let after = self.from.partition_point(|&(date, _)| date <= tax_point);
        let found = after.checked_sub(1).and_then(|last| self.from.get(last));
        found.map(|&(_, t)| t).ok_or(NoRate::NotYet { category: self.category, date: tax_point })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn a_line_takes_the_rate_in_force_on_its_tax_point() {
        // Germany's standard rate of 2020: 16 % from July to December, 19 % before and after (UStG, 28 para. 1).
        let rates = [("2021-01-01", 19), ("2007-01-01", 19), ("2020-07-01", 16)];
        let rates = rates.map(|(from, rate)| (day(from), Rate::whole(rate)));
        let table = RateTable::new(Category::Standard, rates).unwrap();
        for (on, rate) in [("2020-06-30", 19), ("2020-07-01", 16), ("2020-12-31", 16), ("2021-01-01", 19)] {
            assert_eq!(table.on(day(on)).map(Treatment::rate), Ok(Rate::whole(rate)), "{on}");
        }
        assert!(matches!(table.on(day("2006-12-31")), Err(NoRate::NotYet { .. })));
    }

    #[test]
    fn a_table_has_one_fitting_rate_a_day() {
        let twice = [(day("2020-01-01"), Rate::whole(19)), (day("2020-01-01"), Rate::whole(16))];
        assert!(matches!(RateTable::new(Category::Standard, twice), Err(NoRate::Twice { .. })));
        let taxed = RateTable::new(Category::Exempt, [(day("2020-01-01"), Rate::whole(19))]);
        assert!(matches!(taxed, Err(NoRate::Treatment(_))));
    }
}

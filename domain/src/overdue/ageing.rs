//! Ageing: periods for which unpaid amounts have been overdue.

use alloc::vec::Vec;

use chrono::NaiveDate;

use crate::invoice::days_overdue;
use crate::money::Money;
use crate::word::words;

words! {
    /// Period for which an amount has been overdue. The steps of 30 days are common practice, no source.
    pub enum Age("age of an open amount") {
        /// Its due date has not passed.
        NotDue = "NOT_DUE" "not due yet",
        /// For 1 to 30 days.
        UpTo30 = "UP_TO_30" "1 to 30 days",
        /// For 31 to 60 days.
        UpTo60 = "UP_TO_60" "31 to 60 days",
        /// For 61 to 90 days.
        UpTo90 = "UP_TO_90" "61 to 90 days",
        /// For 91 days or more.
        Older = "OLDER" "more than 90 days",
    }
}

impl Age {
    /// The age today of an amount that was due on the given day.
    pub fn of(due: NaiveDate, today: NaiveDate) -> Self {
        match days_overdue(due, today) {
            0 => Self::NotDue,
            1..=30 => Self::UpTo30,
            31..=60 => Self::UpTo60,
            61..=90 => Self::UpTo90,
            _ => Self::Older,
        }
    }
}

/// Sums of unpaid amounts by age: a row for each age, in order. Each amount comes with its due date.
pub fn ageing(open: &[(NaiveDate, Money)], today: NaiveDate) -> Vec<(Age, Money)> {
    let of_age = |age: Age| open.iter().filter(move |(due, _)| Age::of(*due, today) == age).map(|&(_, amount)| amount);
    Age::ALL.iter().map(|&age| (age, of_age(age).sum::<Money>())).collect()
}

#[cfg(test)]
mod tests {
    use chrono::Days;

    use super::*;

    #[test]
    fn open_amounts_are_summed_by_days_overdue() {
        let due: NaiveDate = "2026-03-31".parse().unwrap();
        let ages = [0, 1, 30, 31, 60, 61, 90, 91].map(|days| Age::of(due, due + Days::new(days)));
        let expected = [Age::NotDue, Age::UpTo30, Age::UpTo30, Age::UpTo60, Age::UpTo60, Age::UpTo90, Age::UpTo90];
        assert_eq!((&ages[..7], ages[7]), (&expected[..], Age::Older));
        let open = [(due, 100), (due, 20), (due + Days::new(40), 3)];
        let open = open.map(|(due, amount)| (due, Money::from_minor(amount)));
        let rows: Vec<i64> = ageing(&open, due + Days::new(35)).into_iter().map(|(_, amount)| amount.minor()).collect();
        assert_eq!(rows, [3, 0, 120, 0, 0]);
    }
}

//! Interest and compensation for late payment between businesses.
//!
//! Source: Directive 2011/7/EU. Article 2(6): simple interest at the reference rate and at least eight percentage points.
//! Article 3(1): without a reminder. Article 3(3)(a): from the day after the due date. Article 6(1): a fixed sum of at least
//! 40 euro besides. Recital 8: transactions with consumers are outside of it.
//!
//! The directive does not say how days are counted; here a year has 365, and the day of payment is the last that counts,
//! as is common practice (no source).

use alloc::vec::Vec;

use chrono::NaiveDate;
use rust_decimal::Decimal;

use super::half_year::{HalfYear, ReferenceRates};
use crate::customer::CustomerKind;
use crate::money::fraction::money_of;
use crate::money::percent::WHOLE;
use crate::money::{Money, NotMoney, Percent, Rounding};
use crate::refusal::{Kind, Refusal};

/// Minimum margin above the reference rate: eight percentage points. A shop may enter the higher one of its state.
pub const LEAST_MARGIN: Percent = Percent::whole(8);

/// Minimum fixed compensation for an invoice in euro. For other currencies each state sets the amount.
pub const LEAST_COMPENSATION_EUR: Money = Money::from_minor(4_000);

/// Days of a year for which interest is computed.
const YEAR: i128 = 365;

/// An invoice that was not paid in time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LateClaim<'a> {
    /// Whether the customer is a business.
    pub customer: CustomerKind,
    /// Its due date.
    pub due_on: NaiveDate,
    /// Its total.
    pub billed: Money,
    /// Amounts that payments and credit notes have settled, each with its day, in any order.
    pub settled: &'a [(NaiveDate, Money)],
}

/// Interest for late payment, and how it is computed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Interest {
    /// Spans of days with one amount and one rate, in order.
    pub spans: Vec<InterestSpan>,
    /// Interest of all spans, rounded once.
    pub amount: Money,
}

/// Days for which interest is due at one rate on one amount.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InterestSpan {
    /// The first day.
    pub from: NaiveDate,
    /// The last day.
    pub to: NaiveDate,
    /// Number of days, both included.
    pub days: i64,
    /// Amount that was owed.
    pub owed: Money,
    /// Sum of reference rate and margin, in percent a year; never below zero.
    pub rate: Decimal,
}

/// Reason why no interest is computed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoInterest {
    /// The customer is a private one.
    #[error("interest and compensation for late payment by Directive 2011/7/EU are owed by businesses only")]
    PrivateCustomer,
    /// A rate is missing.
    #[error("enter the reference rate of {0}")]
    NoRate(HalfYear),
    /// An amount beyond what a document may hold.
    #[error(transparent)]
    Amount(#[from] NotMoney),
}

impl Refusal for NoInterest {
    fn kind(&self) -> Kind {
        match self {
            Self::PrivateCustomer | Self::NoRate(_) => Kind::Conflict,
            Self::Amount(bad) => bad.kind(),
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::PrivateCustomer => "interest-for-business",
            Self::NoRate(_) => "no-reference-rate",
            Self::Amount(bad) => bad.code(),
        }
    }
}

impl LateClaim<'_> {
    /// Amount owed at the end of a day.
    fn owed_on(&self, day: NaiveDate) -> Money {
        let settled = self.settled.iter().filter(|(on, _)| *on <= day).map(|&(_, amount)| amount);
        (self.billed - settled.sum::<Money>()).max(Money::ZERO)
    }

    /// Interest from the day after the due date up to and including `until`: for each day, on the amount owed at the
    /// end of the day before, at the reference rate of its half-year plus `margin`. It is `Σ owed × rate × days ÷ 365`,
    /// rounded once; it is not compounded.
    ///
    /// # Errors
    /// [`NoInterest::PrivateCustomer`] for a customer who is not a business, [`NoInterest::NoRate`] for a half-year
    /// whose reference rate was not entered.
    pub fn interest(&self, until: NaiveDate, margin: Percent, rates: &ReferenceRates) -> Result<Interest, NoInterest> {
        if self.customer != CustomerKind::Trade {
            return Err(NoInterest::PrivateCustomer);
        }
        let mut spans = Vec::new();
        let mut sum: i128 = 0;
        let mut before = self.due_on;
        while let Some(from) = before.succ_opt().filter(|from| *from <= until) {
            let half = HalfYear::of(from);
            let next = self.settled.iter().map(|&(on, _)| on).filter(|on| *on >= from).min();
            let to = until.min(half.last_day()).min(next.unwrap_or(until));
            let owed = self.owed_on(before);
            if owed > Money::ZERO {
                let reference = rates.of(half).ok_or(NoInterest::NoRate(half))?;
                let steps = (reference.steps() + margin.steps()).max(0);
                let days = (to - from).num_days() + 1;
                sum += i128::from(owed.minor()) * steps * i128::from(days);
                let rate = Decimal::from_i128_with_scale(steps, 4).normalize();
                spans.push(InterestSpan { from, to, days, owed, rate });
            }
            before = to;
        }
        let amount = money_of(sum, WHOLE * YEAR, Rounding::HalfAwayFromZero)?;
        Ok(Interest { spans, amount })
    }

    /// The fixed compensation for the costs of recovery: `fixed` once for the invoice, if a business still owed
    /// something at the end of the due date and `today` is after it.
    ///
    /// # Errors
    /// [`NoInterest::PrivateCustomer`] for a customer who is not a business.
    pub fn compensation(&self, today: NaiveDate, fixed: Money) -> Result<Money, NoInterest> {
        if self.customer != CustomerKind::Trade {
            return Err(NoInterest::PrivateCustomer);
        }
        let late = today > self.due_on && self.owed_on(self.due_on) > Money::ZERO;
        Ok(if late { fixed } else { Money::ZERO })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::overdue::ReferenceRate;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn minor(amount: i64) -> Money {
        Money::from_minor(amount)
    }

    /// The European Central Bank's rate for main refinancing operations: 4.50 % on 1 January and 4.25 % on 1 July 2024. With
    /// eight points more they make the 12.50 % that the Bank of Finland published for the first half of that year and the
    /// 12.25 % that Ireland (enterprise.gov.ie) published for the second.
    fn rates() -> ReferenceRates {
        let rate = |on, percent: &str| (HalfYear::of(day(on)), ReferenceRate::new(percent.parse().unwrap()).unwrap());
        ReferenceRates::new([rate("2024-01-01", "4.50"), rate("2024-07-01", "4.25")])
    }

    fn claim(settled: &[(NaiveDate, Money)]) -> LateClaim<'_> {
        LateClaim { customer: CustomerKind::Trade, due_on: day("2024-06-15"), billed: minor(1_000_000), settled }
    }

    #[test]
    fn interest_is_simple_and_takes_the_rate_of_each_half_year() {
        // By hand: 10,000.00 × 12.50 % × 15 ÷ 365 = 51.36986 and 10,000.00 × 12.25 % × 31 ÷ 365 = 104.04110.
        let interest = claim(&[]).interest(day("2024-07-31"), LEAST_MARGIN, &rates()).unwrap();
        let spans: Vec<_> = interest.spans.iter().map(|span| (span.from, span.to, span.days, span.rate)).collect();
        let expected = [
            (day("2024-06-16"), day("2024-06-30"), 15, Decimal::new(125, 1)),
            (day("2024-07-01"), day("2024-07-31"), 31, Decimal::new(1_225, 2)),
        ];
        assert_eq!(spans, expected);
        assert_eq!(interest.amount, minor(15_541));
    }

    #[test]
    fn interest_ends_with_the_day_of_payment() {
        // By hand: 51.36986 until the end of June, 10,000.00 × 12.25 % × 10 ÷ 365 = 33.56164 until the payment of 6,000.00
        // on 10 July, and 4,000.00 × 12.25 % × 21 ÷ 365 = 28.19178 until the rest on 31 July: 113.12329.
        let settled = [(day("2024-07-31"), minor(400_000)), (day("2024-07-10"), minor(600_000))];
        let interest = claim(&settled).interest(day("2024-09-30"), LEAST_MARGIN, &rates()).unwrap();
        let days: Vec<_> = interest.spans.iter().map(|span| (span.days, span.owed.minor())).collect();
        assert_eq!(days, [(15, 1_000_000), (10, 1_000_000), (21, 400_000)]);
        assert_eq!(interest.amount, minor(11_312));
    }

    #[test]
    fn nothing_is_owed_in_time_or_by_private_customers() {
        let in_time = [(day("2024-06-15"), minor(1_000_000))];
        let none = Interest { spans: Vec::new(), amount: Money::ZERO };
        assert_eq!(claim(&in_time).interest(day("2027-01-01"), LEAST_MARGIN, &rates()), Ok(none.clone()));
        assert_eq!(claim(&[]).interest(day("2024-06-15"), LEAST_MARGIN, &rates()), Ok(none));
        let private = LateClaim { customer: CustomerKind::Private, ..claim(&[]) };
        let refused = private.interest(day("2024-07-31"), LEAST_MARGIN, &rates());
        assert_eq!(refused, Err(NoInterest::PrivateCustomer));
        assert_eq!(private.compensation(day("2024-07-31"), LEAST_COMPENSATION_EUR), Err(NoInterest::PrivateCustomer));
        let missing = claim(&[]).interest(day("2025-01-01"), LEAST_MARGIN, &rates());
        assert_eq!(missing, Err(NoInterest::NoRate(HalfYear::of(day("2025-01-01")))));
    }

    #[test]
    fn compensation_is_owed_once_for_an_invoice_that_was_late() {
        let paid_late = [(day("2024-06-16"), minor(1_000_000))];
        let paid_in_time = [(day("2024-06-15"), minor(1_000_000))];
        let fixed = |settled: &[(NaiveDate, Money)], today: &str| {
            claim(settled).compensation(day(today), LEAST_COMPENSATION_EUR)
        };
        assert_eq!(fixed(&paid_late, "2024-06-16"), Ok(minor(4_000)));
        assert_eq!(fixed(&[], "2024-06-15"), Ok(Money::ZERO));
        assert_eq!(fixed(&paid_in_time, "2024-06-16"), Ok(Money::ZERO));
    }
}

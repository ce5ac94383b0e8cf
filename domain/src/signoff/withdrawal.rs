//! The 14 days in which a consumer can withdraw from a contract made at a distance, and when its work may begin.
//!
//! Directive 2011/83/EU: the period (article 9), the consumer's express request to begin within it (article 8(8)), the
//! payment due after a withdrawal (article 14(3)), and the end of the right once all is done (article 16(a)).
//!
//! **Without agreement to an early start, work waits until the customer agrees.** A consumer who signs at a distance is
//! asked. Those who sign in the studio are not asked, nor those who sign a variation, because their car is already in
//! its bay, nor those whose work is booked for after the 14 days. Without an agreement, no start is offered, booked or
//! moved into the 14 days, and no step begins in them. A later agreement is a row of its own (`early_start`), recorded
//! by the desk or given on the customer's page: the sign-off stays as it was sealed.

use chrono::{Days, NaiveDate};

use super::Method;
use crate::customer::CustomerKind;

/// First day after the withdrawal period of a contract made on a day: fourteen days, the day itself not counted
/// (Directive 2011/83/EU, article 9; Regulation (EEC, Euratom) 1182/71, article 3).
pub fn withdrawal_over(signed_on: NaiveDate) -> NaiveDate {
    signed_on.checked_add_days(Days::new(15)).unwrap_or(NaiveDate::MAX)
}

/// Whether a quote asks if the work may begin within the 14 days: only a consumer has the right to withdraw, and the shop says
/// whether it asks (Directive 2011/83/EU, articles 2(1) and 8(8)).
pub fn has_words(customer: CustomerKind, shop_asks: bool) -> bool {
    shop_asks && customer == CustomerKind::Private
}

/// Whether a customer who answers today is asked if the work may begin within the 14 days.
///
/// `has_words` is whether the document asks at all, as those of consumers do if the shop wants it; `booked_for` is the
/// day for which the work is already booked. Nobody is asked in the studio, where no distance contract is made, or if
/// the work begins after the period anyway.
pub fn asks_early_start(has_words: bool, method: Method, booked_for: Option<NaiveDate>, today: NaiveDate) -> bool {
    has_words && method.is_at_a_distance() && booked_for.is_none_or(|day| day < withdrawal_over(today))
}

/// The question about the 14 days and its answer when a quote was signed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WithdrawalTerms {
    /// Whether the signed document asks for the customer's wish.
    pub has_words: bool,
    /// Way of signing.
    pub method: Method,
    /// The answer at the signing; `None` if it was not asked.
    pub early_start: Option<bool>,
    /// Whether the customer agreed to an earlier start after the signing.
    pub agreed_later: bool,
    /// Date of the signing, in the shop's time zone.
    pub signed_on: NaiveDate,
}

impl WithdrawalTerms {
    /// First day on which the work may begin; `None` if it may begin on any day. Without an agreement the period must
    /// pass, even if nobody was asked because the work was booked for later: it may be moved.
    pub fn waits_until(&self) -> Option<NaiveDate> {
        let free =
            !self.has_words || !self.method.is_at_a_distance() || self.early_start == Some(true) || self.agreed_later;
        (!free).then(|| withdrawal_over(self.signed_on))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, 3, day).unwrap()
    }

    #[test]
    fn only_a_consumers_quote_asks_and_only_if_the_shop_does() {
        assert!(has_words(CustomerKind::Private, true));
        assert!(!has_words(CustomerKind::Private, false));
        assert!(!has_words(CustomerKind::Trade, true));
    }

    #[test]
    fn the_fourteen_days_are_asked_about_only_at_a_distance_and_where_the_work_could_begin_within_them() {
        let today = day(2);
        for method in [Method::Link, Method::Phone] {
            assert!(asks_early_start(true, method, None, today));
            assert!(!asks_early_start(false, method, None, today));
            assert!(asks_early_start(true, method, Some(day(16)), today));
            assert!(!asks_early_start(true, method, Some(day(17)), today));
        }
        assert!(!asks_early_start(true, Method::InPerson, None, today));
    }

    #[test]
    fn work_waits_for_the_end_of_the_period_unless_the_customer_agreed_to_an_earlier_start() {
        let signed = WithdrawalTerms {
            has_words: true,
            method: Method::Link,
            early_start: Some(false),
            agreed_later: false,
            signed_on: day(2),
        };
        assert_eq!(signed.waits_until(), Some(day(17)));
        assert_eq!(WithdrawalTerms { early_start: None, ..signed }.waits_until(), Some(day(17)));
        assert_eq!(WithdrawalTerms { early_start: Some(true), ..signed }.waits_until(), None);
        assert_eq!(WithdrawalTerms { agreed_later: true, ..signed }.waits_until(), None);
        assert_eq!(WithdrawalTerms { has_words: false, early_start: None, ..signed }.waits_until(), None);
        assert_eq!(WithdrawalTerms { method: Method::InPerson, early_start: None, ..signed }.waits_until(), None);
    }
}

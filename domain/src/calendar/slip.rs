//! Days whose year was probably mistyped: typing the next year by mistake moves a day on by twelve months.
//!
//! Such a day can still be right, so the person is asked to confirm it, and it is never refused.

use chrono::{Days, NaiveDate};

/// Number of days ahead up to which no question is asked. A coming day that is typed with the next year is always further
/// ahead.
pub const FAR_AHEAD_DAYS: u64 = 365;

/// Number of days back up to which no question is asked, because events are often recorded some days later (common practice,
/// no source). A day of the next eleven months that is typed with the last year is always further back.
pub const LONG_PAST_DAYS: u64 = 31;

/// Whether a day is further ahead than people usually plan.
pub fn is_far_ahead(today: NaiveDate, day: NaiveDate) -> bool {
    today.checked_add_days(Days::new(FAR_AHEAD_DAYS)).is_some_and(|last| day > last)
}

/// Whether a day is so long ago that people rarely record it only now.
pub fn is_long_past(today: NaiveDate, day: NaiveDate) -> bool {
    today.checked_sub_days(Days::new(LONG_PAST_DAYS)).is_some_and(|first| day < first)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).unwrap()
    }

    #[test]
    fn a_day_to_come_with_the_next_year_is_far_ahead() {
        let today = day(2026, 3, 2);
        assert!(!is_far_ahead(today, day(2027, 3, 2)));
        assert!(is_far_ahead(today, day(2027, 3, 3)));
        assert!(is_far_ahead(today, day(2099, 1, 1)));
        assert!(!is_far_ahead(NaiveDate::MAX, NaiveDate::MAX));
    }

    #[test]
    fn a_day_to_come_with_the_last_year_is_long_past() {
        let today = day(2026, 3, 2);
        assert!(!is_long_past(today, day(2026, 1, 30)));
        assert!(is_long_past(today, day(2026, 1, 29)));
        assert!(is_long_past(today, day(2025, 12, 24)));
        assert!(!is_long_past(NaiveDate::MIN, NaiveDate::MIN));
    }
}

//! The customer's own page for the stay of their car: the moment that it shows, how far the work is in plain words, and
//! what they may do there by themselves.

mod moment;
mod progress;

use crate::refusal::{Kind, Refusal};
use crate::time::{Minute, Minutes};

pub use moment::{Moment, Stage};
pub use progress::{Progress, progress};

/// Most hours of notice that a shop can ask for: 30 days.
pub const MOST_NOTICE_HOURS: u32 = 720;

/// Maximum number of questions that a customer can ask on the page of one stay within a day (common practice, no source).
pub const MOST_QUESTIONS_A_DAY: usize = 5;

/// Maximum number of questions about one stay.
pub const MOST_QUESTIONS: usize = 40;

/// Minutes between two times that are offered to a customer, so that a few offers cover several days (common practice, no
/// source).
pub const OFFERS_APART: Minutes = Minutes::new(240);

/// Whether customers may choose a free time by themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SelfBooking {
    /// Whether they may.
    pub allowed: bool,
    /// Hours from their choice to the earliest start.
    pub notice_hours: u32,
}

impl SelfBooking {
    /// Setting of a new shop: off, with a day of notice (common practice, no source).
    pub const USUAL: Self = Self { allowed: false, notice_hours: 24 };

    /// The earliest start that a customer may choose now.
    pub fn earliest(self, now: Minute) -> Minute {
        now + Minutes::new(self.notice_hours.saturating_mul(60))
    }
}

/// A question too many.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("you have sent us as many questions as this page takes; please call or write to us")]
pub struct TooManyQuestions;

impl Refusal for TooManyQuestions {
    fn kind(&self) -> Kind {
        Kind::Conflict
    }

    fn code(&self) -> &'static str {
        "too-many-questions"
    }
}

/// Whether one more question may be asked, after those of the last day and all of the stay.
///
/// # Errors
/// [`TooManyQuestions`] if either limit is reached.
pub fn may_ask(within_a_day: usize, in_all: usize) -> Result<(), TooManyQuestions> {
    if within_a_day >= MOST_QUESTIONS_A_DAY || in_all >= MOST_QUESTIONS { Err(TooManyQuestions) } else { Ok(()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_customer_chooses_a_time_no_sooner_than_the_shop_wants_notice() {
        let day = SelfBooking { allowed: true, ..SelfBooking::USUAL };
        assert_eq!(day.earliest(Minute::new(100)), Minute::new(1540));
        assert_eq!(SelfBooking { notice_hours: 0, ..day }.earliest(Minute::new(100)), Minute::new(100));
        assert_eq!(SelfBooking::USUAL, SelfBooking { allowed: false, notice_hours: 24 });
    }

    #[test]
    fn questions_are_limited_by_day_and_by_stay() {
        assert_eq!(may_ask(MOST_QUESTIONS_A_DAY - 1, MOST_QUESTIONS - 1), Ok(()));
        assert_eq!(may_ask(MOST_QUESTIONS_A_DAY, MOST_QUESTIONS_A_DAY), Err(TooManyQuestions));
        assert_eq!(may_ask(0, MOST_QUESTIONS), Err(TooManyQuestions));
    }
}

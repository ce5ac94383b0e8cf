//! Reminders: which ones are due, and the hours in which they are sent. All dates are the shop's local ones.

mod hours;

use chrono::{Days, Months, NaiveDate};

use crate::booking::BookingState;
use crate::calendar::ZoneRules;
use crate::customer::ConsentKind;
use crate::money::Money;
use crate::quote::RevisionState;
use crate::time::Minute;
use crate::word::words;

pub use hours::{SOONER, SendingHours};

words! {
    /// Occasion of a reminder.
    pub enum ReminderKind("kind of reminder") {
        /// The car is expected.
        BeforeBooking = "BEFORE_BOOKING" "before the booking",
        /// The quote is about to lapse.
        BeforeLapse = "BEFORE_LAPSE" "before the quote lapses",
        /// An invoice is overdue.
        Overdue = "OVERDUE" "overdue invoice",
        /// It is time to come back.
        ComeBack = "COME_BACK" "come back",
    }
}

impl ReminderKind {
    /// The consent that a mail needs: reminders about a job need consent to mails about it, an invitation to come back
    /// needs consent to offers. A letter about an unpaid invoice needs none.
    pub const fn needs(self) -> Option<ConsentKind> {
        match self {
            Self::BeforeBooking | Self::BeforeLapse => Some(ConsentKind::Mail),
            Self::Overdue => None,
            Self::ComeBack => Some(ConsentKind::Marketing),
        }
    }
}

words! {
    /// Way of reminding a customer.
    pub enum ReminderWay("way of reminding") {
        /// By mail.
        Mail = "MAIL" "by mail",
        /// By somebody at the desk: the customer can't be mailed or has not agreed to it, or the booking's time can't be
        /// kept.
        Desk = "DESK" "by the desk",
    }
}

impl ReminderWay {
    /// The way of reminding a customer: by mail if they have an address and gave the necessary consent. `keeps` says
    /// whether the studio can keep what the mail says, such as the time of a booking: if not, somebody calls instead.
    pub fn of(kind: ReminderKind, keeps: bool, has_address: bool, consents: impl FnOnce(ConsentKind) -> bool) -> Self {
        if keeps && has_address && kind.needs().is_none_or(consents) { Self::Mail } else { Self::Desk }
    }
}

/// Days for reminders; a shop's settings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Schedule {
    /// Days before a booking.
    pub before_booking: u8,
    /// Days before the last day on which a quote is valid.
    pub before_lapse: u8,
    /// Days after the due date of an invoice, for the first, second and third letter; rising.
    pub overdue: [u16; 3],
    /// Minimum number of days between two letters about one invoice.
    pub between_letters: u8,
}

impl Schedule {
    /// The defaults of a new shop (common practice, no source): the day before a booking, two days before a quote lapses,
    /// letters 7, 21 and 35 days after the due date, a week apart at least.
    pub const USUAL: Self = Self { before_booking: 1, before_lapse: 2, overdue: [7, 21, 35], between_letters: 7 };

    /// Whether a booking's reminder goes out now, once: on the open day for its target, `before_booking` days before
    /// the booking, or later up to the day before it. A program that was off in the meantime makes up for it, but never
    /// on the day itself.
    pub fn booking_due(
        &self,
        hours: &SendingHours<'_, impl ZoneRules>,
        now: Minute,
        starts_on: NaiveDate,
        state: BookingState,
        reminded: bool,
    ) -> bool {
        let latest = sooner(starts_on, 1);
        let target = sooner(starts_on, self.before_booking);
        state == BookingState::Booked && !reminded && target <= latest && hours.are_now_for(now, target, latest)
    }

    /// Whether a quote's reminder goes out now, once: on the open day for its target, `before_lapse` days before its
    /// last day, or later up to that day.
    pub fn lapse_due(
        &self,
        hours: &SendingHours<'_, impl ZoneRules>,
        now: Minute,
        last_day: NaiveDate,
        state: RevisionState,
        reminded: bool,
    ) -> bool {
        let target = sooner(last_day, self.before_lapse);
        state == RevisionState::Sent && !reminded && hours.are_now_for(now, target, last_day)
    }

    /// The letter that is due about an invoice, from 1 to 3: the one after the last that was sent, once its day has
    /// come and the previous letter is old enough. None is due if nothing is unpaid.
    pub fn overdue_due(&self, today: NaiveDate, due_on: NaiveDate, open: Money, last: Option<Letter>) -> Option<u8> {
        let next = last.map_or(0, |letter| letter.number);
        let after = self.overdue.get(usize::from(next))?;
        let day = later(due_on, Days::new(u64::from(*after)));
        let rested =
            last.is_none_or(|letter| later(letter.sent_on, Days::new(u64::from(self.between_letters))) <= today);
        (open > Money::ZERO && day <= today && rested).then_some(next + 1)
    }
}

/// The day that is `days` days sooner, or the calendar's first day if that is before it.
fn sooner(day: NaiveDate, days: u8) -> NaiveDate {
    day.checked_sub_days(Days::new(u64::from(days))).unwrap_or(NaiveDate::MIN)
}

/// The day that is `days` days later, or the calendar's last day if that is after it.
fn later(day: NaiveDate, days: Days) -> NaiveDate {
    day.checked_add_days(days).unwrap_or(NaiveDate::MAX)
}

/// A letter about an overdue invoice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Letter {
    /// Its number, from 1.
    pub number: u8,
    /// Time when it was sent.
    pub sent_on: NaiveDate,
}

/// Whether it is time to invite a customer back: that number of months after the hand-over, once, and only with their
/// consent. In a month without that day, it is the last day.
pub fn come_back_due(today: NaiveDate, handed_over: NaiveDate, months: u8, consents: bool, reminded: bool) -> bool {
    let day = handed_over.checked_add_months(Months::new(u32::from(months)));
    consents && !reminded && day.is_some_and(|day| day <= today)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calendar::{DayHours, DayOfWeek, OpeningHours, Weekly, Zone};

    const USUAL: Schedule = Schedule::USUAL;

    fn may(day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, 5, day).unwrap()
    }

    /// Noon of a day of May 2026 in UTC.
    fn noon(day: u32) -> Minute {
        Minute::new(may(day).and_hms_opt(12, 0, 0).unwrap().and_utc().timestamp() / 60)
    }

    /// Open every day from eight to six, in a zone that is UTC at that time.
    fn open_daily() -> (OpeningHours, Zone) {
        let hours = DayHours::new(8 * 60, 18 * 60).unwrap();
        let weekly = DayOfWeek::ALL.iter().fold(Weekly::new(), |week, day| week.with((*day).into(), hours));
        (OpeningHours { weekly, ..OpeningHours::default() }, Zone::named("Africa/Abidjan").unwrap())
    }

    #[test]
    fn a_booking_is_announced_the_day_before_once() {
        let (hours, zone) = open_daily();
        let hours = SendingHours::new(&hours, &zone);
        let due = |today| USUAL.booking_due(&hours, noon(today), may(12), BookingState::Booked, false);
        assert_eq!([10, 11, 12, 13].map(due), [false, true, false, false]);
        assert!(!USUAL.booking_due(&hours, noon(11), may(12), BookingState::Booked, true));
        for state in BookingState::ALL.iter().filter(|state| **state != BookingState::Booked) {
            assert!(!USUAL.booking_due(&hours, noon(11), may(12), *state, false), "{state}");
        }
        let never = Schedule { before_booking: 0, ..USUAL };
        assert!((8..14).all(|day| !never.booking_due(&hours, noon(day), may(12), BookingState::Booked, false)));
    }

    #[test]
    fn a_quote_about_to_lapse_is_remembered_once() {
        let (hours, zone) = open_daily();
        let hours = SendingHours::new(&hours, &zone);
        let due = |today| USUAL.lapse_due(&hours, noon(today), may(12), RevisionState::Sent, false);
        assert_eq!([9, 10, 12, 13].map(due), [false, true, true, false]);
        assert!(!USUAL.lapse_due(&hours, noon(11), may(12), RevisionState::Sent, true));
        assert!(!USUAL.lapse_due(&hours, noon(11), may(12), RevisionState::Signed, false));
    }

    #[test]
    fn overdue_letters_come_one_by_one_with_days_between() {
        let open = Money::from_minor(1);
        let due = |today, last| USUAL.overdue_due(may(today), may(1), open, last);
        assert_eq!(due(7, None), None);
        assert_eq!(due(8, None), Some(1));
        // The first letter was late: the second keeps its distance.
        let first = Some(Letter { number: 1, sent_on: may(20) });
        assert_eq!((due(22, first), due(27, first)), (None, Some(2)));
        let last = Some(Letter { number: 3, sent_on: may(1) });
        assert_eq!(due(31, last), None);
        assert_eq!(USUAL.overdue_due(may(31), may(1), Money::ZERO, None), None);
    }

    #[test]
    fn a_reminder_is_mailed_with_an_address_and_the_consent_it_needs() {
        let way = |kind, has_address, given: Option<ConsentKind>| {
            ReminderWay::of(kind, true, has_address, |asked| Some(asked) == given)
        };
        let mail = Some(ConsentKind::Mail);
        assert_eq!(way(ReminderKind::BeforeBooking, true, mail), ReminderWay::Mail);
        assert_eq!(way(ReminderKind::BeforeBooking, false, mail), ReminderWay::Desk);
        assert_eq!(way(ReminderKind::BeforeLapse, true, None), ReminderWay::Desk);
        assert_eq!(way(ReminderKind::Overdue, true, None), ReminderWay::Mail);
        assert_eq!(way(ReminderKind::ComeBack, true, mail), ReminderWay::Desk);
        assert_eq!(way(ReminderKind::ComeBack, true, Some(ConsentKind::Marketing)), ReminderWay::Mail);
        // Nobody gets a mail with a time that can't be kept.
        assert_eq!(ReminderWay::of(ReminderKind::BeforeBooking, false, true, |_| true), ReminderWay::Desk);
    }

    #[test]
    fn coming_back_is_asked_with_consent_only() {
        let handed_over = NaiveDate::from_ymd_opt(2026, 1, 31).unwrap();
        let day = |month, day| NaiveDate::from_ymd_opt(2026, month, day).unwrap();
        assert!(!come_back_due(day(2, 27), handed_over, 1, true, false));
        assert!(come_back_due(day(2, 28), handed_over, 1, true, false));
        assert!(!come_back_due(day(2, 28), handed_over, 1, false, false));
        assert!(!come_back_due(day(2, 28), handed_over, 1, true, true));
    }
}

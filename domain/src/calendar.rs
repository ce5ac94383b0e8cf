//! Converts local times to minutes in UTC: zone rules, opening hours, shifts.
//!
//! A shop works in local hours, the rules compute in UTC minutes, and only this module converts between them. On the night
//! of a clock change a local time may not exist, or exist twice. One rule covers both cases: **the offset that was in force
//! before the change counts**. A time that the clock skips moves forward by the skipped time (02:30 on the night when 02:00
//! becomes 03:00 is 03:30); of a time that comes twice, the first counts. RFC 5545 (section 3.3.5) reads local times in the
//! same way.

mod hours;
mod slip;
mod weekday;
mod zone;

use alloc::string::{String, ToString};

use chrono::{DateTime, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

use crate::time::{Interval, Minute};

pub use hours::{Absence, Dates, DayHours, NotHours, OpeningHours, Shifts, Weekly};
pub use slip::{is_far_ahead, is_long_past};
pub use weekday::DayOfWeek;
pub use zone::{UnknownZone, Zone};

/// The part of a time zone that the rules need.
pub trait ZoneRules {
    /// Seconds that local time is ahead of UTC at `at`; negative west of it.
    fn offset_at(&self, at: Minute) -> i32;

    /// The moments that the local time `local` may mean.
    fn wall_time(&self, local: NaiveDateTime) -> WallTime;

    /// The moment that the local time `local` means, by the rule of this module.
    fn to_utc(&self, local: NaiveDateTime) -> Minute {
        self.wall_time(local).minute()
    }

    /// Local time at `at`. A minute outside chrono's calendar (262 millennia either way) shows the calendar's end.
    fn to_local(&self, at: Minute) -> NaiveDateTime {
        let seconds = at.get().saturating_mul(60).saturating_add(i64::from(self.offset_at(at)));
        let end = if seconds < 0 { NaiveDateTime::MIN } else { NaiveDateTime::MAX };
        DateTime::from_timestamp(seconds, 0).map_or(end, |moment| moment.naive_utc())
    }

    /// A moment in local time, for people: `Tue 3 March 2026, 09:30`.
    fn wall(&self, at: Minute) -> String {
        let local = self.to_local(at);
        alloc::format!("{}, {}", day_in_words(local.date()), local.format("%H:%M"))
    }

    /// A moment as a letter says it: `Tuesday 3 March 2026 at 09:30`.
    fn wall_in_full(&self, at: Minute) -> String {
        let local = self.to_local(at);
        alloc::format!("{} at {}", day_in_full(local.date()), local.format("%H:%M"))
    }

    /// The moment at which something ends, as people read it: midnight is the end of the day before, as in `the end of
    /// Tue 3 March 2026`.
    fn end(&self, at: Minute) -> String {
        let local = self.to_local(at);
        match local.date().pred_opt() {
            Some(last) if local.time() == NaiveTime::MIN => alloc::format!("the end of {}", day_in_words(last)),
            _ => self.wall(at),
        }
    }

    /// A local day, from midnight to midnight: 23 or 25 hours on the day of a clock change, and `None` for a date
    /// that the zone left out.
    fn day(&self, date: NaiveDate) -> Option<Interval> {
        let next = date.succ_opt()?;
        Interval::new(self.to_utc(date.and_time(NaiveTime::MIN)), self.to_utc(next.and_time(NaiveTime::MIN)))
    }
}

/// A day as people read it: `Tue 3 March 2026`.
pub fn day_in_words(day: NaiveDate) -> String {
    day.format("%a %-d %B %Y").to_string()
}

/// A day as a letter says it: `Tuesday 3 March 2026`.
pub fn day_in_full(day: NaiveDate) -> String {
    day.format("%A %-d %B %Y").to_string()
}

/// A time of day as people read it, from minutes after midnight: `08:30`, or `24:00` for the end of the day.
pub fn time_of_day(minutes: u16) -> String {
    alloc::format!("{:02}:{:02}", minutes / 60, minutes % 60)
}

/// Moments in UTC that a local time may stand for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WallTime {
    /// One moment; the usual case.
    Once(Minute),
    /// None, because the clock was put forward over it.
    Skipped {
        /// Read with the offset from before the change: after the gap.
        pushed_on: Minute,
        /// Read with the offset from after the change: before the gap.
        pulled_back: Minute,
    },
    /// Two, because the clock was put back and showed it twice.
    Twice {
        /// The first time.
        first: Minute,
        /// The second time.
        second: Minute,
    },
}

impl WallTime {
    /// The valid moment: read with the offset from before a change.
    pub const fn minute(self) -> Minute {
        match self {
            Self::Once(minute) | Self::Skipped { pushed_on: minute, .. } | Self::Twice { first: minute, .. } => minute,
        }
    }
}

/// A local time, read with an offset in seconds ahead of UTC.
fn read_with(offset_seconds: i32, local: NaiveDateTime) -> Minute {
    let seconds = local.and_utc().timestamp() - i64::from(offset_seconds);
    Minute::new(seconds.div_euclid(60))
}

/// The local time that is a number of minutes by the clock after a midnight, up to two days.
fn wall_clock(date: NaiveDate, minutes_after_midnight: u16) -> Option<NaiveDateTime> {
    date.and_time(NaiveTime::MIN).checked_add_signed(TimeDelta::minutes(i64::from(minutes_after_midnight)))
}

//! Hours in which customers get mails: while the shop is open, so that somebody can answer, and never at night.
//!
//! Mails are sent between 07:00 and 21:00. A reminder with a deadline is sent on the last open day up to its own day,
//! at most three days sooner. A letter about an invoice waits for the next open hours, however long the shop is closed.

use chrono::{Days, NaiveDate, NaiveTime};

use crate::calendar::{OpeningHours, ZoneRules};
use crate::time::{Interval, IntervalSet, Minute};

/// The earliest and the latest local hour of a mail, whenever the shop is open (common practice, no source).
const AWAKE: (u32, u32) = (7, 21);

/// The local hours of a mail on a day without opening hours, if it can't wait for another (common practice, no source).
const USUAL: (u32, u32) = (9, 18);

/// Number of days sooner a reminder may go out, to reach the customer on an open day (a weekend and a holiday).
pub const SOONER: u64 = 3;

/// The hours in which a shop's reminders are sent.
#[derive(Debug, Clone, Copy)]
pub struct SendingHours<'a, Z> {
    hours: &'a OpeningHours,
    zone: &'a Z,
}

impl<'a, Z: ZoneRules> SendingHours<'a, Z> {
    /// The hours of a shop with these opening hours, in its zone.
    pub const fn new(hours: &'a OpeningHours, zone: &'a Z) -> Self {
        Self { hours, zone }
    }

    /// Hours of a day, in UTC: its opening hours between 07:00 and 21:00, or 09:00 to 18:00 if the shop opens at night
    /// only or has no opening hours in any week. A day on which the shop is closed has none.
    pub fn on(&self, day: NaiveDate) -> IntervalSet {
        let Some(whole) = self.zone.day(day) else { return IntervalSet::EMPTY };
        let closed = self.hours.closures.iter().any(|dates| dates.contains(day));
        let open = self.hours.open(self.zone, whole);
        let never_opens = self.hours.weekly.is_empty() && !closed;
        if open.is_empty() && !never_opens {
            return IntervalSet::EMPTY;
        }
        let awake = open.intersection(&self.between(day, AWAKE));
        if awake.is_empty() { self.between(day, USUAL) } else { awake }
    }

    /// Whether a mail without a deadline is sent now: otherwise it waits for the next open hours.
    pub fn are_now(&self, now: Minute) -> bool {
        self.on(self.zone.to_local(now).date()).contains(now)
    }

    /// Whether a reminder is sent now that is meant for the day `target` and useless after the day `latest`.
    ///
    /// It is sent on the last open day up to `target`, at most three days sooner; if the shop is closed on all of
    /// those, on the first open day after it. If no open day is left before the reminder becomes useless, it is sent
    /// from 09:00 to 18:00 on a closed one, since the customer should still get it.
    pub fn are_now_for(&self, now: Minute, target: NaiveDate, latest: NaiveDate) -> bool {
        let today = self.zone.to_local(now).date();
        if today > latest || today < self.first_day(target, latest) {
            return false;
        }
        let hours = self.on(today);
        if hours.is_empty() {
            let can_wait = today.iter_days().skip(1).take_while(|day| *day <= latest).any(|day| self.is_open(day));
            return !can_wait && self.between(today, USUAL).contains(now);
        }
        hours.contains(now)
    }

    /// The first day on which such a reminder may be sent.
    fn first_day(&self, target: NaiveDate, latest: NaiveDate) -> NaiveDate {
        let is_open = |day: &NaiveDate| self.is_open(*day);
        let mut sooner = (0..=SOONER).filter_map(|days| target.checked_sub_days(Days::new(days)));
        let mut later = target.iter_days().skip(1).take_while(|day| *day <= latest);
        sooner.find(is_open).or_else(|| later.find(is_open)).unwrap_or(target)
    }

    fn is_open(&self, day: NaiveDate) -> bool {
        !self.on(day).is_empty()
    }

    /// Period of a day between two full hours in local time.
    fn between(&self, day: NaiveDate, (from, until): (u32, u32)) -> IntervalSet {
        let at = |hour| NaiveTime::from_hms_opt(hour, 0, 0).map(|time| self.zone.to_utc(day.and_time(time)));
        at(from).zip(at(until)).and_then(|(from, until)| Interval::new(from, until)).into_iter().collect()
    }
}

#[cfg(test)]
mod tests;

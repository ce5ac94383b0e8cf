//! Weekly hours of a shop or of a person, and the days on which they don't apply.

use alloc::vec::Vec;

use chrono::{Datelike, Days, NaiveDate, Weekday};

use super::{ZoneRules, wall_clock};
use crate::refusal::{Kind, Refusal};
use crate::time::{Interval, IntervalSet};

/// Minutes on a day's clock.
const DAY: u16 = 24 * 60;

/// Hours that begin on one local day, such as 08:00 to 12:30, in minutes after that day's midnight as the clock on
/// the wall shows them. They may run past midnight, to the same time of the next day at most.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DayHours {
    opens: u16,
    closes: u16,
}

/// Fault of two times that are no hours, or of two dates that are no range.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotHours {
    /// The value is not a time of day.
    #[error(
        "hours begin between 00:00 and 23:59 and end by 24:00; an end at or before the beginning is on the next day"
    )]
    NotOnTheClock,
    /// Both times are the same, which may mean no time or a whole day.
    #[error("the hours begin and end at the same time; write 00:00 to 24:00 for the whole day")]
    Empty,
    /// The range of dates ends before it begins.
    #[error("the last day comes before the first day; for one day give the same day twice")]
    EmptyDates,
}

impl Refusal for NotHours {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        match self {
            Self::NotOnTheClock => "not-on-the-clock",
            Self::Empty => "empty-hours",
            Self::EmptyDates => "empty-dates",
        }
    }
}

impl DayHours {
    /// Hours from one time of day to another, both in minutes after midnight: `opens` from 0 to 1439, `closes` from 0
    /// to 1440. If `closes` comes before `opens` it is on the next day: (1320, 120) is 22:00 to 02:00.
    ///
    /// # Errors
    /// [`NotHours`] if one is no time of day, or both are the same.
    pub fn new(opens: u16, closes: u16) -> Result<Self, NotHours> {
        if opens >= DAY || closes > DAY {
            return Err(NotHours::NotOnTheClock);
        }
        match opens.cmp(&closes) {
            core::cmp::Ordering::Less => Ok(Self { opens, closes }),
            core::cmp::Ordering::Equal => Err(NotHours::Empty),
            core::cmp::Ordering::Greater => Ok(Self { opens, closes: closes + DAY }),
        }
    }

    /// Minutes after midnight at which they begin.
    pub const fn opens(self) -> u16 {
        self.opens
    }

    /// Minutes after midnight at which they end; more than 1440 if that is on the next day.
    pub const fn closes(self) -> u16 {
        self.closes
    }

    /// The time of day at which they end, in minutes after midnight, as [`DayHours::new`] takes it.
    pub const fn closes_on_the_clock(self) -> u16 {
        if self.closes > DAY { self.closes - DAY } else { self.closes }
    }

    /// Whether start and end were probably swapped: hours through most of the night, such as 18:00 to 08:00, which are
    /// usual hours of a day when swapped back.
    pub const fn may_be_reversed(self) -> bool {
        self.closes > DAY && self.closes - self.opens > DAY / 2
    }

    /// The hours that begin on `date`, in UTC. Each end is read by the rule of [`super`]; if the second does not come
    /// after the first (a clock put forward over both) there are none.
    pub fn on(self, date: NaiveDate, zone: &impl ZoneRules) -> Option<Interval> {
        let at = |minutes| wall_clock(date, minutes).map(|local| zone.to_utc(local));
        Interval::new(at(self.opens)?, at(self.closes)?)
    }
}

/// Local dates `[from, until)`: the first day and the day after the last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Dates {
    from: NaiveDate,
    until: NaiveDate,
}

impl Dates {
    /// The dates from `from` up to, not including, `until`.
    ///
    /// # Errors
    /// [`NotHours::EmptyDates`] if that is no day.
    pub fn new(from: NaiveDate, until: NaiveDate) -> Result<Self, NotHours> {
        if from < until { Ok(Self { from, until }) } else { Err(NotHours::EmptyDates) }
    }

    /// The days from the first to the last, both of them included.
    ///
    /// # Errors
    /// [`NotHours::EmptyDates`] if the last comes before the first, or is the last day of the calendar.
    pub fn through(first: NaiveDate, last: NaiveDate) -> Result<Self, NotHours> {
        let until = last.succ_opt().ok_or(NotHours::EmptyDates)?;
        Self::new(first, until)
    }

    /// The last day.
    pub fn last(self) -> NaiveDate {
        self.until.pred_opt().unwrap_or(self.from)
    }

    /// The first day.
    pub const fn from(self) -> NaiveDate {
        self.from
    }

    /// The day after the last.
    pub const fn until(self) -> NaiveDate {
        self.until
    }

    /// Whether they have a day in common with others.
    pub fn overlaps(self, other: Self) -> bool {
        self.from < other.until && other.from < self.until
    }

    /// Whether `date` is one of them.
    pub fn contains(self, date: NaiveDate) -> bool {
        self.from <= date && date < self.until
    }
}

/// Hours for each day of the week, in local time.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Weekly([Vec<DayHours>; 7]);

impl Weekly {
    /// A week without any hours.
    pub fn new() -> Self {
        Self::default()
    }

    /// The same week with one more period of hours on `day`. Periods may touch or overlap.
    #[must_use]
    pub fn with(mut self, day: Weekday, hours: DayHours) -> Self {
        if let Some(list) = self.0.get_mut(day.num_days_from_monday() as usize) {
            list.push(hours);
        }
        self
    }

    /// The hours that begin on `day`, in the order given.
    pub fn on(&self, day: Weekday) -> &[DayHours] {
        self.0.get(day.num_days_from_monday() as usize).map_or(&[], Vec::as_slice)
    }

    /// Whether no day has any hours.
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(Vec::is_empty)
    }

    /// All hours within `within`, except those that begin on a date for which `closed` is true.
    fn intervals(&self, zone: &impl ZoneRules, within: Interval, closed: impl Fn(NaiveDate) -> bool) -> IntervalSet {
        // Hours that began the day before may extend into `within`, and a date that a zone left out is off by a day.
        let margin = Days::new(2);
        let date_of = |minute| zone.to_local(minute).date();
        let first = date_of(within.from());
        let last = date_of(within.to());
        let first = first.checked_sub_days(margin).unwrap_or(first);
        let last = last.checked_add_days(margin).unwrap_or(last);
        first
            .iter_days()
            .take_while(|date| *date <= last)
            .filter(|date| !closed(*date))
            .flat_map(|date| self.on(date.weekday()).iter().filter_map(move |hours| hours.on(date, zone)))
            .collect::<IntervalSet>()
            .clip(within)
    }
}

/// Time when a shop, or one of its bays, is open.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OpeningHours {
    /// The usual week.
    pub weekly: Weekly,
    /// Dates on which no hours begin: holidays, works on the building. Hours of the evening before still run to
    /// their end after midnight.
    pub closures: Vec<Dates>,
}

impl OpeningHours {
    /// The open time within `within`, in UTC.
    pub fn open(&self, zone: &impl ZoneRules, within: Interval) -> IntervalSet {
        self.weekly.intervals(zone, within, |date| self.closures.iter().any(|dates| dates.contains(date)))
    }
}

/// Time in which a person does not work though the shift says so.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Absence {
    /// Whole local days, by the day on which the shift begins: leave, sickness.
    Days(Dates),
    /// Part of a day: a doctor's visit.
    Hours(Interval),
}

/// Time when a person works.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Shifts {
    /// The usual week.
    pub weekly: Weekly,
    /// Time when the person is away.
    pub absences: Vec<Absence>,
}

impl Shifts {
    /// The working time within `within`, in UTC: shift less absence.
    pub fn working(&self, zone: &impl ZoneRules, within: Interval) -> IntervalSet {
        let away = |date| self.absences.iter().any(|a| matches!(a, Absence::Days(dates) if dates.contains(date)));
        let hours = self.absences.iter().filter_map(|a| match a {
            Absence::Hours(interval) => Some(*interval),
            Absence::Days(_) => None,
        });
        self.weekly.intervals(zone, within, away).difference(&hours.collect())
    }
}

#[cfg(test)]
mod tests;

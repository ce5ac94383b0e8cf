//! The period that a search covers, divided into slots.

use chrono::{NaiveDate, NaiveTime};

use super::Unplannable;
use crate::calendar::ZoneRules;
use crate::time::{Interval, Minute, Minutes};

/// The first minute of the year −9999 and the first after the year 9999, in minutes since 1970.
const CALENDAR: (i64, i64) = (-6_295_085_280, 4_223_371_680);

/// A period and the slots at which a placement may start. Slots count from the horizon's first minute.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Horizon {
    span: Interval,
    slot: Minutes,
}

impl Horizon {
    /// From `from` up to `until`, with a slot every `slot` minutes (15 is common practice, no source).
    ///
    /// # Errors
    /// [`Unplannable`] if the horizon or the slot is empty, or beyond the calendar.
    pub fn new(from: Minute, until: Minute, slot: Minutes) -> Result<Self, Unplannable> {
        if from.get() < CALENDAR.0 || until.get() > CALENDAR.1 {
            return Err(Unplannable::BeyondCalendar);
        }
        if slot == Minutes::ZERO {
            return Err(Unplannable::NoSlot);
        }
        let span = Interval::new(from, until).ok_or(Unplannable::NoHorizon)?;
        Ok(Self { span, slot })
    }

    /// The whole stretch.
    pub const fn span(self) -> Interval {
        self.span
    }

    /// Minutes from one slot to the next.
    pub const fn slot(self) -> Minutes {
        self.slot
    }

    /// Whether `at` is a slot, at which a placement may start.
    pub fn is_slot(self, at: Minute) -> bool {
        self.span.contains(at) && (at.get() - self.span.from().get()) % self.step() == 0
    }

    /// The first slot at or after `at`, which may lie beyond the end.
    pub(crate) fn slot_from(self, at: Minute) -> Minute {
        let at = at.clamp(self.span.from(), self.span.to());
        let passed = at.get() - self.span.from().get();
        let slots = (passed + self.step() - 1) / self.step();
        Minute::new(self.span.from().get() + slots * self.step())
    }

    /// The last slot before `at`, if there is one.
    pub(crate) fn slot_before(self, at: Minute) -> Option<Minute> {
        let passed = at.min(self.span.to()).get().checked_sub(self.span.from().get())?;
        let slots = passed.checked_sub(1)?.div_euclid(self.step());
        (slots >= 0).then(|| Minute::new(self.span.from().get() + slots * self.step()))
    }

    /// The last slot for which `in_time` is true, by bisection from the slot `good`, for which it is, to the slot `bad`,
    /// for which it is not. If a slot is too late, every later one must be too. The slots `good` and `bad` are not tried.
    pub(crate) fn last_in_time(self, good: Minute, bad: Minute, mut in_time: impl FnMut(Minute) -> bool) -> Minute {
        let nth = |n: i64| Minute::new(good.get() + n * self.step());
        let (mut early, mut late) = (0, (bad.get() - good.get()) / self.step());
        while late - early > 1 {
            let middle = early + (late - early) / 2;
            if in_time(nth(middle)) {
                early = middle;
            } else {
                late = middle;
            }
        }
        nth(early)
    }

    fn step(self) -> i64 {
        i64::from(self.slot.get())
    }
}

/// The slot that contains a given time, if slots have `slot` minutes. They count from one fixed local midnight, so that
/// a time that was offered yesterday is still a slot today; if slots divide the hour they also start on the full hour.
pub fn slot_of(zone: &impl ZoneRules, slot: Minutes, at: Minute) -> Minute {
    let origin = NaiveDate::from_ymd_opt(2024, 1, 1).unwrap_or_default().and_time(NaiveTime::MIN);
    let origin = zone.to_utc(origin).get();
    let slot = i64::from(slot.get().max(1));
    Minute::new(origin + (at.get() - origin).div_euclid(slot) * slot)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calendar::Zone;

    #[test]
    fn a_moment_lies_in_the_slot_that_began_last_by_the_clock_on_the_wall() {
        let zone = Zone::named("Asia/Kathmandu").unwrap();
        let slot = |at: i64| slot_of(&zone, Minutes::new(60), Minute::new(at)).get();
        // The zone is 05:45 ahead of UTC: its full hours are quarter hours in UTC.
        assert_eq!((slot(15), slot(74), slot(75), slot(-1)), (15, 15, 75, -45));
    }

    fn horizon(from: i64, until: i64, slot: u32) -> Result<Horizon, Unplannable> {
        Horizon::new(Minute::new(from), Minute::new(until), Minutes::new(slot))
    }

    #[test]
    fn slots_count_from_the_beginning() {
        let h = horizon(-8, 100, 20).unwrap();
        assert_eq!(h.slot_from(Minute::new(-8)), Minute::new(-8));
        assert_eq!(h.slot_from(Minute::new(-7)), Minute::new(12));
        assert_eq!(h.slot_from(Minute::new(i64::MIN)), Minute::new(-8));
        assert_eq!(h.slot_before(Minute::new(12)), Some(Minute::new(-8)));
        assert_eq!(h.slot_before(Minute::new(-8)), None);
        assert_eq!(h.slot_before(Minute::new(i64::MIN)), None);
        assert!(h.is_slot(Minute::new(92)) && !h.is_slot(Minute::new(0)) && !h.is_slot(Minute::new(112)));
    }

    #[test]
    fn a_horizon_without_time_or_slots_is_refused() {
        assert_eq!(horizon(5, 5, 15), Err(Unplannable::NoHorizon));
        assert_eq!(horizon(0, 5, 0), Err(Unplannable::NoSlot));
        assert_eq!(horizon(i64::MIN, 0, 15), Err(Unplannable::BeyondCalendar));
    }

    #[test]
    fn the_calendar_reaches_as_far_as_the_zones_do() {
        let at = |y, m, d| NaiveDate::from_ymd_opt(y, m, d).unwrap().and_time(NaiveTime::MIN);
        let minutes = |moment: chrono::NaiveDateTime| moment.and_utc().timestamp() / 60;
        assert_eq!(CALENDAR, (minutes(at(-9999, 1, 1)), minutes(at(10000, 1, 1))));
    }
}

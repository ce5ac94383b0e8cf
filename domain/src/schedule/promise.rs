//! The promised time for a customer: a round time at which the shop is open.

use crate::calendar::ZoneRules;
use crate::refusal::{Kind, Refusal};
use crate::time::{IntervalSet, Minute, Minutes};
use chrono::Timelike;

/// Minutes to which promised times are rounded up, counted from midnight: a part of the hour, or whole hours up to
/// four.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClockStep(u8);

/// A number of minutes that is not a [`ClockStep`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error(
    "promised times are rounded to a part of the hour, such as 15 or 30 minutes, or to whole hours, up to 240 minutes"
)]
pub struct NotClockStep;

impl Refusal for NotClockStep {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "not-a-clock-step"
    }
}

impl ClockStep {
    /// The default of a new shop (common practice, no source): quarters of an hour.
    pub const USUAL: Self = Self(15);

    /// A step of that number of minutes.
    ///
    /// # Errors
    /// [`NotClockStep`] if they neither divide the hour nor are whole hours up to four.
    pub const fn new(minutes: u8) -> Result<Self, NotClockStep> {
        match minutes {
            1..=60 if 60 % minutes == 0 => Ok(Self(minutes)),
            61..=240 if minutes.is_multiple_of(60) => Ok(Self(minutes)),
            _ => Err(NotClockStep),
        }
    }

    /// Number of its minutes.
    pub const fn minutes(self) -> u8 {
        self.0
    }

    /// Promise for a car that is ready at `at`: the next full step of the shop's local time while it is `open`, or
    /// closing time if that comes first. A car that is ready while the shop is closed is promised for after the next
    /// opening. `None` if the known open time ends before.
    pub fn promise(self, zone: &impl ZoneRules, open: &IntervalSet, at: Minute) -> Option<Minute> {
        let hours = open.iter().find(|hours| hours.to() >= at)?;
        Some(self.up(zone, at.max(hours.from())).min(hours.to()))
    }

    /// The first full step of the clock that is not before `at`.
    fn up(self, zone: &impl ZoneRules, at: Minute) -> Minute {
        let clock = zone.to_local(at).time();
        let past = (clock.hour() * 60 + clock.minute()) % u32::from(self.0);
        if past == 0 { at } else { at + Minutes::new(u32::from(self.0) - past) }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::calendar::Zone;
    use crate::time::Interval;

    /// Two days from 08:00 to 17:40 in a zone of whole hours.
    fn open() -> IntervalSet {
        [(480, 1060), (1920, 2500)]
            .into_iter()
            .filter_map(|(from, to)| Interval::new(Minute::new(from), Minute::new(to)))
            .collect()
    }

    fn promised(step: u8, at: i64) -> Option<i64> {
        let zone = Zone::named("UTC").unwrap();
        ClockStep::new(step).unwrap().promise(&zone, &open(), Minute::new(at)).map(Minute::get)
    }

    #[test]
    fn a_promise_is_a_full_step_of_the_clock_while_the_shop_is_open() {
        // 15:59 becomes 16:00, and 08:02 of the next morning 08:15 or 08:30.
        assert_eq!(promised(15, 959), Some(960));
        assert_eq!((promised(15, 1922), promised(30, 1922)), (Some(1935), Some(1950)));
        assert_eq!((promised(15, 960), promised(1, 959)), (Some(960), Some(959)));
        // Closing time counts like a full step, and comes first.
        assert_eq!((promised(30, 1055), promised(30, 1060)), (Some(1060), Some(1060)));
        // A car that has cured at night is collected in the morning.
        assert_eq!((promised(15, 1300), promised(15, 100)), (Some(1920), Some(480)));
        assert_eq!(promised(15, 2501), None);
    }

    #[test]
    fn steps_count_from_midnight_on_the_wall() {
        // India is five and a half hours ahead of UTC.
        let zone = Zone::named("Asia/Kolkata").unwrap();
        let all = Interval::new(Minute::new(0), Minute::new(9999)).into_iter().collect();
        let at = ClockStep::new(60).unwrap().promise(&zone, &all, Minute::new(1)).unwrap();
        assert_eq!(zone.to_local(at).time().minute(), 0);
        assert_eq!(at.get(), 30);
    }

    #[test]
    fn a_step_divides_the_hour_or_is_whole_hours() {
        let good: alloc::vec::Vec<u8> = (0..=255).filter(|minutes| ClockStep::new(*minutes).is_ok()).collect();
        assert_eq!(good, [1, 2, 3, 4, 5, 6, 10, 12, 15, 20, 30, 60, 120, 180, 240]);
    }

    proptest! {
        #[test]
        fn a_promise_is_never_sooner_than_the_work_and_less_than_a_step_later_while_open(
            step in prop_oneof![Just(5_u8), Just(15), Just(30), Just(60)], at in 0..2500i64,
        ) {
            let told = promised(step, at).unwrap();
            prop_assert!(told >= at);
            let is_open = open().iter().any(|hours| hours.from().get() <= at && at <= hours.to().get());
            prop_assert!(!is_open || told - at < i64::from(step), "{at} {told}");
            prop_assert!(open().iter().any(|hours| hours.from().get() <= told && told <= hours.to().get()));
            // Rounding a promise again changes nothing.
            prop_assert_eq!(promised(step, told), Some(told));
        }
    }
}

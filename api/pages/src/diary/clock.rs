//! Moments as people in the studio say them, on the clock on its wall.

use baywright_core::platform::fail::Done;
use baywright_core::platform::tx::Tx;
use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::time::{Interval, Minute};
use baywright_http::platform::wire::{Day, WallTime};

/// The studio's time zone, and the present moment in it.
#[derive(Debug, Clone)]
pub(super) struct Clock {
    zone: Zone,
    now: Minute,
}

impl Clock {
    /// The clock of the studio that asks.
    pub(super) fn of(tx: &Tx<'_>) -> Done<Self> {
        Ok(Self { zone: Zone::named(&tx.studio.zone)?, now: tx.now.minute() })
    }

    /// The present moment.
    pub(super) fn now(&self) -> Minute {
        self.now
    }

    /// A time of day: `08:30`.
    pub(super) fn time(&self, at: Minute) -> String {
        self.zone.to_local(at).format("%H:%M").to_string()
    }

    /// A day without its year: `Tue 3 March`.
    pub(super) fn day(&self, at: Minute) -> String {
        self.zone.to_local(at).format("%a %-d %B").to_string()
    }

    /// A moment without its year: `Tue 3 March, 08:30`.
    pub(super) fn moment(&self, at: Minute) -> String {
        format!("{}, {}", self.day(at), self.time(at))
    }

    /// A moment in full: `Tuesday 3 March 2026 at 08:30`.
    pub(super) fn in_full(&self, at: Minute) -> String {
        self.zone.wall_in_full(at)
    }

    /// A stretch of time: `Tue 3 March, 08:30 to 12:00`, or with both days if it ends on another one.
    pub(super) fn stretch(&self, of: Interval) -> String {
        format!("{} to {}", self.moment(of.from()), self.end(of))
    }

    /// Hours within a day: `08:30 to 17:30`.
    pub(super) fn hours(&self, of: Interval) -> String {
        format!("{} to {}", self.time(of.from()), self.end(of))
    }

    /// The end of a stretch of time: `17:30`, `24:00` for the end of the day on which it begins, or with its day if that is
    /// another one.
    fn end(&self, of: Interval) -> String {
        let (from, to) = (self.zone.to_local(of.from()).date(), self.zone.to_local(of.to()).date());
        let is_midnight = self.time(of.to()) == "00:00";
        match () {
            () if from == to => self.time(of.to()),
            () if is_midnight && from.succ_opt() == Some(to) => "24:00".to_owned(),
            () => self.moment(of.to()),
        }
    }

    /// The moment at which the clock shows that time of day, in minutes after midnight, on that day.
    pub(super) fn at(&self, day: Day, minutes: u16) -> Minute {
        self.zone.to_utc(day.0.and_time(WallTime(minutes).naive()))
    }

    /// The day from midnight to midnight; `None` if the zone left it out.
    pub(super) fn whole_day(&self, day: Day) -> Option<Interval> {
        self.zone.day(day.0)
    }

    /// The day of a moment.
    pub(super) fn date(&self, at: Minute) -> Day {
        Day(self.zone.to_local(at).date())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stretch_names_its_day_once_unless_it_ends_on_another() {
        let clock = Clock { zone: Zone::named("Europe/Dublin").unwrap(), now: Minute::new(0) };
        // 1970 began an hour ahead of UTC in Dublin.
        let says = |from, to| clock.stretch(Interval::new(Minute::new(from), Minute::new(to)).unwrap());
        assert_eq!(says(7 * 60, 9 * 60), "Thu 1 January, 08:00 to 10:00");
        assert_eq!(says(7 * 60, 23 * 60), "Thu 1 January, 08:00 to 24:00");
        assert_eq!(says(7 * 60, 31 * 60), "Thu 1 January, 08:00 to Fri 2 January, 08:00");
        assert_eq!(clock.hours(Interval::new(Minute::new(60), Minute::new(120)).unwrap()), "02:00 to 03:00");
        assert_eq!(clock.at(clock.date(Minute::new(60)), 8 * 60), Minute::new(7 * 60));
    }
}

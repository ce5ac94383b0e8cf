//! The clock on the studio's wall: moments as people there say them.

use baywright_core::platform::fail::Done;
use baywright_core::platform::tx::Tx;
use baywright_domain::calendar::{Zone, ZoneRules, day_in_full, day_in_words};
use baywright_domain::time::{Interval, Minute};

/// The studio's time zone, and the present moment in it.
#[derive(Debug, Clone)]
pub struct Wall {
    zone: Zone,
    now: Minute,
}

impl Wall {
    /// The clock of the studio that asks.
    ///
    /// # Errors
    /// If its time zone is unknown, which is a defect.
    pub fn of(tx: &Tx<'_>) -> Done<Self> {
        Ok(Self { zone: Zone::named(&tx.studio.zone)?, now: tx.now.minute() })
    }

    /// The present moment.
    pub fn now(&self) -> Minute {
        self.now
    }

    /// A time of day: `08:30`.
    pub fn time(&self, at: Minute) -> String {
        self.zone.to_local(at).format("%H:%M").to_string()
    }

    /// The time at which something ends: `17:30`, or `24:00` for the end of its day.
    pub fn end(&self, of: Interval) -> String {
        let (from, to) = (self.zone.to_local(of.from()), self.zone.to_local(of.to()));
        let is_midnight = to.format("%H:%M").to_string() == "00:00";
        if is_midnight && from.date() < to.date() { "24:00".to_owned() } else { self.time(of.to()) }
    }

    /// A stretch within a day: `08:30 to 10:15`.
    pub fn stretch(&self, of: Interval) -> String {
        format!("{} to {}", self.time(of.from()), self.end(of))
    }

    /// A moment with its day, which is left out if it is the current one: `08:30`, `Tue 3 March 2026, 08:30`.
    pub fn when(&self, at: Minute) -> String {
        if self.is_today(at) { self.time(at) } else { self.zone.wall(at) }
    }

    /// The day of a moment: `Tue 3 March 2026`.
    pub fn day(&self, at: Minute) -> String {
        day_in_words(self.zone.to_local(at).date())
    }

    /// The day of a moment in full: `Tuesday 3 March 2026`.
    pub fn day_in_full(&self, at: Minute) -> String {
        day_in_full(self.zone.to_local(at).date())
    }

    /// The day of a moment as addresses and `datetime` attributes write it: `2026-03-03`.
    pub fn iso_day(&self, at: Minute) -> String {
        self.zone.to_local(at).format("%Y-%m-%d").to_string()
    }

    /// Whether a moment is on the current day.
    pub fn is_today(&self, at: Minute) -> bool {
        self.zone.to_local(at).date() == self.zone.to_local(self.now).date()
    }

    /// Every full hour within a stretch, with its number on the clock: `08`.
    pub fn hours(&self, within: Interval) -> Vec<(Minute, String)> {
        // Zones differ from UTC by quarters of an hour, and clocks change by them.
        let first = within.from().get().div_euclid(15);
        let quarters = (first..=within.to().get().div_euclid(15)).map(|quarter| Minute::new(quarter * 15));
        let full = quarters.filter(|at| within.contains(*at) && self.time(*at).ends_with(":00"));
        full.map(|at| (at, self.time(at)[..2].to_owned())).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wall(zone: &str) -> Wall {
        Wall { zone: Zone::named(zone).unwrap(), now: Minute::new(0) }
    }

    #[test]
    fn a_day_ends_at_24_and_its_hours_are_those_of_the_wall() {
        let day = |from, to| Interval::new(Minute::new(from), Minute::new(to)).unwrap();
        let utc = wall("Etc/UTC");
        assert_eq!(utc.stretch(day(8 * 60 + 30, 24 * 60)), "08:30 to 24:00");
        assert_eq!(utc.stretch(day(0, 60)), "00:00 to 01:00");
        assert_eq!(
            (utc.when(Minute::new(59)), utc.when(Minute::new(1440))),
            ("00:59".into(), "Fri 2 January 1970, 00:00".into())
        );
        let hours: Vec<String> = wall("Asia/Kathmandu").hours(day(0, 180)).into_iter().map(|(_, hour)| hour).collect();
        assert_eq!(hours, ["06", "07", "08"], "half past five at midnight in London");
    }
}

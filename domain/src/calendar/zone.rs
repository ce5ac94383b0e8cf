//! Zone rules of the IANA time zone database.
//!
//! The rules come from `jiff` and not from `chrono-tz`: chrono-tz 0.10.4 carries release 2025b of the database, in
//! which the hours of America/Vancouver in November 2026 are wrong. jiff carries 2026f and builds without `std`. The
//! rest of the domain only sees the trait [`ZoneRules`]; dates and times of day stay `chrono`'s.

use alloc::string::String;

use chrono::{Datelike, NaiveDateTime, Timelike};
use jiff::Timestamp;
use jiff::civil::{DateTime, Time};
use jiff::tz::{AmbiguousOffset, TimeZone, TimeZoneDatabase};

use super::{WallTime, ZoneRules, read_with};
use crate::refusal::{Kind, Refusal};
use crate::time::Minute;

/// A time zone of the IANA database. The database is part of the program (it never reads the machine's own), so the
/// same release gives the same hours everywhere; new rules of a government come with a new release.
///
/// The rules reach from the year −9999 to 9999; a time beyond them is read as UTC.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Zone {
    name: String,
    rules: TimeZone,
}

/// The database has no zone of this name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("there is no time zone {name:?}; write the name of the IANA database, such as Europe/Berlin")]
pub struct UnknownZone {
    /// The name as given.
    pub name: String,
}

impl Refusal for UnknownZone {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "unknown-time-zone"
    }
}

impl Zone {
    /// The zone of this name, such as `Europe/Berlin`; upper and lower case are alike.
    ///
    /// # Errors
    /// [`UnknownZone`] if the database has no such zone.
    pub fn named(name: &str) -> Result<Self, UnknownZone> {
        let unknown = || UnknownZone { name: name.into() };
        let rules = TimeZoneDatabase::bundled().get(name).map_err(|_| unknown())?;
        let name = rules.iana_name().ok_or_else(unknown)?.into();
        Ok(Self { name, rules })
    }

    /// The zone's name, spelt as in the database.
    pub fn name(&self) -> &str {
        &self.name
    }
}

impl ZoneRules for Zone {
    fn offset_at(&self, at: Minute) -> i32 {
        Timestamp::from_second(at.get().saturating_mul(60)).map_or(0, |moment| self.rules.to_offset(moment).seconds())
    }

    fn wall_time(&self, local: NaiveDateTime) -> WallTime {
        let read = |offset: jiff::tz::Offset| read_with(offset.seconds(), local);
        let Some(civil) = civil(local) else { return WallTime::Once(read_with(0, local)) };
        match self.rules.to_ambiguous_timestamp(civil).offset() {
            AmbiguousOffset::Unambiguous { offset } => WallTime::Once(read(offset)),
            AmbiguousOffset::Gap { before, after } => {
                WallTime::Skipped { pushed_on: read(before), pulled_back: read(after) }
            }
            AmbiguousOffset::Fold { before, after } => WallTime::Twice { first: read(before), second: read(after) },
        }
    }
}

/// The same local time in the type of the zone library, to the second; `None` beyond its years.
fn civil(local: NaiveDateTime) -> Option<DateTime> {
    let small = |part: u32| i8::try_from(part).ok();
    let year = i16::try_from(local.year()).ok()?;
    let date = jiff::civil::Date::new(year, small(local.month())?, small(local.day())?).ok()?;
    let time = Time::new(small(local.hour())?, small(local.minute())?, small(local.second())?, 0).ok()?;
    Some(date.to_datetime(time))
}

#[cfg(test)]
mod tests {
    use super::*;
    use alloc::string::ToString;
    use chrono::NaiveDate;

    fn local(y: i32, m: u32, d: u32, hour: u32, minute: u32) -> NaiveDateTime {
        NaiveDate::from_ymd_opt(y, m, d).unwrap().and_hms_opt(hour, minute, 0).unwrap()
    }

    #[test]
    fn a_name_is_found_whatever_its_case_and_a_wrong_one_says_what_to_write() {
        assert_eq!(Zone::named("europe/berlin").unwrap().name(), "Europe/Berlin");
        let refused = Zone::named("Berlin").unwrap_err();
        assert!(refused.to_string().contains("IANA"));
        for name in ["", "Europe/", "CET-1CEST", "../etc/localtime", "Europe/Berlin\0"] {
            assert!(Zone::named(name).is_err(), "{name:?}");
        }
    }

    #[test]
    fn a_skipped_time_is_pushed_on_and_a_double_one_is_the_first() {
        let berlin = Zone::named("Europe/Berlin").unwrap();
        let utc = |l: NaiveDateTime| Minute::new(l.and_utc().timestamp() / 60);
        assert_eq!(berlin.to_utc(local(2026, 3, 29, 2, 30)), utc(local(2026, 3, 29, 1, 30)));
        assert_eq!(berlin.to_utc(local(2026, 10, 25, 2, 30)), utc(local(2026, 10, 25, 0, 30)));
        assert_eq!(berlin.to_local(utc(local(2026, 3, 29, 1, 30))), local(2026, 3, 29, 3, 30));
    }

    #[test]
    fn years_beyond_the_rules_are_read_as_utc() {
        let zone = Zone::named("Asia/Tokyo").unwrap();
        let far = local(12000, 1, 1, 0, 0);
        assert_eq!(zone.to_utc(far).get() * 60, far.and_utc().timestamp());
        assert_eq!(zone.offset_at(Minute::new(i64::MAX)), 0);
        assert_eq!(zone.to_local(Minute::new(i64::MIN)), NaiveDateTime::MIN);
    }

    #[test]
    fn british_columbia_keeps_summer_time_after_2026() {
        // IANA tz 2026f: no change back in November 2026 and after; an older copy of the database says −8 h.
        let vancouver = Zone::named("America/Vancouver").unwrap();
        let december = vancouver.to_utc(local(2026, 12, 1, 12, 0));
        assert_eq!(vancouver.offset_at(december), -7 * 3600);
    }
}

//! Moments, days and times of day.

use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::kept;
use baywright_domain::calendar::time_of_day;
use chrono::{NaiveDate, NaiveTime};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use utoipa::openapi::schema::{KnownFormat, SchemaFormat};

use super::{described, string};

/// A moment: RFC 3339, answered in UTC with `Z`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Instant(pub UtcTime);

/// A day of the calendar: `2026-03-28`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Day(pub NaiveDate);

/// A time of day at the shop: `08:30`, or `24:00` for the end of the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct WallTime(
    /// Minutes since midnight, 0 to 1440.
    pub u16,
);

/// Years that the program accepts.
const YEARS: std::ops::RangeInclusive<i32> = 1900..=2199;
/// The same as a pattern: the beginning of a moment or a day.
const YEARS_PATTERN: &str = "^(19|2[01])[0-9]{2}-";

/// Maximum number of characters of a moment: more digits of a second than any clock has.
const MOST_CHARACTERS: usize = 40;

impl Instant {
    /// Reads RFC 3339.
    ///
    /// # Errors
    /// A sentence that says what it must look like.
    pub fn parse(text: &str) -> Result<Self, String> {
        use chrono::Datelike;
        UtcTime::parse(text)
            .filter(|t| text.len() <= MOST_CHARACTERS && YEARS.contains(&t.datetime().year()))
            .map(Self)
            .ok_or_else(|| "write the moment as RFC 3339, such as 2026-03-28T08:30:00Z, within 1900 to 2199".to_owned())
    }
}

impl Day {
    /// Reads `YYYY-MM-DD`.
    ///
    /// # Errors
    /// A sentence that says what it must look like.
    pub fn parse(text: &str) -> Result<Self, String> {
        use chrono::Datelike;
        NaiveDate::parse_from_str(text, "%Y-%m-%d")
            .ok()
            .filter(|day| text.len() == 10 && YEARS.contains(&day.year()))
            .map(Self)
            .ok_or_else(|| "write the day as year, month and day, such as 2026-03-28, within 1900 to 2199".to_owned())
    }
}

impl WallTime {
    /// Reads `HH:MM`.
    ///
    /// # Errors
    /// A sentence that says what it must look like.
    pub fn parse(text: &str) -> Result<Self, String> {
        let read = || {
            let (hours, minutes) = text.split_once(':')?;
            let two = |s: &str| s.len() == 2 && s.chars().all(|c| c.is_ascii_digit());
            let (h, m): (u16, u16) = (hours.parse().ok()?, minutes.parse().ok()?);
            (two(hours) && two(minutes) && m < 60 && (h < 24 || (h == 24 && m == 0))).then_some(Self(h * 60 + m))
        };
        read().ok_or_else(|| "write the time of day as hours and minutes, such as 08:30".to_owned())
    }

    /// As chrono's type; the end of the day becomes midnight.
    pub fn naive(self) -> NaiveTime {
        NaiveTime::from_num_seconds_from_midnight_opt(u32::from(self.0) % 1440 * 60, 0).unwrap_or_default()
    }
}

impl From<kept::Moment> for Instant {
    fn from(kept::Moment(moment): kept::Moment) -> Self {
        Self(moment)
    }
}

impl From<kept::Day> for Day {
    fn from(kept::Day(day): kept::Day) -> Self {
        Self(day)
    }
}

impl std::fmt::Display for Instant {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

impl std::fmt::Display for Day {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.0.format("%Y-%m-%d"))
    }
}

impl std::fmt::Display for WallTime {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&time_of_day(self.0))
    }
}

macro_rules! as_text {
    ($($type:ty),+) => {$(
        impl Serialize for $type {
            fn serialize<S: Serializer>(&self, writer: S) -> Result<S::Ok, S::Error> {
                writer.collect_str(self)
            }
        }

        impl<'de> Deserialize<'de> for $type {
            fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
                Self::parse(&String::deserialize(reader)?).map_err(serde::de::Error::custom)
            }
        }
    )+};
}

as_text!(Instant, Day, WallTime);

described!([] Instant, "Instant", string().max_length(Some(MOST_CHARACTERS))
    .pattern(Some(YEARS_PATTERN)).format(Some(SchemaFormat::KnownFormat(KnownFormat::DateTime))).examples(["2026-03-28T08:30:00Z"]).build());
described!([] Day, "Day", string().min_length(Some(10)).max_length(Some(10))
    .pattern(Some(YEARS_PATTERN)).format(Some(SchemaFormat::KnownFormat(KnownFormat::Date))).examples(["2026-03-28"]).build());
described!([] WallTime, "WallTime", string().min_length(Some(5)).max_length(Some(5))
    .pattern(Some("^(([01][0-9]|2[0-3]):[0-5][0-9]|24:00)$")).examples(["08:30"]).build());

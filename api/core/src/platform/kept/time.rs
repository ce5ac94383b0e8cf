//! Moments and days as text.

use chrono::NaiveDate;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::platform::clock::UtcTime;

/// A moment: RFC 3339 in UTC with `Z`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Moment(pub UtcTime);

/// A day of the calendar: `2026-03-28`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Day(pub NaiveDate);

impl Serialize for Moment {
    fn serialize<S: Serializer>(&self, writer: S) -> Result<S::Ok, S::Error> {
        writer.collect_str(&self.0)
    }
}

impl<'de> Deserialize<'de> for Moment {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        let text = String::deserialize(reader)?;
        UtcTime::parse(&text).map(Self).ok_or_else(|| serde::de::Error::custom(format_args!("{text} is no moment")))
    }
}

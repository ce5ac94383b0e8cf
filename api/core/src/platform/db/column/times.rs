//! Moments, days and lengths of time in columns.

use baywright_domain::calendar::DayOfWeek;
use baywright_domain::schedule::ClockStep;
use baywright_domain::time::{Minute, Minutes};
use chrono::{DateTime, NaiveDate, Utc};

use super::Column;
use crate::platform::clock::UtcTime;

/// A moment, in milliseconds since 1970-01-01T00:00Z.
impl Column for UtcTime {
    type Cell = i64;

    fn to_cell(&self) -> Result<i64, String> {
        Ok(self.ms())
    }

    fn from_cell(cell: i64) -> Result<Self, String> {
        Self::of_ms(cell).ok_or_else(|| format!("{cell} ms is no moment of the calendar"))
    }
}

/// The same as chrono's type, for rules that work with dates.
impl Column for DateTime<Utc> {
    type Cell = i64;

    fn to_cell(&self) -> Result<i64, String> {
        UtcTime::from(*self).to_cell()
    }

    fn from_cell(cell: i64) -> Result<Self, String> {
        UtcTime::from_cell(cell).map(UtcTime::datetime)
    }
}

/// A moment of the schedule, in minutes since 1970-01-01T00:00Z.
impl Column for Minute {
    type Cell = i64;

    fn to_cell(&self) -> Result<i64, String> {
        Ok(self.get())
    }

    fn from_cell(cell: i64) -> Result<Self, String> {
        Ok(Self::new(cell))
    }
}

/// A length of time in minutes.
impl Column for Minutes {
    type Cell = i32;

    fn to_cell(&self) -> Result<i32, String> {
        self.get().to_cell()
    }

    fn from_cell(cell: i32) -> Result<Self, String> {
        u32::from_cell(cell).map(Self::new)
    }
}

/// A day of the week by number, from 1 for Monday to 7.
impl Column for DayOfWeek {
    type Cell = i32;

    fn to_cell(&self) -> Result<i32, String> {
        self.number().to_cell()
    }

    fn from_cell(cell: i32) -> Result<Self, String> {
        Self::of_number(u8::from_cell(cell)?).ok_or_else(|| format!("{cell} is no day of the week"))
    }
}

/// A day, such as `2026-11-30`.
impl Column for NaiveDate {
    type Cell = String;

    fn to_cell(&self) -> Result<String, String> {
        Ok(self.to_string())
    }

    fn from_cell(cell: String) -> Result<Self, String> {
        cell.parse().map_err(|_| format!("{cell:?} is no day"))
    }
}

/// A step of the clock, in minutes.
impl Column for ClockStep {
    type Cell = i32;

    fn to_cell(&self) -> Result<i32, String> {
        self.minutes().to_cell()
    }

    fn from_cell(cell: i32) -> Result<Self, String> {
        Self::new(u8::from_cell(cell)?).map_err(|why| why.to_string())
    }
}

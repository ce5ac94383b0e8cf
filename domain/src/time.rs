//! Time for the rules: whole minutes in UTC, half-open intervals of them, and sets of such intervals.

mod interval;
mod set;

use core::fmt;
use core::ops::{Add, Sub};

pub use interval::Interval;
pub use set::IntervalSet;

/// A length of time in whole minutes, never negative.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Minutes(u32);

impl Minutes {
    /// No time.
    pub const ZERO: Self = Self(0);

    /// A number of minutes.
    pub const fn new(minutes: u32) -> Self {
        Self(minutes)
    }

    /// The number of minutes.
    pub const fn get(self) -> u32 {
        self.0
    }
}

impl Add for Minutes {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl core::iter::Sum for Minutes {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::ZERO, |a, b| a + b)
    }
}

impl fmt::Display for Minutes {
    /// The duration in words: `1 h 20 min`, `45 min`, `2 h`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.0 / 60, self.0 % 60) {
            (0, minutes) => write!(f, "{minutes} min"),
            (hours, 0) => write!(f, "{hours} h"),
            (hours, minutes) => write!(f, "{hours} h {minutes} min"),
        }
    }
}

/// A moment: whole minutes since 1970-01-01T00:00Z.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Minute(i64);

impl Minute {
    /// The moment that number of minutes after 1970-01-01T00:00Z.
    pub const fn new(since_epoch: i64) -> Self {
        Self(since_epoch)
    }

    /// Minutes since 1970-01-01T00:00Z.
    pub const fn get(self) -> i64 {
        self.0
    }

    /// Number of days of 24 hours until a later moment, rounded up; at least one.
    pub fn days_until(self, until: Self) -> u32 {
        let minutes = until.0.saturating_sub(self.0).max(1);
        u32::try_from((minutes - 1) / 1440 + 1).unwrap_or(u32::MAX)
    }
}

impl Add<Minutes> for Minute {
    type Output = Self;

    fn add(self, length: Minutes) -> Self {
        Self(self.0.saturating_add(i64::from(length.0)))
    }
}

impl Sub<Minutes> for Minute {
    type Output = Self;

    fn sub(self, length: Minutes) -> Self {
        Self(self.0.saturating_sub(i64::from(length.0)))
    }
}

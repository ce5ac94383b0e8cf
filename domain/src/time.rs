//! Time as the rules see it: whole minutes in UTC, and half-open intervals of them.

use core::fmt;
use core::ops::{Add, Sub};

/// A length of time in whole minutes, never negative.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Minutes(u32);

impl Minutes {
    /// No time.
    pub const ZERO: Self = Self(0);

    /// So many minutes.
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
    /// As people say it: `1 h 20 min`, `45 min`, `2 h`.
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
    /// The moment so many minutes after 1970-01-01T00:00Z.
    pub const fn new(since_epoch: i64) -> Self {
        Self(since_epoch)
    }

    /// Minutes since 1970-01-01T00:00Z.
    pub const fn get(self) -> i64 {
        self.0
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

/// A half-open stretch of time `[from, to)`, never empty.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Interval {
    from: Minute,
    to: Minute,
}

impl Interval {
    /// The interval `[from, to)`, or `None` where `to` is not after `from`.
    pub fn new(from: Minute, to: Minute) -> Option<Self> {
        (from < to).then_some(Self { from, to })
    }

    /// Its first minute.
    pub const fn from(self) -> Minute {
        self.from
    }

    /// The minute after its last.
    pub const fn to(self) -> Minute {
        self.to
    }

    /// Whether the two share a minute; touching is not sharing.
    pub fn overlaps(self, other: Self) -> bool {
        self.from < other.to && other.from < self.to
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn touching_intervals_do_not_overlap() {
        let at = |a, b| Interval::new(Minute(a), Minute(b));
        assert!(at(5, 5).is_none());
        let (first, second, third) = (at(0, 5), at(5, 9), at(4, 6));
        assert_eq!(first.zip(second).map(|(a, b)| a.overlaps(b)), Some(false));
        assert_eq!(first.zip(third).map(|(a, b)| a.overlaps(b)), Some(true));
    }
}

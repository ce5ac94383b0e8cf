//! One interval of time.

use super::{Minute, Minutes};

/// A half-open interval of time `[from, to)`, never empty.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Interval {
    from: Minute,
    to: Minute,
}

impl Interval {
    /// The interval `[from, to)`, or `None` if `to` is not after `from`.
    pub fn new(from: Minute, to: Minute) -> Option<Self> {
        (from < to).then_some(Self { from, to })
    }

    /// Its first minute.
    pub const fn from(self) -> Minute {
        self.from
    }

    /// The minute after its last one.
    pub const fn to(self) -> Minute {
        self.to
    }

    /// Its duration; the longest [`Minutes`] there is if the time is longer than that.
    pub fn length(self) -> Minutes {
        let minutes = self.to.get().saturating_sub(self.from.get());
        Minutes::new(u32::try_from(minutes).unwrap_or(u32::MAX))
    }

    /// Whether the two share a minute; touching is not sharing.
    pub fn overlaps(self, other: Self) -> bool {
        self.from < other.to && other.from < self.to
    }

    /// Whether `at` is one of its minutes.
    pub fn contains(self, at: Minute) -> bool {
        self.from <= at && at < self.to
    }

    /// Whether every minute of `other` is one of its own.
    pub fn covers(self, other: Self) -> bool {
        self.from <= other.from && other.to <= self.to
    }

    /// The minutes that both have in common.
    pub fn intersection(self, other: Self) -> Option<Self> {
        Self::new(self.from.max(other.from), self.to.min(other.to))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn touching_intervals_do_not_overlap() {
        let at = |a, b| Interval::new(Minute::new(a), Minute::new(b));
        assert!(at(5, 5).is_none());
        let (first, second, third) = (at(0, 5), at(5, 9), at(4, 6));
        assert_eq!(first.zip(second).map(|(a, b)| a.overlaps(b)), Some(false));
        assert_eq!(first.zip(third).map(|(a, b)| a.overlaps(b)), Some(true));
    }

    #[test]
    fn the_longest_interval_has_a_length() {
        let all = Interval::new(Minute::new(i64::MIN), Minute::new(i64::MAX)).unwrap();
        assert_eq!(all.length(), Minutes::new(u32::MAX));
    }
}

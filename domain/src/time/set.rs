//! Sets of minutes as sorted intervals.

use alloc::vec::Vec;
use core::slice;

use super::{Interval, Minute};

/// A set of minutes, kept as sorted, disjoint half-open intervals. Intervals that touch are one, so two equal sets
/// have equal intervals. Every operation passes each interval once.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub struct IntervalSet(Vec<Interval>);

impl IntervalSet {
    /// The empty set.
    pub const EMPTY: Self = Self(Vec::new());

    /// The intervals, from the first to the last.
    pub fn as_slice(&self) -> &[Interval] {
        &self.0
    }

    /// The intervals, from the first to the last.
    pub fn iter(&self) -> slice::Iter<'_, Interval> {
        self.0.iter()
    }

    /// Whether no minute is in it.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Number of minutes in it.
    pub fn total(&self) -> u64 {
        self.0.iter().map(|i| i.to().get().abs_diff(i.from().get())).sum()
    }

    /// Whether `at` is in it.
    pub fn contains(&self, at: Minute) -> bool {
        self.0.get(self.first_ending_after(at)).is_some_and(|i| i.contains(at))
    }

    /// Whether every minute of `stretch` is in it.
    pub fn covers(&self, stretch: Interval) -> bool {
        self.0.get(self.first_ending_after(stretch.from())).is_some_and(|i| i.covers(stretch))
    }

    /// The index of the first interval that ends after `at`; the number of intervals if none does.
    pub fn first_ending_after(&self, at: Minute) -> usize {
        self.0.partition_point(|i| i.to() <= at)
    }

    /// The minutes in at least one of the two.
    pub fn union(&self, other: &Self) -> Self {
        let (mut a, mut b) = (self.0.iter().copied().peekable(), other.0.iter().copied().peekable());
        let mut all = Self(Vec::with_capacity(self.0.len() + other.0.len()));
        loop {
            let next = match (a.peek(), b.peek()) {
                (Some(x), Some(y)) if y < x => b.next(),
                (Some(_), _) => a.next(),
                (None, _) => b.next(),
            };
            match next {
                Some(interval) => all.append(interval),
                None => return all,
            }
        }
    }

    /// The minutes that both have in common.
    pub fn intersection(&self, other: &Self) -> Self {
        let (mut a, mut b) = (self.0.as_slice(), other.0.as_slice());
        let mut both = Vec::with_capacity(a.len().max(b.len()));
        while let ([x, rest_a @ ..], [y, rest_b @ ..]) = (a, b) {
            both.extend(x.intersection(*y));
            if x.to() <= y.to() {
                a = rest_a;
            } else {
                b = rest_b;
            }
        }
        Self(both)
    }

    /// The minutes of this set that are not in `other`.
    pub fn difference(&self, other: &Self) -> Self {
        let mut taken = other.0.as_slice();
        let mut left = Vec::with_capacity(self.0.len());
        for whole in &self.0 {
            let mut from = whole.from();
            while let [t, rest @ ..] = taken {
                if t.from() >= whole.to() {
                    break;
                }
                left.extend(Interval::new(from, t.from()));
                from = from.max(t.to());
                if t.to() > whole.to() {
                    break;
                }
                taken = rest;
            }
            left.extend(Interval::new(from, whole.to()));
        }
        Self(left)
    }

    /// The minutes of this set that lie within `bounds`.
    pub fn clip(&self, bounds: Interval) -> Self {
        let rest = self.0.get(self.first_ending_after(bounds.from())..).unwrap_or_default();
        Self(rest.iter().map_while(|i| i.intersection(bounds)).collect())
    }

    /// Adds an interval that begins no sooner than the last one.
    fn append(&mut self, next: Interval) {
        match self.0.last_mut() {
            Some(last) if next.from() <= last.to() => {
                if let Some(longer) = Interval::new(last.from(), last.to().max(next.to())) {
                    *last = longer;
                }
            }
            _ => self.0.push(next),
        }
    }
}

impl From<Interval> for IntervalSet {
    fn from(only: Interval) -> Self {
        Self(alloc::vec![only])
    }
}

impl FromIterator<Interval> for IntervalSet {
    /// Takes intervals in any order; they may touch and overlap.
    fn from_iter<I: IntoIterator<Item = Interval>>(intervals: I) -> Self {
        let mut given: Vec<Interval> = intervals.into_iter().collect();
        if !given.is_sorted() {
            given.sort_unstable();
        }
        let mut all = Self(Vec::with_capacity(given.len()));
        for interval in given {
            all.append(interval);
        }
        all
    }
}

impl<'a> IntoIterator for &'a IntervalSet {
    type Item = &'a Interval;
    type IntoIter = slice::Iter<'a, Interval>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set(pairs: &[(i64, i64)]) -> IntervalSet {
        pairs.iter().filter_map(|&(a, b)| Interval::new(Minute::new(a), Minute::new(b))).collect()
    }

    #[test]
    fn intervals_that_touch_are_one_and_order_does_not_matter() {
        assert_eq!(set(&[(5, 9), (0, 5), (20, 30), (8, 12)]), set(&[(0, 12), (20, 30)]));
        assert_eq!(set(&[(0, 10), (2, 3)]), set(&[(0, 10)]));
    }

    #[test]
    fn union_intersection_and_difference_on_edges() {
        let (a, b) = (set(&[(0, 10), (20, 30)]), set(&[(10, 20), (25, 26), (40, 41)]));
        assert_eq!(a.union(&b), set(&[(0, 30), (40, 41)]));
        assert_eq!(a.intersection(&b), set(&[(25, 26)]));
        assert_eq!(a.difference(&b), set(&[(0, 10), (20, 25), (26, 30)]));
        assert_eq!(set(&[(0, 3), (5, 9)]).difference(&set(&[(-4, 7)])), set(&[(7, 9)]));
        assert_eq!(a.difference(&a), IntervalSet::EMPTY);
    }

    #[test]
    fn clip_and_cover_are_half_open() {
        let a = set(&[(0, 10), (20, 30)]);
        let within = |f, t| Interval::new(Minute::new(f), Minute::new(t)).unwrap();
        assert_eq!(a.clip(within(10, 21)), set(&[(20, 21)]));
        assert!(a.covers(within(0, 10)) && !a.covers(within(0, 11)) && !a.covers(within(9, 21)));
        assert!(a.contains(Minute::new(9)) && !a.contains(Minute::new(10)) && !a.contains(Minute::new(30)));
        assert_eq!(a.total(), 20);
    }
}

//! The earliest finish over all first bays and gaps, and the latest start for it.

use alloc::vec::Vec;
use core::cmp::Reverse;

use super::car::{Car, Spot, Terms};
use super::pass::Pass;
use crate::time::{Interval, Minute, Minutes};

/// Number of arrivals that are tried together at first; it doubles each time.
const FIRST_ARRIVALS: usize = 4;

/// Cars that come on the first slot of each gap of each first bay, soonest first. A later arrival within a gap is never
/// done sooner.
struct Arrivals<'p, 'a> {
    pass: &'p Pass<'a>,
    not_before: Minute,
    /// The next arrival of each bay that has one.
    heads: Vec<(Minute, Spot)>,
}

impl Iterator for Arrivals<'_, '_> {
    type Item = Car;

    fn next(&mut self) -> Option<Car> {
        let (place, (start, at)) = self.heads.iter().copied().enumerate().min_by_key(|(_, head)| *head)?;
        if let Some(head) = self.pass.arrival(at.bay, at.gap + 1, self.not_before) {
            self.heads[place] = head;
        } else {
            self.heads.swap_remove(place);
        }
        Some(Car::arriving(start, at))
    }
}

impl<'a> Pass<'a> {
    /// The earliest finish of a car that comes at `not_before` or later, and a start from which it is reached; `None`
    /// if it is after `limit`.
    pub(super) fn soonest(&self, not_before: Minute, mut limit: Minute) -> Option<(Minute, Minute)> {
        let mut found = None;
        let mut arrivals = self.arrivals(not_before);
        let mut many = FIRST_ARRIVALS;
        loop {
            let next = arrivals.by_ref().take(many);
            let mut cars: Vec<Car> = next.take_while(|car| car.start + self.shortest <= limit).collect();
            let is_last = cars.len() < many;
            cars.retain(|car| self.bounds.time(car.at.bay, 0).is_some_and(|time| car.start + time <= limit));
            let done = self.run(0, cars, &Terms::free(limit, self.stays));
            if let Some(best) = done.iter().min_by_key(|car| (car.progress.finish(), Reverse(car.start))) {
                found = Some((best.progress.finish(), best.start));
                limit = best.progress.finish() - Minutes::new(1);
            }
            if is_last {
                return found;
            }
            many *= 2;
        }
    }

    /// The latest start, not before `from`, from which all is done by `finish`.
    pub(super) fn latest_start(&self, mut from: Minute, finish: Minute) -> Option<Minute> {
        let mut latest = None;
        for bay in 0..self.diary.bays.len() {
            if let Some(start) = self.latest_in(bay, from, finish) {
                latest = Some(start);
                from = start + self.diary.horizon.slot();
            }
        }
        latest
    }

    fn arrivals(&self, not_before: Minute) -> Arrivals<'_, 'a> {
        let first = |bay| self.arrival(bay, 0, not_before);
        Arrivals { pass: self, not_before, heads: (0..self.diary.bays.len()).filter_map(first).collect() }
    }

    /// The first slot of the first gap with a slot, from this gap on.
    fn arrival(&self, bay: usize, gap: usize, not_before: Minute) -> Option<(Minute, Spot)> {
        let time = self.diary.bays.get(bay).filter(|_| self.bounds.serves(bay, 0))?;
        let gap = gap.max(time.gaps.first_ending_after(not_before));
        time.gaps.iter().enumerate().skip(gap).find_map(|(gap, span)| {
            let rest = Interval::new(not_before.max(span.from()), span.to())?;
            Some((self.diary.first_slot(time.hours, rest)?, Spot { bay, gap }))
        })
    }

    /// The latest start in one bay, not before `from`, from which all is done by `finish`.
    fn latest_in(&self, bay: usize, from: Minute, finish: Minute) -> Option<Minute> {
        let time = self.diary.bays.get(bay).filter(|_| self.bounds.serves(bay, 0))?;
        let last = finish - self.bounds.time(bay, 0)?.max(self.shortest);
        let terms = Terms::free(finish, self.stays);
        let begun = time.gaps.as_slice().partition_point(|gap| gap.from() <= last);
        let later = |span: &Interval| Interval::new(from.max(span.from()), span.to());
        let gaps = time.gaps.iter().enumerate().take(begun).rev();
        let mut gaps = gaps.map_while(|(gap, span)| Some((Spot { bay, gap }, later(span)?)));
        gaps.find_map(|(at, rest)| {
            let first = self.diary.first_slot(time.hours, rest)?;
            let latest = self.diary.open_slot_until(time.hours, last.min(rest.to() - Minutes::new(1)))?;
            let latest = self.latest_between(at, first, latest, &terms)?;
            Some(self.diary.open_slot_until(time.hours, latest)?.max(first))
        })
    }

    /// The latest slot between these two from which all is done in time, open or not. If a slot is too late, every
    /// later one is.
    fn latest_between(&self, at: Spot, first: Minute, latest: Minute, terms: &Terms) -> Option<Minute> {
        if latest < first {
            return None;
        }
        if self.serves(latest, at, terms) {
            return Some(latest);
        }
        if latest == first || !self.serves(first, at, terms) {
            return None;
        }
        Some(self.diary.horizon.last_in_time(first, latest, |slot| self.serves(slot, at, terms)))
    }
}

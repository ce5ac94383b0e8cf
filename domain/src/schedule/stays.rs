//! Search for the first time at which a job can be done, if its car may change bays.
//!
//! Each step has its own bay features, and the car may be moved from bay to bay: a wash bay first, a dust-free room for
//! the coating. The steps may be done in any of several [orders](StepOrder). Of all orders, divisions into stays and
//! bays: the earliest finish; of those the latest start; then the fewest stays; then the fewest changeover minutes;
//! then the smallest bay codes; then, step by step, the smallest technician code that still allows that.
//!
//! **Moves.** A car moves when the first step of its next stay begins. Until then it occupies the bay that it leaves,
//! from then on the one that it enters. The minutes of the move are added to that step and done by its technician, and
//! all rules of pieces and open time apply to the sum. No wait that holds the whole car may be running then. A step
//! without minutes is in the bay of the step before it, and each stay lasts at least a minute. Only the start must be a
//! slot.
//!
//! **Why this is exact.** Everything that a step waits for is a minimum, as in [`availability`](super::availability),
//! so an earlier end of one step never makes a later step end later, in any bay. A forward pass therefore needs to keep
//! in each state (steps done, gap of a bay, stays used) only those cars that no other car beats in everything that
//! later steps wait for (`pass`). Coming later within one gap never finishes sooner, so the first slot of each gap
//! decides the finish, and the latest start is found by bisection (`ahead`). Each choice after that is made by running
//! the pass again (`choose`).
//!
//! If no car may move, or one bay is as good, the answer is that of [`availability`](super::availability). The answer
//! for one bay is then the limit that the pass has to beat.

mod ahead;
pub(super) mod bounds;
mod car;
mod check;
mod choose;
mod order;
mod pass;
mod visit;

use alloc::vec::Vec;
use core::cmp::Reverse;

pub use check::BrokenVisit;
pub use order::{Moving, StayStep, StepOrder};
use pass::Pass;
pub use visit::{Stay, Visit};

use super::Diary;
use super::availability::Search;
use crate::time::{Minute, Minutes};

/// The orders of one job, prepared for searches in one diary.
#[derive(Debug, Clone)]
pub struct Visits<'a> {
    diary: &'a Diary,
    /// The orders, by rising changeover.
    ways: Vec<Way<'a>>,
}

/// One of the orders, prepared for the search.
#[derive(Debug, Clone)]
struct Way<'a> {
    /// Its index among the given orders.
    which: usize,
    in_one_bay: Search<'a>,
    /// The pass; `None` if cars may not move, or if the order can't be done in the allowed number of stays.
    in_several: Option<Pass<'a>>,
}

impl Diary {
    /// Prepares searches for the job in any of these orders.
    pub fn visits<'a>(&'a self, orders: &'a [StepOrder], moving: Moving) -> Visits<'a> {
        let may_move = moving.allows_moves() && self.bays.len() > 1;
        let mut by_changeover: Vec<(usize, &StepOrder)> = orders.iter().enumerate().collect();
        by_changeover.sort_by_key(|(_, order)| order.changeover());
        let way = |(which, order): (usize, &'a StepOrder)| Way {
            which,
            in_one_bay: self.search(order.plan()),
            in_several: if may_move { Pass::new(self, order, moving) } else { None },
        };
        Visits { diary: self, ways: by_changeover.into_iter().map(way).collect() }
    }
}

impl<'a> Visits<'a> {
    /// The best visit that starts at `not_before` or later; `None` if nothing fits.
    pub fn earliest(&self, not_before: Minute) -> Option<Visit> {
        let alone = self.in_one_bay(not_before);
        let mut best = alone.as_ref().map(|visit| (visit.finish, visit.start));
        for pass in self.passes() {
            let limit = best.map_or(self.diary.horizon.span().to(), |(finish, _)| finish - Minutes::new(1));
            best = pass.soonest(not_before, limit).or(best);
        }
        let (finish, mut start) = best?;
        for pass in self.passes() {
            let later = start + self.diary.horizon.slot();
            start = pass.latest_start(later, finish).unwrap_or(start);
        }
        if alone.as_ref().is_some_and(|visit| (visit.finish, visit.start) == (finish, start)) {
            return alone;
        }
        self.in_fewest_stays(None, start, finish)
    }

    /// The visit with the earliest finish whose first stay is in this bay from exactly this start; `None` if nothing
    /// fits, the start is not a slot, or the bay is closed or taken then. Among equally good ones the same one wins as in
    /// [`earliest`](Self::earliest).
    pub fn at(&self, bay: &str, start: Minute) -> Option<Visit> {
        let alone = self.ways.iter().filter_map(|way| {
            let placement = way.in_one_bay.at(bay, start)?;
            Some(Visit::in_one_bay(way.which, placement))
        });
        let alone = alone.min_by_key(|visit| visit.finish);
        let in_one_bay = alone.as_ref().map(|visit| visit.finish);
        let first = self.diary.bays.iter().position(|known| known.code == bay)?;
        let mut best = in_one_bay;
        if self.diary.horizon.is_slot(start) {
            for pass in self.passes() {
                let limit = best.map_or(self.diary.horizon.span().to(), |finish| finish - Minutes::new(1));
                best = pass.soonest_from(first, start, limit).or(best);
            }
        }
        let finish = best?;
        if in_one_bay == Some(finish) {
            return alone;
        }
        self.in_fewest_stays(Some(first), start, finish)
    }

    /// Whether there are bays for the work, whoever has them: one with all features, or as many as the car may change
    /// between.
    pub fn have_bays(&self) -> bool {
        self.ways.iter().any(|way| way.in_one_bay.has_bay() || way.in_several.is_some())
    }

    /// The first `count` visits: each next one is the best that starts at least a slot after the one before. Starts and
    /// finishes rise along the list; it is shorter if no more fit, and may be empty.
    pub fn list(&self, not_before: Minute, count: usize) -> Vec<Visit> {
        let mut found = Vec::new();
        let mut from = not_before;
        while found.len() < count
            && let Some(visit) = self.earliest(from)
        {
            from = visit.start + self.diary.horizon.slot();
            found.push(visit);
        }
        found
    }

    /// The best visit of one stay; among equally good orders the one with the fewest changeover minutes.
    fn in_one_bay(&self, not_before: Minute) -> Option<Visit> {
        let found = self.ways.iter().filter_map(|way| {
            let placement = way.in_one_bay.earliest(not_before)?;
            Some(Visit::in_one_bay(way.which, placement))
        });
        found.min_by_key(|visit| (visit.finish, Reverse(visit.start)))
    }

    /// The best visit from `start` to `finish` of a car that may change bays; it comes into the `first` bay, if that is
    /// given. Among equally few stays the order with the fewest changeover minutes wins.
    fn in_fewest_stays(&self, first: Option<usize>, start: Minute, finish: Minute) -> Option<Visit> {
        let ways = self.ways.iter().filter_map(|way| {
            let pass = way.in_several.as_ref()?;
            Some((pass.fewest_stays(first, start, finish)?, way.which, pass))
        });
        let (stays, which, pass) = ways.min_by_key(|(stays, ..)| *stays)?;
        pass.visit(which, first, (start, finish), stays)
    }

    fn passes(&self) -> impl Iterator<Item = &Pass<'a>> {
        self.ways.iter().filter_map(|way| way.in_several.as_ref())
    }
}

#[cfg(test)]
mod tests;

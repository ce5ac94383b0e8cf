//! Finds the best placement of one job.
//!
//! Of all placements that start at `t` or later within the horizon, the best one has the earliest finish; of equal ones the
//! latest start, so that the bay is held for the shortest time; of those the smallest bay code; then, step by step, the
//! smallest technician code that still allows that finish. Each technician works as early as possible.
//!
//! **Why this is exact.** Waits are minima, so a step that begins sooner never finishes later. Within one gap of one bay,
//! doing each step as early as anyone can therefore gives the earliest finish ([`Search::finish`]), and a later start never
//! gives an earlier finish. A wait may hold the whole car or single steps; either is only a lower bound of when a step begins,
//! so this does not change the argument. Three things follow. The first slot of a gap decides whether the job fits into the
//! gap at all. If the work would end after the gap, every gap that ends sooner than that fails too and is skipped. And the
//! latest start for a finish can be found by bisection. There are no maximum waits, because they would break the argument.
//!
//! An empty answer only says that nothing fits. The same [`Search`] can be asked for the reason: who is able
//! ([`Search::able`]), which bays are suitable, and which limit was hit.

mod choose;
mod pass;

use alloc::vec::Vec;

use super::diary::BayTime;
use super::{Diary, Placement, Plan, Step};
use crate::time::{Interval, IntervalSet, Minute, Minutes};

/// A question about one plan and one diary. Everything that it needs is computed once; the passes then allocate nothing.
#[derive(Debug, Clone)]
pub struct Search<'a> {
    diary: &'a Diary,
    plan: &'a Plan,
    /// Indexes of the bays that have every feature, smallest code first.
    bays: Vec<usize>,
    /// For each step, indexes of the technicians who have its skills, smallest code first.
    able: Vec<Vec<usize>>,
    /// For each open time of the diary and each technician, the time in which both allow attended work.
    attended: Vec<IntervalSet>,
    shortest: Minutes,
    /// For each step, the time before which it can't begin; a step beyond the list has none.
    not_before: Vec<Minute>,
}

/// The best candidate in one bay: a gap that can finish at `finish`, and the first slot in it.
#[derive(Debug, Clone, Copy)]
struct Candidate<'a> {
    bay: &'a BayTime,
    start: Minute,
    finish: Minute,
}

impl Diary {
    /// Prepares the search for this plan.
    pub fn search<'a>(&'a self, plan: &'a Plan) -> Search<'a> {
        let bays: Vec<usize> = places(&self.bays, |bay| plan.features().is_subset(&bay.features));
        let able = self.able(plan);
        let attended = self.attended(|hours, person| {
            able.iter().any(|who| who.contains(&person))
                && bays.iter().any(|bay| self.bays.get(*bay).is_some_and(|bay| bay.hours == hours))
        });
        Search { diary: self, plan, bays, able, attended, shortest: plan.shortest(), not_before: Vec::new() }
    }

    /// For each step the indexes of the technicians who have its skills, smallest code first; nobody for a step without
    /// minutes.
    pub(super) fn able(&self, plan: &Plan) -> Vec<Vec<usize>> {
        let able = |step: &Step| match step.minutes {
            Minutes::ZERO => Vec::new(),
            _ => places(&self.people, |person| step.skills.is_subset(&person.skills)),
        };
        plan.steps().iter().map(able).collect()
    }

    /// For each open time and each technician, the time when both allow attended work; empty for those that are not
    /// `wanted`, by their indexes.
    pub(super) fn attended(&self, wanted: impl Fn(usize, usize) -> bool) -> Vec<IntervalSet> {
        let mut attended = Vec::with_capacity(self.hours.len() * self.people.len());
        for (hours, open) in self.hours.iter().enumerate() {
            for (place, person) in self.people.iter().enumerate() {
                let time = if wanted(hours, place) { open.intersection(&person.free) } else { IntervalSet::EMPTY };
                attended.push(time);
            }
        }
        attended
    }
}

impl Search<'_> {
    /// The same search if single steps can't begin before these times, in the plan's order, because something on the
    /// car is still drying. They are lower bounds like everything that a step waits for, so the answer stays exact.
    #[must_use]
    pub fn not_before(mut self, steps: Vec<Minute>) -> Self {
        self.not_before = steps;
        self
    }

    /// The best placement that starts at `not_before` or later; `None` if nothing fits.
    pub fn earliest(&self, not_before: Minute) -> Option<Placement> {
        let mut limit = self.diary.horizon.span().to();
        let mut best: Vec<Candidate<'_>> = Vec::with_capacity(self.bays.len());
        for bay in self.suitable() {
            let Some(found) = self.first_in(bay, not_before, limit) else { continue };
            if found.finish < limit {
                best.clear();
                limit = found.finish;
            }
            best.push(found);
        }
        let mut chosen: Option<(Minute, &BayTime)> = None;
        for candidate in best {
            let start = self.latest_start(&candidate);
            if chosen.is_none_or(|(latest, _)| start > latest) {
                chosen = Some((start, candidate.bay));
            }
        }
        let (start, bay) = chosen?;
        self.place(bay, start, limit)
    }

    /// The first `count` placements: each next one is the best that starts at least a slot after the one before. Starts
    /// and finishes rise along the list; it is shorter if no more fit, and may be empty.
    pub fn list(&self, not_before: Minute, count: usize) -> Vec<Placement> {
        let mut found = Vec::new();
        let mut from = not_before;
        while found.len() < count
            && let Some(placement) = self.earliest(from)
        {
            from = placement.start + self.diary.horizon.slot();
            found.push(placement);
        }
        found
    }

    /// The placement with the earliest finish in this bay from exactly this start; `None` if the plan does not fit
    /// there, the start is not a slot, or the bay is closed at it.
    pub fn at(&self, bay: &str, start: Minute) -> Option<Placement> {
        let bay = self.suitable().find(|suitable| suitable.code == bay)?;
        let gap = bay.gaps.as_slice().get(bay.gaps.first_ending_after(start))?;
        if self.diary.first_slot(bay.hours, gap.intersection(Interval::new(start, gap.to())?)?)? != start {
            return None;
        }
        let finish = self.finish_from(bay.hours, start, gap.to())?;
        self.place(bay, start, finish)
    }

    /// Whether anyone has the skills of the step at this index of the plan; true for a step without minutes.
    pub fn able(&self, step: usize) -> bool {
        let attended = self.plan.steps().get(step).is_some_and(|step| step.minutes > Minutes::ZERO);
        !attended || self.able.get(step).is_some_and(|who| !who.is_empty())
    }

    /// Whether any bay has every feature.
    pub(super) fn has_bay(&self) -> bool {
        !self.bays.is_empty()
    }

    /// The bays that have every feature, smallest code first.
    fn suitable(&self) -> impl Iterator<Item = &BayTime> {
        self.bays.iter().filter_map(|place| self.diary.bays.get(*place))
    }

    /// The first gap of a bay in which the plan ends in time, and its earliest finish there, not after `limit`.
    fn first_in<'b>(&self, bay: &'b BayTime, not_before: Minute, limit: Minute) -> Option<Candidate<'b>> {
        let gaps = bay.gaps.as_slice();
        let mut place = bay.gaps.first_ending_after(not_before);
        loop {
            let gap = *gaps.get(place)?;
            let rest = Interval::new(not_before.max(gap.from()), gap.to())?;
            let Some(start) = self.diary.first_slot(bay.hours, rest) else {
                place += 1;
                continue;
            };
            let soonest = start + self.shortest;
            if soonest > limit {
                return None;
            }
            let finish = if soonest > gap.to() { soonest } else { self.finish_from(bay.hours, start, limit)? };
            if finish <= gap.to() {
                return Some(Candidate { bay, start, finish });
            }
            place = gaps.partition_point(|gap| gap.to() < finish);
        }
    }

    /// The latest slot at which the bay is open and that still allows the candidate's finish.
    fn latest_start(&self, candidate: &Candidate<'_>) -> Minute {
        let Candidate { bay, start, finish } = *candidate;
        let horizon = self.diary.horizon;
        let in_time = |start| self.finish_from(bay.hours, start, finish).is_some();
        // No start after this one leaves enough time, so most often it is the answer itself.
        let last = horizon.slot_before(finish - self.shortest + Minutes::new(1)).unwrap_or(start).max(start);
        let latest = if in_time(last) { last } else { horizon.last_in_time(start, last, in_time) };
        self.diary.open_slot_until(bay.hours, latest).unwrap_or(start).max(start)
    }
}

/// The indexes for which `fits` is true.
pub(super) fn places<T>(all: &[T], fits: impl Fn(&T) -> bool) -> Vec<usize> {
    all.iter().enumerate().filter(|(_, one)| fits(one)).map(|(place, _)| place).collect()
}

#[cfg(test)]
mod tests;

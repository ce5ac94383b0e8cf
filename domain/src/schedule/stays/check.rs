//! Checks whether a given visit keeps every rule.
//!
//! This is independent of the search: each step and wait is compared with all before it.

use alloc::string::String;
use alloc::vec::Vec;

use super::{Moving, Stay, StepOrder, Visit};
use crate::schedule::check::OTHER_WORK;
use crate::schedule::diary::BayTime;
use crate::schedule::{Diary, Holder, Obstacle, Step, window};
use crate::time::{Interval, Minute};

/// The first rule that a visit breaks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BrokenVisit {
    /// A rule that also applies to a placement in one bay.
    Placement(Obstacle),
    /// There is no stay, or more stays than the shop allows.
    Stays {
        /// Number of stays.
        stays: usize,
        /// Maximum number that the shop allows.
        most: u32,
    },
    /// The stays don't follow one another from start to finish, each for at least a minute.
    Apart,
    /// Two successive stays are in the bay of this code.
    SameBay(String),
    /// A stay in the bay of this code begins at a time when no step begins that could move the car.
    MoveWithoutStep(String),
}

impl From<Obstacle> for BrokenVisit {
    fn from(obstacle: Obstacle) -> Self {
        Self::Placement(obstacle)
    }
}

impl Diary {
    /// Checks a visit by this order against every rule, for example if a time that was offered before is now booked. It
    /// need not be the best one.
    ///
    /// # Errors
    /// [`BrokenVisit`] names the first rule that it breaks.
    pub fn check_visit(&self, order: &StepOrder, moving: Moving, visit: &Visit) -> Result<(), BrokenVisit> {
        let bays = self.check_stays(moving, visit)?;
        let (plan, needs) = (order.plan(), order.needs());
        if plan.steps().len() != visit.steps.len() {
            return Err(OTHER_WORK.into());
        }
        // Time when each step so far has ended, and when its wait has passed.
        let mut done: Vec<(Minute, Minute)> = Vec::new();
        let mut stay = 0;
        for (place, (step, placed)) in plan.steps().iter().zip(&visit.steps).enumerate() {
            let begins = placed.pieces.first().map(|piece| piece.from());
            let moves = place > 0 && begins.is_some() && begins == visit.stays.get(stay + 1).map(|next| next.from);
            stay += usize::from(moves);
            let minutes = if moves { step.minutes + moving.minutes } else { step.minutes };
            let Some(bay) = bays.get(stay) else { return Err(BrokenVisit::Apart) };
            if let Some(lacking) = needs.get(place).and_then(|needs| needs.difference(&bay.features).next()) {
                return Err(Obstacle::Feature { feature: lacking.clone() }.into());
            }
            let waits = done.iter().enumerate().filter(|(first, _)| plan.holds(*first).holds_back(*first, place));
            let ended = done.last().map_or(visit.start, |(end, _)| *end);
            let earliest = waits.fold(ended, |earliest, (_, (_, passed))| earliest.max(*passed));
            let end = self.check_step(bay, &Step { minutes, ..step.clone() }, placed, earliest)?;
            let passed = window::wait(self.open(bay), step.wait, end).ok_or(OTHER_WORK)?;
            done.push((end, passed));
        }
        if let Some(unreached) = visit.stays.get(stay + 1) {
            return Err(BrokenVisit::MoveWithoutStep(unreached.bay.clone()));
        }
        let finish = done.iter().map(|(_, passed)| *passed).max();
        if finish == Some(visit.finish) { Ok(()) } else { Err(OTHER_WORK.into()) }
    }

    /// Checks the stays by themselves, and returns their bays.
    fn check_stays(&self, moving: Moving, visit: &Visit) -> Result<Vec<&BayTime>, BrokenVisit> {
        let (stays, most) = (visit.stays.as_slice(), moving.max_stays.get());
        let (Some(first), Some(last)) = (stays.first(), stays.last()) else {
            return Err(BrokenVisit::Stays { stays: 0, most });
        };
        if u32::try_from(stays.len()).is_ok_and(|count| count > most) {
            return Err(BrokenVisit::Stays { stays: stays.len(), most });
        }
        let joined = stays.array_windows().all(|[one, next]| one.to == next.from);
        if !joined || first.from != visit.start || last.to != visit.finish {
            return Err(BrokenVisit::Apart);
        }
        if let Some([one, _]) = stays.array_windows().find(|[one, next]| one.bay == next.bay) {
            return Err(BrokenVisit::SameBay(one.bay.clone()));
        }
        let bays = stays.iter().map(|stay| self.check_stay(stay)).collect::<Result<Vec<_>, _>>()?;
        if !self.horizon.is_slot(visit.start) {
            return Err(Obstacle::OffSlot { slot: self.horizon.slot() }.into());
        }
        let open = bays.first().and_then(|bay| self.hours.get(bay.hours));
        if !open.is_some_and(|open| open.contains(visit.start)) {
            return Err(Obstacle::Closed.into());
        }
        Ok(bays)
    }

    /// Checks that a bay is free for a stay.
    fn check_stay(&self, stay: &Stay) -> Result<&BayTime, BrokenVisit> {
        let bay = self.bays.iter().find(|bay| bay.code == stay.bay).ok_or(Obstacle::NoBay)?;
        let held = Interval::new(stay.from, stay.to).ok_or(BrokenVisit::Apart)?;
        if bay.gaps.covers(held) { Ok(bay) } else { Err(Obstacle::BayTaken(Holder::Faster).into()) }
    }
}

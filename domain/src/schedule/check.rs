//! Checks whether a given placement keeps every rule.

use super::diary::BayTime;
use super::progress::Progress;
use super::{Diary, Holder, Obstacle, PlacedStep, Placement, Plan, Step, window};
use crate::time::{Interval, Minute, Minutes};

/// Obstacle that the work as a whole differs from the plan's.
pub(super) const OTHER_WORK: Obstacle = Obstacle::OtherWork { step: None };

impl Diary {
    /// Checks a placement of `plan` against every rule, for example when a time that was offered before is now booked. It
    /// need not be the best one.
    ///
    /// # Errors
    /// The first [`Obstacle`], for the rule that it breaks.
    pub fn check(&self, plan: &Plan, placement: &Placement) -> Result<(), Obstacle> {
        let bay = self.bays.iter().find(|bay| bay.code == placement.bay).ok_or(Obstacle::NoBay)?;
        if let Some(lacking) = plan.features().difference(&bay.features).next() {
            return Err(Obstacle::Feature { feature: lacking.clone() });
        }
        if !self.horizon.is_slot(placement.start) {
            return Err(Obstacle::OffSlot { slot: self.horizon.slot() });
        }
        if !self.is_open(bay, placement.start) {
            return Err(Obstacle::Closed);
        }
        let stay = Interval::new(placement.start, placement.finish).ok_or(OTHER_WORK)?;
        if !bay.gaps.covers(stay) {
            return Err(Obstacle::BayTaken(Holder::Faster));
        }
        if plan.steps().len() != placement.steps.len() {
            return Err(OTHER_WORK);
        }
        let mut progress = Progress::new(placement.start);
        for (place, (step, placed)) in plan.steps().iter().zip(&placement.steps).enumerate() {
            let end = self.check_step(bay, step, placed, progress.begin(plan, place))?;
            let passed = window::wait(self.open(bay), step.wait, end).ok_or(OTHER_WORK)?;
            progress.note(plan, place, end, passed);
        }
        if progress.finish() == placement.finish { Ok(()) } else { Err(OTHER_WORK) }
    }

    /// Checks one step that may begin at `earliest`, and returns when it ends.
    pub(super) fn check_step(
        &self,
        bay: &BayTime,
        step: &Step,
        placed: &PlacedStep,
        earliest: Minute,
    ) -> Result<Minute, Obstacle> {
        let other = || Obstacle::OtherWork { step: Some(step.code.clone()) };
        if step.code != placed.code {
            return Err(OTHER_WORK);
        }
        let (technician, first, last) = match (&placed.technician, placed.pieces.as_slice()) {
            (None, []) if step.minutes == Minutes::ZERO => return Ok(earliest),
            (Some(who), [first, .., last]) if step.minutes > Minutes::ZERO => (who, first, last),
            (Some(who), [only]) if step.minutes > Minutes::ZERO => (who, only, only),
            _ => return Err(other()),
        };
        let person = self.people.iter().find(|person| person.code == *technician);
        let person = person.ok_or_else(|| Obstacle::NobodyThere { person: technician.clone() })?;
        if let Some(lacking) = step.skills.difference(&person.skills).next() {
            let (person, step) = (technician.clone(), step.code.clone());
            return Err(Obstacle::Skill { person, step, skill: lacking.clone() });
        }
        if first.from() < earliest || !pieces_allowed(step, &placed.pieces) {
            return Err(other());
        }
        for piece in &placed.pieces {
            if !person.working.covers(*piece) {
                return Err(Obstacle::Away { person: technician.clone() });
            }
            if !person.free.covers(*piece) {
                return Err(Obstacle::Busy { person: technician.clone(), step: step.code.clone() });
            }
            if !self.hours.get(bay.hours).is_some_and(|open| open.covers(*piece)) {
                return Err(Obstacle::Closed);
            }
        }
        Ok(last.to())
    }

    fn is_open(&self, bay: &BayTime, at: Minute) -> bool {
        self.hours.get(bay.hours).is_some_and(|open| open.contains(at))
    }
}

/// Whether pieces are in order, apart, long enough but for the last, and make up the step's minutes.
fn pieces_allowed(step: &Step, pieces: &[Interval]) -> bool {
    let apart = pieces.array_windows().all(|[a, b]| a.to() < b.from());
    let long_enough = pieces.iter().rev().skip(1).all(|piece| piece.length() >= step.smallest_piece());
    apart && long_enough && pieces.iter().map(|piece| piece.length()).sum::<Minutes>() == step.minutes
}

#[cfg(test)]
mod tests;

//! Does a given visit keep every rule?
//!
//! Written down once more, with nothing of the search: each step and wait is compared with all before it.

use alloc::string::String;
use alloc::vec::Vec;

use super::{Moving, Stay, StepOrder, Visit};
use crate::schedule::diary::BayTime;
use crate::schedule::{Broken, Diary, PlacedStep, Step, window};
use crate::time::{Interval, Minute, Minutes};

/// The first rule that a visit breaks.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BrokenVisit {
    /// A rule that a placement in one bay has too.
    #[error(transparent)]
    Placement(#[from] Broken),
    /// There is no stay, or more than the shop allows.
    #[error("the car has {stays} stays, and from 1 to {most} are allowed; ask for times again")]
    Stays {
        /// How many it has.
        stays: usize,
        /// The most that the shop allows.
        most: u32,
    },
    /// The stays don't follow each other from start to finish, each for a minute at least.
    #[error("the stays do not follow each other from start to finish; ask for times again")]
    Apart,
    /// Two stays in a row are in one bay.
    #[error("the car leaves bay {0:?} for the same bay; make the two stays one")]
    SameBay(String),
    /// A stay begins when no step begins that could move the car.
    #[error("the car comes to bay {0:?} at a time when no step begins; ask for times again")]
    MoveWithoutStep(String),
}

impl Diary {
    /// Checks a visit by this order against every rule, as when a time that was offered before is now booked. It need
    /// not be the best one.
    ///
    /// # Errors
    /// [`BrokenVisit`] names the first rule that it breaks.
    pub fn check_visit(&self, order: &StepOrder, moving: Moving, visit: &Visit) -> Result<(), BrokenVisit> {
        let bays = self.check_stays(moving, visit)?;
        let (plan, needs) = (order.plan(), order.needs());
        if plan.steps().len() != visit.steps.len() {
            return Err(Broken::OtherSteps.into());
        }
        // When each step so far has ended and its wait has passed.
        let mut done: Vec<(Minute, Minute)> = Vec::new();
        let mut stay = 0;
        for (place, (step, placed)) in plan.steps().iter().zip(&visit.steps).enumerate() {
            let begins = placed.pieces.first().map(|piece| piece.from());
            let moves = place > 0 && begins.is_some() && begins == visit.stays.get(stay + 1).map(|next| next.from);
            stay += usize::from(moves);
            let minutes = if moves { step.minutes + moving.minutes } else { step.minutes };
            let Some(bay) = bays.get(stay) else { return Err(BrokenVisit::Apart) };
            if let Some(lacking) = needs.get(place).and_then(|needs| needs.difference(&bay.features).next()) {
                return Err(Broken::Feature { bay: bay.code.clone(), feature: lacking.clone() }.into());
            }
            let waits = done.iter().enumerate().filter(|(first, _)| plan.holds(*first).holds_back(*first, place));
            let ended = done.last().map_or(visit.start, |(end, _)| *end);
            let earliest = waits.fold(ended, |earliest, (_, (_, passed))| earliest.max(*passed));
            let end = self.check_work(bay, &Step { minutes, ..step.clone() }, placed, earliest)?;
            let passed = window::wait(self.open(bay), step.wait, end).ok_or(Broken::OtherFinish)?;
            done.push((end, passed));
        }
        if let Some(unreached) = visit.stays.get(stay + 1) {
            return Err(BrokenVisit::MoveWithoutStep(unreached.bay.clone()));
        }
        let finish = done.iter().map(|(_, passed)| *passed).max();
        if finish == Some(visit.finish) { Ok(()) } else { Err(Broken::OtherFinish.into()) }
    }

    /// Checks the stays by themselves, and answers their bays.
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
            return Err(Broken::OffSlot.into());
        }
        let open = bays.first().and_then(|bay| self.hours.get(bay.hours));
        if !open.is_some_and(|open| open.contains(visit.start)) {
            return Err(Broken::ClosedAtStart(first.bay.clone()).into());
        }
        Ok(bays)
    }

    /// Checks that a bay is free for a stay.
    fn check_stay(&self, stay: &Stay) -> Result<&BayTime, BrokenVisit> {
        let bay = self.bays.iter().find(|bay| bay.code == stay.bay);
        let bay = bay.ok_or_else(|| Broken::NoBay(stay.bay.clone()))?;
        let held = Interval::new(stay.from, stay.to).ok_or(BrokenVisit::Apart)?;
        if bay.gaps.covers(held) { Ok(bay) } else { Err(Broken::Taken(stay.bay.clone()).into()) }
    }

    /// Checks the work of one step that may begin at `earliest`, and answers when it ends.
    fn check_work(&self, bay: &BayTime, step: &Step, placed: &PlacedStep, earliest: Minute) -> Result<Minute, Broken> {
        let code = || step.code.clone();
        if step.code != placed.code {
            return Err(Broken::OtherSteps);
        }
        let (Some(technician), Some(first), Some(last)) =
            (&placed.technician, placed.pieces.first(), placed.pieces.last())
        else {
            let nobody = placed.technician.is_none() && placed.pieces.is_empty() && step.minutes == Minutes::ZERO;
            return if nobody { Ok(earliest) } else { Err(Broken::Attendance(code())) };
        };
        if step.minutes == Minutes::ZERO {
            return Err(Broken::Attendance(code()));
        }
        let person = self.people.iter().find(|person| person.code == *technician);
        let person = person.ok_or_else(|| Broken::NoTechnician(technician.clone()))?;
        if let Some(lacking) = step.skills.difference(&person.skills).next() {
            return Err(Broken::Skill { step: code(), technician: technician.clone(), skill: lacking.clone() });
        }
        if first.from() < earliest {
            return Err(Broken::TooSoon(code()));
        }
        let worked: Minutes = placed.pieces.iter().map(|piece| piece.length()).sum();
        let before_last = placed.pieces.iter().rev().skip(1);
        let long_enough = before_last.map(|piece| piece.length()).all(|length| length >= step.smallest_piece());
        let apart = placed.pieces.array_windows().all(|[one, next]| one.to() < next.from());
        if worked != step.minutes || !long_enough || !apart {
            return Err(Broken::Pieces(code()));
        }
        for piece in &placed.pieces {
            if !person.free.covers(*piece) {
                return Err(Broken::Busy { step: code(), technician: technician.clone() });
            }
            if !self.hours.get(bay.hours).is_some_and(|open| open.covers(*piece)) {
                return Err(Broken::Closed { step: code(), bay: bay.code.clone() });
            }
        }
        Ok(last.to())
    }
}

//! Does a given placement keep every rule?

use alloc::string::String;
use alloc::vec::Vec;

use super::diary::BayTime;
use super::progress::Progress;
use super::{Diary, PlacedStep, Placement, Plan, Step, window};
use crate::refusal::{Fault, Kind, Refusal};
use crate::time::{Interval, Minute, Minutes};

/// The first rule that a placement breaks.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Broken {
    /// The diary has no such bay.
    #[error("there is no bay {0:?}; choose one of the shop's bays")]
    NoBay(String),
    /// The bay lacks a feature that the job needs.
    #[error("bay {bay:?} has no {feature}; choose a bay that has it")]
    Feature {
        /// The bay's code.
        bay: String,
        /// The first feature that it lacks.
        feature: String,
    },
    /// The start is not one of the horizon's slots.
    #[error("the start is not on a slot; choose one of the times offered")]
    OffSlot,
    /// The bay is closed at the start.
    #[error("bay {0:?} is closed at that start; choose one of the times offered")]
    ClosedAtStart(String),
    /// The bay is not free for the whole time.
    #[error("bay {0:?} is taken, or the time goes beyond the diary; ask for times again")]
    Taken(String),
    /// Steps are missing, surplus or out of order.
    #[error("the steps are not those of the plan in the plan's order; ask for times again")]
    OtherSteps,
    /// A step without minutes has a technician or pieces, or one with minutes has no technician.
    #[error("step {0:?} must have a technician if it has minutes, and none if it has not; ask for times again")]
    Attendance(String),
    /// The diary has no such technician.
    #[error("there is no technician {0:?}; choose one of the shop's")]
    NoTechnician(String),
    /// The technician lacks a skill.
    #[error("technician {technician:?} lacks the skill {skill} for step {step:?}; choose one who has it")]
    Skill {
        /// The step's code.
        step: String,
        /// The technician's code.
        technician: String,
        /// The first skill that they lack.
        skill: String,
    },
    /// A step begins before the one before it has ended, before a wait has passed that holds it back, or before the
    /// start.
    #[error(
        "step {0:?} begins before the end of the previous step or of a wait that holds it back; ask for times again"
    )]
    TooSoon(String),
    /// The pieces are not those that the step allows.
    #[error("step {0:?} is split into pieces that it does not allow, or has the wrong minutes; ask for times again")]
    Pieces(String),
    /// The technician does not work then, or has other work.
    #[error("technician {technician:?} is not free for step {step:?}; ask for times again")]
    Busy {
        /// The step's code.
        step: String,
        /// The technician's code.
        technician: String,
    },
    /// Attended work while the bay is closed.
    #[error("bay {bay:?} is closed during step {step:?}; ask for times again")]
    Closed {
        /// The step's code.
        step: String,
        /// The bay's code.
        bay: String,
    },
    /// The finish is not the latest end of all steps and waits.
    #[error("the finish is not the end of the latest step or wait; ask for times again")]
    OtherFinish,
}

impl Refusal for Broken {
    fn kind(&self) -> Kind {
        match self {
            Self::Taken(_) | Self::Busy { .. } | Self::Closed { .. } | Self::ClosedAtStart(_) => Kind::Conflict,
            _ => Kind::Invalid,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::NoBay(_) => "no-such-bay",
            Self::Feature { .. } => "bay-lacks-feature",
            Self::OffSlot => "start-off-slot",
            Self::ClosedAtStart(_) => "closed-at-start",
            Self::Taken(_) => "bay-taken",
            Self::OtherSteps => "other-steps",
            Self::Attendance(_) => "step-attendance",
            Self::NoTechnician(_) => "no-such-technician",
            Self::Skill { .. } => "technician-lacks-skill",
            Self::TooSoon(_) => "step-too-soon",
            Self::Pieces(_) => "step-pieces",
            Self::Busy { .. } => "technician-busy",
            Self::Closed { .. } => "closed-during-step",
            Self::OtherFinish => "other-finish",
        }
    }

    fn faults(&self) -> Vec<Fault> {
        let pointer = match self {
            Self::NoBay(_) | Self::Feature { .. } | Self::Taken(_) => "/bay",
            Self::OffSlot | Self::ClosedAtStart(_) => "/start",
            Self::OtherFinish => "/finish",
            _ => "/steps",
        };
        alloc::vec![Fault { pointer: pointer.into(), code: self.code(), detail: alloc::format!("{self}") }]
    }
}

impl Diary {
    /// Checks a placement of `plan` against every rule, as when a time that was offered before is now booked. It
    /// need not be the best one.
    ///
    /// # Errors
    /// [`Broken`] names the first rule that it breaks.
    pub fn check(&self, plan: &Plan, placement: &Placement) -> Result<(), Broken> {
        let bay = self.bays.iter().find(|bay| bay.code == placement.bay);
        let bay = bay.ok_or_else(|| Broken::NoBay(placement.bay.clone()))?;
        let code = || bay.code.clone();
        if let Some(lacking) = plan.features().difference(&bay.features).next() {
            return Err(Broken::Feature { bay: code(), feature: lacking.clone() });
        }
        if !self.horizon.is_slot(placement.start) {
            return Err(Broken::OffSlot);
        }
        if !self.is_open(bay, placement.start) {
            return Err(Broken::ClosedAtStart(code()));
        }
        let stay = Interval::new(placement.start, placement.finish).ok_or(Broken::OtherFinish)?;
        if !bay.gaps.covers(stay) {
            return Err(Broken::Taken(code()));
        }
        if plan.steps().len() != placement.steps.len() {
            return Err(Broken::OtherSteps);
        }
        let mut progress = Progress::new(placement.start);
        for (place, (step, placed)) in plan.steps().iter().zip(&placement.steps).enumerate() {
            let end = self.check_step(bay, step, placed, progress.begin(plan, place))?;
            let passed = window::wait(self.open(bay), step.wait, end).ok_or(Broken::OtherFinish)?;
            progress.note(plan, place, end, passed);
        }
        if progress.finish() == placement.finish { Ok(()) } else { Err(Broken::OtherFinish) }
    }

    /// Checks one step that may begin at `earliest`, and answers when it ends.
    fn check_step(&self, bay: &BayTime, step: &Step, placed: &PlacedStep, earliest: Minute) -> Result<Minute, Broken> {
        let code = || step.code.clone();
        if step.code != placed.code {
            return Err(Broken::OtherSteps);
        }
        let (technician, first, last) = match (&placed.technician, placed.pieces.as_slice()) {
            (None, []) if step.minutes == Minutes::ZERO => return Ok(earliest),
            (Some(who), [first, .., last]) if step.minutes > Minutes::ZERO => (who, first, last),
            (Some(who), [only]) if step.minutes > Minutes::ZERO => (who, only, only),
            _ => return Err(Broken::Attendance(code())),
        };
        let person = self.people.iter().find(|person| person.code == *technician);
        let person = person.ok_or_else(|| Broken::NoTechnician(technician.clone()))?;
        if let Some(lacking) = step.skills.difference(&person.skills).next() {
            return Err(Broken::Skill { step: code(), technician: technician.clone(), skill: lacking.clone() });
        }
        if first.from() < earliest {
            return Err(Broken::TooSoon(code()));
        }
        if !pieces_allowed(step, &placed.pieces) {
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

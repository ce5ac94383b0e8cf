//! The work plan as the schedule takes it.

use alloc::string::String;
use alloc::vec::Vec;

use super::{Hands, PlannedStep, WorkPlan, features};
use crate::menu::{Holds, WaitWhen};
use crate::schedule::{self, Unplannable, Work};

impl WorkPlan {
    /// The plan in the schedule's terms: each step occupies somebody for its attended minutes and its changeovers, or two
    /// people where it is for two.
    ///
    /// # Errors
    /// [`Unplannable`] where no step takes time.
    pub fn to_schedule(&self) -> Result<schedule::Plan, Unplannable> {
        part(&self.steps)
    }

    /// The plan as two visits, the first of which ends after so many steps with their waits. The car leaves in between,
    /// so each visit needs only its own bay features.
    ///
    /// # Errors
    /// [`Unplannable`] where one of them would have no step that takes time.
    pub fn in_two_visits(&self, first: usize) -> Result<[schedule::Plan; 2], Unplannable> {
        let (first, second) = self.steps.split_at(first.min(self.steps.len()));
        Ok([part(first)?, part(second)?])
    }
}

fn part(steps: &[PlannedStep]) -> Result<schedule::Plan, Unplannable> {
    let features = features(steps).iter().map(|code| String::from(code.as_str())).collect();
    let plan = schedule::Plan::new(features, steps.iter().map(step).collect())?;
    Ok(plan.holding(holds(&steps.iter().collect::<Vec<_>>())))
}

/// For each of these steps which of them its wait holds back.
pub(super) fn holds(steps: &[&PlannedStep]) -> Vec<schedule::Holds> {
    let followers = |first: &PlannedStep| {
        let later = steps.iter().enumerate().filter(|(_, then)| then.after.contains(&first.code));
        later.map(|(place, _)| place).collect()
    };
    let of = |first: &&PlannedStep| match first.wait.holds {
        Holds::Car => schedule::Holds::Car,
        Holds::After => schedule::Holds::After(followers(first)),
    };
    steps.iter().map(of).collect()
}

pub(super) fn step(planned: &PlannedStep) -> schedule::Step {
    let when = match planned.wait.when {
        WaitWhen::Any => schedule::WaitWhen::Any,
        WaitWhen::Open => schedule::WaitWhen::Open,
    };
    let step = schedule::Step {
        code: String::from(planned.code.as_str()),
        minutes: planned.occupied(),
        skills: planned.skills.iter().map(|code| String::from(code.as_str())).collect(),
        work: planned.split.map_or(Work::Whole, |split| Work::Pieces { smallest: split.piece }),
        wait: schedule::Wait { minutes: planned.wait.minutes, when },
    };
    match planned.hands {
        Hands::One => step,
        Hands::Two => step.for_two(),
    }
}

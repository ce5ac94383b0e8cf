//! The work plan as the schedule takes it.

use alloc::string::String;
use alloc::vec::Vec;

use super::{PlannedStep, WorkPlan};
use crate::menu::{Code, WaitWhen};
use crate::schedule::{self, Unplannable, Work};

impl WorkPlan {
    /// The plan in the schedule's terms: each step occupies somebody for its attended minutes and its changeovers.
    ///
    /// # Errors
    /// [`Unplannable`] where no step takes time.
    pub fn to_schedule(&self) -> Result<schedule::Plan, Unplannable> {
        let text = |code: &Code| String::from(code.as_str());
        let features = self.features.iter().map(text).collect();
        let steps: Vec<schedule::Step> = self.steps.iter().map(step).collect();
        schedule::Plan::new(features, steps)
    }
}

fn step(planned: &PlannedStep) -> schedule::Step {
    let when = match planned.wait.when {
        WaitWhen::Any => schedule::WaitWhen::Any,
        WaitWhen::Open => schedule::WaitWhen::Open,
    };
    schedule::Step {
        code: String::from(planned.code.as_str()),
        minutes: planned.occupied(),
        skills: planned.skills.iter().map(|code| String::from(code.as_str())).collect(),
        work: planned.split.map_or(Work::Whole, |split| Work::Pieces { smallest: split.piece }),
        wait: schedule::Wait { minutes: planned.wait.minutes, when },
    }
}

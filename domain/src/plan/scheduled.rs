//! The work plan as the schedule takes it.

use alloc::collections::BTreeSet;
use alloc::string::String;

use chrono::{DateTime, Utc};

use super::{PlannedStep, WorkPlan, features};
use crate::job::{Job, JobStep};
use crate::menu::WaitWhen;
use crate::schedule::{self, Unplannable, Work};
use crate::time::Minutes;

impl WorkPlan {
    /// The plan in the schedule's terms: each step occupies somebody for its attended minutes and its changeovers.
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

/// What of an open step is left to do, with its setting up and clearing up: what it was planned for less the minutes that
/// somebody was at it.
fn left_of(planned: &PlannedStep, step: &JobStep, now: DateTime<Utc>) -> Minutes {
    Minutes::new(planned.occupied().get().saturating_sub(step.attended(now).get()))
}

impl WorkPlan {
    /// What of a job under way is left to do, in the schedule's terms; `None` where nothing is left that takes time. A step
    /// that the job does not have counts in full.
    pub fn rest(&self, job: &Job, now: DateTime<Utc>) -> Option<schedule::Plan> {
        let of = |planned: &PlannedStep| job.steps.iter().find(|step| step.code == planned.code);
        let open = |planned: &&PlannedStep| of(planned).is_none_or(|step| !step.state.is_settled());
        let steps = self.steps.iter().filter(open).map(|planned| {
            let minutes = of(planned).map_or(planned.occupied(), |step| left_of(planned, step, now));
            schedule::Step { minutes, ..step(planned) }
        });
        // The bay is given: the car stands in it.
        schedule::Plan::new(BTreeSet::new(), steps.collect()).ok()
    }
}

fn part(steps: &[PlannedStep]) -> Result<schedule::Plan, Unplannable> {
    let features = features(steps).iter().map(|code| String::from(code.as_str())).collect();
    schedule::Plan::new(features, steps.iter().map(step).collect())
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

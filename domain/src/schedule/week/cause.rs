//! The reason why a job of a week does not keep the place that its customer was told.

use alloc::string::String;

use super::{Job, Problem, Week};
use crate::schedule::pair::share_a_person;
use crate::schedule::{Obstacle, Placement};
use crate::time::Interval;

/// Reason why a place changes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cause {
    /// The place breaks a rule in the diary as it is, before any job of the week is placed: the bay is taken or closed,
    /// somebody is busy or away, or the work has changed.
    Obstacle(Obstacle),
    /// Another job of the week has the bay then.
    Bay {
        /// Code of that job.
        job: String,
    },
    /// Another job of the week has the technician then.
    Technician {
        /// Code of the technician.
        technician: String,
        /// Code of that job.
        job: String,
    },
}

impl Week {
    /// Reason why a job has another start, finish or bay than its customer was told; `None` if it has the same, if
    /// nothing was told, or if its old place is still free and the new one is only better.
    pub fn cause(&self, problem: &Problem, job: &Job) -> Option<Cause> {
        let told = job.promised.as_ref()?;
        let (_, now) = self.placements.iter().find(|(code, _)| *code == job.code)?;
        if (&now.bay, now.start, now.finish) == (&told.bay, told.start, told.finish) {
            return None;
        }
        if let Err(obstacle) = problem.diary().check(&job.plan, told) {
            return Some(Cause::Obstacle(obstacle));
        }
        let mut others = self.placements.iter().filter(|(code, _)| *code != job.code);
        others.find_map(|(code, other)| in_the_way(told, other, code))
    }
}

/// The part of a promised placement that another one takes.
fn in_the_way(told: &Placement, other: &Placement, code: &str) -> Option<Cause> {
    let stay = |placement: &Placement| Interval::new(placement.start, placement.finish);
    if told.bay == other.bay && stay(told)?.overlaps(stay(other)?) {
        return Some(Cause::Bay { job: code.into() });
    }
    told.steps.iter().find_map(|step| {
        let technician = step.technician.as_ref()?;
        let busy = other
            .steps
            .iter()
            .filter(|theirs| theirs.technician.as_ref().is_some_and(|theirs| share_a_person(technician, theirs)));
        let meets = |piece: &Interval| step.pieces.iter().any(|mine| mine.overlaps(*piece));
        busy.flat_map(|theirs| &theirs.pieces)
            .any(meets)
            .then(|| Cause::Technician { technician: technician.clone(), job: code.into() })
    })
}

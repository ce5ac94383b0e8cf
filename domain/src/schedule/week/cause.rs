//! The reason why a job of a week does not keep the place that its customer was told.

use alloc::string::String;

use super::{Job, Problem, Week};
use crate::schedule::Obstacle;
use crate::schedule::pair::share_a_person;
use crate::schedule::stays::{BrokenVisit, Stay, Visit};
use crate::time::Interval;

/// Reason why a place changes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cause {
    /// The place breaks a rule in the diary as it is, before any job of the week is placed: the bay is taken or closed,
    /// somebody is busy or away, or the work has changed.
    Obstacle(Obstacle),
    /// Another job of the week has a bay of its then.
    Bay {
        /// Code of the bay.
        bay: String,
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
    /// nothing was told, or if its old place is still free and the new one is only better. A place with more moves than
    /// the shop allows now counts as one for other work.
    pub fn cause(&self, problem: &Problem, job: &Job) -> Option<Cause> {
        let told = job.promised.as_ref()?;
        let (_, now) = self.visits.iter().find(|(code, _)| *code == job.code)?;
        if same_place(now, told) {
            return None;
        }
        if let Some(obstacle) = broken(problem, job, told) {
            return Some(Cause::Obstacle(obstacle));
        }
        let mut others = self.visits.iter().filter(|(code, _)| *code != job.code);
        others.find_map(|(code, other)| in_the_way(told, other, code))
    }
}

/// The first rule that a promised visit breaks in the diary before any job of the week is placed.
fn broken(problem: &Problem, job: &Job, told: &Visit) -> Option<Obstacle> {
    if told.stays.len() == 1 {
        return problem.diary().check(job.order.plan(), &told.placement()).err();
    }
    match problem.diary().check_visit(&job.order, job.moving, told).err()? {
        BrokenVisit::Placement(obstacle) => Some(obstacle),
        _ => Some(Obstacle::OtherWork { step: None }),
    }
}

/// Whether two visits of a job have the same bays at the same times.
pub(super) fn same_place(one: &Visit, other: &Visit) -> bool {
    (one.start, one.finish) == (other.start, other.finish) && one.stays == other.stays
}

/// The part of a promised visit that another one takes.
fn in_the_way(told: &Visit, other: &Visit, code: &str) -> Option<Cause> {
    let meets = |stay: &&Stay| {
        other.stays.iter().any(|theirs| theirs.bay == stay.bay && theirs.from < stay.to && stay.from < theirs.to)
    };
    if let Some(stay) = told.stays.iter().find(meets) {
        return Some(Cause::Bay { bay: stay.bay.clone(), job: code.into() });
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

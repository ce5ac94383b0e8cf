//! Finds out whether one more job can be taken, and what moves for it.

use alloc::string::String;
use alloc::vec::Vec;
use core::slice;

use super::{Answer, Budget, Job, Moved, Problem, week};
use crate::schedule::stays::Visit;
use crate::schedule::{Diary, Unplannable};

/// Result of taking one more job that is ready by its due time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WhatIf {
    /// It fits, and the other jobs stay where they are.
    FitsIn(Visit),
    /// It fits if other jobs move.
    GivesWay {
        /// The new job's visit.
        visit: Visit,
        /// The others' visits that changed, by the job's code.
        others: Vec<(String, Visit)>,
        /// Every promise that moves: as few as possible.
        moved: Vec<Moved>,
    },
    /// No schedule was found that has it ready in time and places all others.
    No {
        /// Whether it is proven that there is none; else a longer search may find one.
        proven: bool,
    },
}

/// Computes what moves if `more` is taken and ready by its due time. Each of `placed` is where its job's
/// [`promised`](Job::promised) visit says; a job without one is placed like the new one. Nothing is changed: the
/// result is for a person who decides.
///
/// # Errors
/// [`Unplannable::SameCode`] if two jobs share a code.
pub fn what_if(diary: &Diary, placed: &[Job], more: &Job, budget: &Budget<'_>) -> Result<WhatIf, Unplannable> {
    let mut booked = diary.clone();
    placed.iter().filter_map(|job| job.promised.as_ref()).for_each(|told| booked.book_visit(told));
    let all_stay = placed.iter().all(|job| job.promised.is_some());
    let in_time = |visit: &Visit| visit.finish <= more.due;
    let visits = booked.visits(slice::from_ref(&more.order), more.moving);
    if all_stay && let Some(visit) = visits.earliest(more.arrives).filter(in_time) {
        return Ok(WhatIf::FitsIn(visit));
    }
    let hurried = Job { latest: Some(more.latest.map_or(more.due, |latest| latest.min(more.due))), ..more.clone() };
    let jobs: Vec<Job> = placed.iter().cloned().chain([hurried]).collect();
    let problem = Problem::new(diary.clone(), jobs)?;
    let mut found = match week(&problem, budget) {
        Answer::Placed(found) => found,
        Answer::Unplaced { proven, .. } => return Ok(WhatIf::No { proven }),
    };
    let Some((_, visit)) = found.visits.pop() else { return Ok(WhatIf::No { proven: false }) };
    let as_before = |job: &Job, visit: &Visit| job.promised.as_ref() == Some(visit);
    let others = placed.iter().zip(found.visits).filter(|(job, (_, now))| !as_before(job, now));
    let others = others.map(|(_, other)| other).collect();
    Ok(WhatIf::GivesWay { visit, others, moved: found.moved })
}

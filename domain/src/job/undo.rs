//! Undoing moves of a step.

use alloc::string::String;
use alloc::vec::Vec;

use chrono::{DateTime, Utc};

use super::{Job, JobRefusal, JobStep, StepMove};
use crate::menu::{Code, Holds};

/// A move that was made on a step, with the step as it was before, so that it can be undone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Made {
    /// The move.
    pub what: StepMove,
    /// Time when it was made.
    pub at: DateTime<Utc>,
    /// The step before it.
    pub before: JobStep,
}

impl Job {
    /// Undoes the last move of a step: its state, the pieces of work, when it was finished, when it is dry and why it
    /// was removed are as they were before. Its position in the plan stays, because a later plan may have changed
    /// it.
    ///
    /// # Errors
    /// [`JobRefusal`] if later steps that depend on it have begun, or if somebody whose clock would run again now works
    /// on another step of this job.
    pub fn undo(&mut self, code: &Code, last: &Made) -> Result<(), JobRefusal> {
        let at = self.place(code)?;
        let state = self.steps[at].state.undo(last.what, last.before.state)?;
        self.nothing_built_on(at, last)?;
        self.free_again(at, &last.before)?;
        let step = &mut self.steps[at];
        step.state = state;
        step.pieces.clone_from(&last.before.pieces);
        step.finished_at = last.before.finished_at;
        step.clear_from = last.before.clear_from;
        step.removal_reason.clone_from(&last.before.removal_reason);
        Ok(())
    }

    /// Refuses if steps began because this one was settled, or because it was dry early.
    fn nothing_built_on(&self, at: usize, last: &Made) -> Result<(), JobRefusal> {
        let step = &self.steps[at];
        let opens_again = step.state.is_settled() && !last.before.state.is_settled();
        if !opens_again && last.what != StepMove::EndWait {
            return Ok(());
        }
        // If a wait that held the whole car was ended early, any step could begin. Work from the very time at which the
        // step was finished came before the wait.
        let held = last.what == StepMove::EndWait && step.holds == Holds::Car;
        let since = |from| from >= last.at && step.finished_at.is_none_or(|finished| finished < from);
        let begun_since = |later: &&JobStep| later.pieces.iter().any(|piece| since(piece.from));
        let builds_on = |later: &&JobStep| later.has_begun_after(&step.code) || (held && begun_since(later));
        let on: Vec<String> = self.steps.iter().filter(builds_on).map(|later| later.name.clone()).collect();
        if on.is_empty() { Ok(()) } else { Err(JobRefusal::BuiltOn { step: step.name.clone(), on }) }
    }

    /// Refuses if somebody's clock would run at two steps of this job.
    fn free_again(&self, at: usize, before: &JobStep) -> Result<(), JobRefusal> {
        let running = before.pieces.iter().filter(|piece| piece.until.is_none());
        for piece in running.filter(|piece| !self.steps[at].is_at_it(&piece.who)) {
            if let Some(other) = self.steps.iter().find(|step| step.is_at_it(&piece.who)) {
                return Err(JobRefusal::Busy(other.name.clone()));
            }
        }
        Ok(())
    }
}

impl JobStep {
    /// Whether a step had to wait for that one and has begun.
    pub(super) fn has_begun_after(&self, first: &Code) -> bool {
        self.after.contains(first) && !self.pieces.is_empty()
    }
}

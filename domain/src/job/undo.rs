//! Undoing moves of a step.

use alloc::string::String;
use alloc::vec::Vec;

use chrono::{DateTime, Utc};

use super::{Job, JobRefusal, JobStep, Piece, StepMove};
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
    /// it. `elsewhere` is the work on other cars of the people who worked on it, each with a name to say where it was.
    ///
    /// # Errors
    /// [`JobRefusal`] if later steps that depend on it have begun, if somebody whose clock would run again now works
    /// elsewhere, or if somebody would have been at two things at once.
    pub fn undo(&mut self, code: &Code, last: &Made, elsewhere: &[(String, Piece)]) -> Result<(), JobRefusal> {
        let at = self.place(code)?;
        let state = self.steps[at].state.undo(last.what, last.before.state)?;
        self.nothing_built_on(at, last)?;
        self.nobody_twice(at, &last.before, elsewhere)?;
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

    /// Refuses if work that counts again would overlap other work of the same person. A clock that runs again runs from
    /// its old start, so whatever the person began since the clock was stopped is in the way, ended or not.
    fn nobody_twice(&self, at: usize, before: &JobStep, elsewhere: &[(String, Piece)]) -> Result<(), JobRefusal> {
        let step = &self.steps[at];
        let back: Vec<&Piece> = before.pieces.iter().filter(|piece| !step.pieces.contains(piece)).collect();
        let runs_twice = |other: &Piece| {
            back.iter().any(|piece| piece.until.is_none() && piece.who == other.who && other.until.is_none())
        };
        if let Some((name, _)) = self.others(at, elsewhere).find(|(_, other)| runs_twice(other)) {
            return Err(JobRefusal::Busy(String::from(name)));
        }
        let mut on: Vec<String> = Vec::new();
        for (name, other) in self.others(at, elsewhere) {
            if back.iter().any(|piece| piece.overlaps(other)) && !on.iter().any(|known| known == name) {
                on.push(String::from(name));
            }
        }
        if on.is_empty() { Ok(()) } else { Err(JobRefusal::WorkedSince { step: step.name.clone(), on }) }
    }
}

impl JobStep {
    /// Whether a step had to wait for that one and has begun.
    pub(super) fn has_begun_after(&self, first: &Code) -> bool {
        self.after.contains(first) && !self.pieces.is_empty()
    }
}

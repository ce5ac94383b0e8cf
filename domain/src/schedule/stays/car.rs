//! How far a car is, and what is settled of its way.

use alloc::vec::Vec;

use crate::schedule::Plan;
use crate::schedule::progress::Progress;
use crate::time::Minute;

/// A gap of a bay, by their places in the diary.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Spot {
    pub(super) bay: usize,
    pub(super) gap: usize,
}

/// A car with the first steps of its order done.
#[derive(Debug, Clone)]
pub(super) struct Car {
    /// When it took its first bay.
    pub(super) start: Minute,
    /// Which of its stays it is in, from 0.
    pub(super) stay: usize,
    pub(super) at: Spot,
    /// What of the work and the waits so far holds back later steps.
    pub(super) progress: Progress,
    /// When the next step may begin, as far as what was done before goes.
    pub(super) begin: Minute,
}

impl Car {
    /// A car that comes at `start`, with nothing done.
    pub(super) const fn arriving(start: Minute, at: Spot) -> Self {
        Self { start, stay: 0, at, progress: Progress::new(start), begin: start }
    }

    /// Whether this car can do all that the other one in the same gap can, as early at least: all of what a later step
    /// asks for has ended no later. `next` is the step before both, `held` are the steps that single waits hold back.
    pub(super) fn is_no_later(&self, other: &Self, plan: &Plan, next: usize, held: &[usize]) -> bool {
        let begins_no_later = |step: &usize| self.progress.begin(plan, *step) <= other.progress.begin(plan, *step);
        self.begin <= other.begin
            && self.progress.finish() <= other.progress.finish()
            && held.iter().filter(|step| **step > next).all(begins_no_later)
    }
}

/// What the rest of a car's way has to keep.
#[derive(Debug, Clone)]
pub(super) struct Terms {
    /// The latest minute at which any step or wait may end.
    pub(super) limit: Minute,
    /// The most stays from start to finish.
    pub(super) stays: usize,
    /// The bays of the first stays, where they are settled.
    pub(super) bays: Vec<usize>,
    /// The steps with which the stays after the first one begin, where they are settled.
    pub(super) moves: Vec<usize>,
}

impl Terms {
    /// No bay and no move is settled.
    pub(super) const fn free(limit: Minute, stays: usize) -> Self {
        Self { limit, stays, bays: Vec::new(), moves: Vec::new() }
    }

    /// Whether any bay or move is settled, so that it matters which of its stays a car is in.
    pub(super) fn settled(&self) -> bool {
        !self.bays.is_empty() || !self.moves.is_empty()
    }

    /// Whether a stay may be in this bay.
    pub(super) fn allows(&self, stay: usize, bay: usize) -> bool {
        self.bays.get(stay).is_none_or(|settled| *settled == bay)
    }

    /// Whether a car in this stay may remain in it for the step.
    pub(super) fn may_remain(&self, stay: usize, step: usize) -> bool {
        self.moves.get(stay) != Some(&step)
    }

    /// Whether a car in this stay may end it when the step begins.
    pub(super) fn may_move(&self, stay: usize, step: usize) -> bool {
        stay + 1 < self.stays && self.moves.get(stay).is_none_or(|settled| *settled == step)
    }
}

//! State of a car in the search, and the choices that are already made for it.

use alloc::vec::Vec;

use crate::schedule::Plan;
use crate::schedule::progress::Progress;
use crate::time::Minute;

/// A gap of a bay, by their indexes in the diary.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Spot {
    pub(super) bay: usize,
    pub(super) gap: usize,
}

/// A car with the first steps of its order done.
#[derive(Debug, Clone)]
pub(super) struct Car {
    /// Time when it took its first bay.
    pub(super) start: Minute,
    /// Index of its current stay, from 0.
    pub(super) stay: usize,
    pub(super) at: Spot,
    /// Progress of its work: what holds back later steps.
    pub(super) progress: Progress,
    /// Time when the next step may begin, considering only what was done before.
    pub(super) begin: Minute,
}

impl Car {
    /// A car that comes at `start`, with nothing done.
    pub(super) const fn arriving(start: Minute, at: Spot) -> Self {
        Self { start, stay: 0, at, progress: Progress::new(start), begin: start }
    }

    /// Whether this car can do everything that the other one in the same gap can, at least as early: everything that a
    /// later step waits for ends no later. `next` is the step that both do next, `held` are the steps that are held
    /// back by waits that do not hold the whole car.
    pub(super) fn is_no_later(&self, other: &Self, plan: &Plan, next: usize, held: &[usize]) -> bool {
        let begins_no_later = |step: &usize| self.progress.begin(plan, *step) <= other.progress.begin(plan, *step);
        self.begin <= other.begin
            && self.progress.finish() <= other.progress.finish()
            && held.iter().filter(|step| **step > next).all(begins_no_later)
    }
}

/// Conditions for the rest of a car's visit.
#[derive(Debug, Clone)]
pub(super) struct Terms {
    /// The latest minute at which any step or wait may end.
    pub(super) limit: Minute,
    /// Maximum number of stays from start to finish.
    pub(super) stays: usize,
    /// Bays of the first stays, as far as they are chosen.
    pub(super) bays: Vec<usize>,
    /// Steps with which the stays after the first one begin, as far as they are chosen.
    pub(super) moves: Vec<usize>,
}

impl Terms {
    /// Conditions without any chosen bay or move.
    pub(super) const fn free(limit: Minute, stays: usize) -> Self {
        Self { limit, stays, bays: Vec::new(), moves: Vec::new() }
    }

    /// Whether any bay or move is chosen, so that it matters in which of its stays a car is.
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

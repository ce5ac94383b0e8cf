//! Lower bounds for the remaining steps, whatever is chosen for them.

use alloc::vec;
use alloc::vec::Vec;

use super::{Moving, StepOrder};
use crate::schedule::diary::BayTime;
use crate::schedule::{Diary, Holds};
use crate::time::Minutes;

/// Lower bounds for the moves and the time of the last steps of an order, in bays without other cars.
#[derive(Debug, Clone)]
pub(in crate::schedule) struct Bounds {
    /// For each bay and step, the first step from that one on that the bay can't serve; the number of steps if it
    /// serves them all.
    served_until: Vec<Vec<usize>>,
    /// For each step the minimum number of stays for it and all later ones; `None` if one of them has no bay.
    stays: Vec<Option<usize>>,
    /// For each step the minutes of it and all later ones, and of their waits that hold the whole car, none of which
    /// overlap.
    one_by_one: Vec<Minutes>,
    /// For each step the minimum time from its start to the end of all steps and waits, without moves.
    least: Vec<Minutes>,
    /// Minutes of a move.
    per_move: Minutes,
}

impl Bounds {
    pub(in crate::schedule) fn new(diary: &Diary, order: &StepOrder, moving: Moving) -> Self {
        let count = order.plan().steps().len();
        let served_until: Vec<Vec<usize>> = diary.bays.iter().map(|bay| served_until(bay, order)).collect();
        let mut stays = vec![Some(0); count + 1];
        for step in (0..count).rev() {
            // Staying in one bay for as long as it serves never needs more stays than leaving it sooner.
            let until = served_until.iter().filter_map(|bay| bay.get(step).copied()).max();
            stays[step] = until.filter(|until| *until > step).and_then(|until| stays[until]).map(|stays| stays + 1);
        }
        let (mut one_by_one, mut least) = (vec![Minutes::ZERO; count + 1], vec![Minutes::ZERO; count + 1]);
        for (place, step) in order.plan().steps().iter().enumerate().rev() {
            let (wait, holds_car) = (step.wait.minutes, *order.plan().holds(place) == Holds::Car);
            let held = if holds_car { wait } else { Minutes::ZERO };
            one_by_one[place] = step.minutes + held + one_by_one[place + 1];
            least[place] = step.minutes + (held + least[place + 1]).max(wait);
        }
        Self { served_until, stays, one_by_one, least, per_move: moving.minutes }
    }

    /// Whether the bay has what the step needs.
    pub(in crate::schedule) fn serves(&self, bay: usize, step: usize) -> bool {
        self.until(bay, step).is_some_and(|until| until > step)
    }

    /// The minimum number of stays in which all steps can be done; `None` if one of them has no bay.
    pub(in crate::schedule) fn fewest_stays(&self) -> Option<usize> {
        self.stays.first().copied().flatten()
    }

    /// The minimum number of moves of a car that is in this bay and has to do the steps from this one on.
    pub(in crate::schedule) fn moves(&self, bay: usize, step: usize) -> Option<usize> {
        self.stays.get(self.until(bay, step)?).copied().flatten()
    }

    /// The minimum time from the start of the step to the end of all steps and waits, for a car in this bay.
    pub(in crate::schedule) fn time(&self, bay: usize, step: usize) -> Option<Minutes> {
        let moves = u32::try_from(self.moves(bay, step)?).unwrap_or(u32::MAX);
        let moving = Minutes::new(self.per_move.get().saturating_mul(moves));
        // A car may be moved during a wait that holds back single steps, so moves are added only to the times that
        // can't overlap.
        Some((*self.one_by_one.get(step)? + moving).max(*self.least.get(step)?))
    }

    fn until(&self, bay: usize, step: usize) -> Option<usize> {
        self.served_until.get(bay)?.get(step).copied()
    }
}

/// For each step the first one from it on that the bay can't serve.
fn served_until(bay: &BayTime, order: &StepOrder) -> Vec<usize> {
    let count = order.needs().len();
    let mut until = vec![count; count + 1];
    for (step, needs) in order.needs().iter().enumerate().rev() {
        until[step] = if needs.is_subset(&bay.features) { until[step + 1] } else { step };
    }
    until
}

//! When the next step of a plan may begin, as its steps are done one after another.
//!
//! A step begins no sooner than the end of the step before it, than the end of every wait that holds the car, and than
//! the end of every wait that holds back this very step. All of these are lower bounds, and each of them never falls as
//! an earlier step ends later. So ending a step sooner never makes a later one begin later.

use alloc::vec::Vec;

use super::{Holds, Plan};
use crate::time::Minute;

/// How far a car's work is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Progress {
    /// End of the last step and of every wait that held the car.
    ready: Minute,
    /// End of the latest step or wait of all.
    finish: Minute,
    /// Waits that hold back single steps: place of the step that each follows, and its end.
    waits: Vec<(usize, Minute)>,
}

impl Progress {
    /// Nothing is done yet; the first step may begin at `start`.
    pub(super) const fn new(start: Minute) -> Self {
        Self { ready: start, finish: start, waits: Vec::new() }
    }

    /// When the step at this place of the plan may begin.
    pub(super) fn begin(&self, plan: &Plan, place: usize) -> Minute {
        let holding = self.waits.iter().filter(|(first, _)| plan.holds(*first).holds_back(*first, place));
        holding.fold(self.ready, |begin, (_, passed)| begin.max(*passed))
    }

    /// Notes that the step at this place ended at `end`, and that its wait will have passed at `passed`.
    pub(super) fn note(&mut self, plan: &Plan, place: usize, end: Minute, passed: Minute) {
        self.finish = self.finish.max(passed);
        match plan.holds(place) {
            Holds::Car => self.ready = passed,
            Holds::After(steps) => {
                self.ready = end;
                if passed > end && !steps.is_empty() {
                    self.waits.push((place, passed));
                }
            }
        }
    }

    /// The end of the latest step or wait so far.
    pub(super) const fn finish(&self) -> Minute {
        self.finish
    }
}

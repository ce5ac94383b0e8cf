//! Time when the next step of a plan may begin, as its steps are done one after another.
//!
//! A step begins no sooner than the end of the step before it, the end of every wait that holds the whole car, and the
//! end of every wait that holds back this step. All of these are lower bounds, and none of them falls if an earlier
//! step ends later. So ending a step sooner never makes a later one begin later.

use alloc::vec::Vec;

use super::{Holds, Plan};
use crate::time::Minute;

/// Progress of a car's work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Progress {
    /// End of the last step and of every wait that held the whole car.
    ready: Minute,
    /// The latest end of any step or wait.
    finish: Minute,
    /// Waits that hold back single steps: index of the step that each follows, and its end.
    waits: Vec<(usize, Minute)>,
}

impl Progress {
    /// Nothing is done yet; the first step may begin at `start`.
    pub(super) const fn new(start: Minute) -> Self {
        Self { ready: start, finish: start, waits: Vec::new() }
    }

    /// Time when the step at this index of the plan may begin.
    pub(super) fn begin(&self, plan: &Plan, place: usize) -> Minute {
        let holding = self.waits.iter().filter(|(first, _)| plan.holds(*first).holds_back(*first, place));
        holding.fold(self.ready, |begin, (_, passed)| begin.max(*passed))
    }

    /// Notes that the step at this index ended at `end`, and that its wait will have passed at `passed`.
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

    /// The latest end of any step or wait so far.
    pub(super) const fn finish(&self) -> Minute {
        self.finish
    }
}

//! The same plan with another number of hands.

use alloc::vec::Vec;

use super::budget::share;
use super::{Hands, WorkPlan};
use crate::menu::{Code, Holds};
use crate::time::Minutes;

impl WorkPlan {
    /// The plan as so many pairs of hands do it: its order, which no budget decides, stays; a step that allows a second
    /// pair is shorter and keeps two people busy (RULES: budget of a step). What the plan was before is forgotten, so
    /// that one that was kept for one pair of hands is the same again after two.
    #[must_use]
    pub fn with(mut self, hands: Hands) -> Self {
        let (mut ready, mut finish) = (Minutes::ZERO, Minutes::ZERO);
        let mut waits: Vec<(Code, Minutes)> = Vec::new();
        for step in &mut self.steps {
            step.hands = if step.two_hands.is_some() { hands } else { Hands::One };
            step.budget = step.budget.shared(share(step.two_hands, hands));
            step.attended = step.budget.minutes;
            let holding = waits.iter().filter(|(first, _)| step.after.contains(first));
            let begin = holding.fold(ready, |begin, (_, passed)| begin.max(*passed));
            step.start_offset = begin + step.changeover_before;
            let end = step.start_offset + step.attended + step.changeover_after;
            let passed = end + step.wait.minutes;
            finish = finish.max(passed);
            match step.wait.holds {
                Holds::Car => ready = passed,
                Holds::After => {
                    ready = end;
                    waits.push((step.code.clone(), passed));
                }
            }
        }
        self.attended = self.steps.iter().map(|step| step.attended).sum();
        self.elapsed = finish;
        self
    }

    /// Whether a second pair of hands helps with any of the steps.
    pub fn allows_two(&self) -> bool {
        self.steps.iter().any(|step| step.two_hands.is_some())
    }
}

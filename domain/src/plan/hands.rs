//! The same plan with another number of hands.

use super::budget::share;
use super::{Hands, WorkPlan};
use crate::time::Minutes;

impl WorkPlan {
    /// The plan as so many pairs of hands do it: its order, which no budget decides, stays; a step that allows a second
    /// pair is shorter and keeps two people busy (RULES: budget of a step). What the plan was before is forgotten, so
    /// that one that was kept for one pair of hands is the same again after two.
    #[must_use]
    pub fn with(mut self, hands: Hands) -> Self {
        let mut clock = Minutes::ZERO;
        for step in &mut self.steps {
            step.hands = if step.two_hands.is_some() { hands } else { Hands::One };
            step.budget = step.budget.shared(share(step.two_hands, hands));
            step.attended = step.budget.minutes;
            step.start_offset = clock + step.changeover_before;
            clock = step.start_offset + step.attended + step.changeover_after + step.wait.minutes;
        }
        self.attended = self.steps.iter().map(|step| step.attended).sum();
        self.elapsed = clock;
        self
    }

    /// Whether a second pair of hands helps with any of the steps.
    pub fn allows_two(&self) -> bool {
        self.steps.iter().any(|step| step.two_hands.is_some())
    }
}

//! The same plan for another number of people.

use super::budget::share;
use super::{Hands, WorkPlan};
use crate::time::Minutes;

impl WorkPlan {
    /// The plan for a number of people. Its order stays, because it does not depend on budgets; a step that allows a
    /// second person is shorter and keeps two people busy (RULES: budget of a step). The result does not depend on the
    /// number of people before, so a plan that goes from one person to two and back is the same again.
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

    /// Whether a second person helps with any of the steps.
    pub fn allows_two(&self) -> bool {
        self.steps.iter().any(|step| step.two_hands.is_some())
    }
}

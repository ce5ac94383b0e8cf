//! The same plan for another number of people.

use alloc::string::String;
use alloc::vec::Vec;

use super::budget::share;
use super::front::in_series;
use super::{Hands, PlanOrder, PlannedStep, Timing, WorkPlan, orders_in_words};
use crate::menu::{Code, Holds};
use crate::time::Minutes;

impl WorkPlan {
    /// The plan for a number of people. Its order stays; a step that allows a second person is shorter and keeps two
    /// people busy (RULES: budget of a step). The result does not depend on the number of people before, so a plan that
    /// goes from one person to two and back is the same again. Of the front only this order stays, because others may
    /// no longer be the best; [`work_plan`](super::work_plan) for that number of people makes the whole front.
    #[must_use]
    pub fn with(mut self, hands: Hands) -> Self {
        for step in &mut self.steps {
            step.hands = if step.two_hands.is_some() { hands } else { Hands::One };
            step.budget = step.budget.shared(share(step.two_hands, hands));
            step.attended = step.budget.minutes;
        }
        self.attended = self.steps.iter().map(|step| step.attended).sum();
        self.set_times();
        self.keep_own_order();
        self
    }

    /// Sets when each step begins and the plan ends, if nothing interrupts.
    pub(super) fn set_times(&mut self) {
        let (mut ready, mut finish) = (Minutes::ZERO, Minutes::ZERO);
        let mut waits: Vec<(Code, Minutes)> = Vec::new();
        for step in &mut self.steps {
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
        self.elapsed = finish;
    }

    /// Reduces the front of orders to the plan's own order, as for a plan of which nothing else is known. That is the
    /// whole front if this order has the least changeover and each wait holds the whole car.
    pub(super) fn keep_own_order(&mut self) {
        let timings: Vec<Timing> = self.steps.iter().map(timing).collect();
        let one_order = !timings.iter().any(|timing| timing.holds_single_steps());
        self.orders = alloc::vec![self.own_order()];
        self.orders_proven = self.proven && one_order;
        self.elapsed_bound = self.elapsed.min(in_series(&timings) + self.changeover_bound);
    }

    /// The order of the steps as they are.
    pub(super) fn own_order(&self) -> PlanOrder {
        let last = self.steps.last().map_or(Minutes::ZERO, |step| step.changeover_after);
        PlanOrder {
            steps: self.steps.iter().map(|step| step.code.clone()).collect(),
            changeovers: self.steps.iter().map(|step| step.changeover_before).chain([last]).collect(),
            changeover: self.changeover,
            elapsed: self.elapsed,
        }
    }

    /// One sentence for each order of the front: the time that the first takes, and what each of the others costs and
    /// gains compared with it.
    pub fn orders_in_words(&self) -> Vec<String> {
        let costs: Vec<_> = self.orders.iter().map(|order| (order.changeover, order.elapsed)).collect();
        orders_in_words(&costs)
    }

    /// Whether a second person helps with any of the steps.
    pub fn allows_two(&self) -> bool {
        self.steps.iter().any(|step| step.two_hands.is_some())
    }
}

/// Duration of a planned step, and what its wait holds back.
fn timing(step: &PlannedStep) -> Timing {
    Timing { attended: step.attended, wait: step.wait.minutes, holds: step.wait.holds }
}

//! The orders in which a plan's steps may be done, for searches of visits.

use alloc::collections::BTreeSet;
use alloc::string::String;
use alloc::vec::Vec;

use super::scheduled::{holds, step, texts};
use super::{PlanOrder, PlannedStep, WorkPlan, features, held_back_by};
use crate::schedule::stays::{Moving, StayStep, StepOrder};
use crate::schedule::{Bay, Unplannable};
use crate::time::Minutes;

impl WorkPlan {
    /// The orders in which the steps may be done, for a search: the plan's own order first, then the other orders of its
    /// front. [`in_order`](Self::in_order) knows them by their index in this list.
    ///
    /// # Errors
    /// [`Unplannable`] if no step takes time.
    pub fn step_orders(&self) -> Result<Vec<StepOrder>, Unplannable> {
        (0..self.all_orders().len()).map(|which| self.in_order(which).step_order()).collect()
    }

    /// The same work in one of the orders of [`step_orders`](Self::step_orders), by its index there. Its front is this
    /// order alone. The plan's own order stays if there is no such order, or if it names other steps.
    #[must_use]
    pub fn in_order(&self, which: usize) -> Self {
        let mut plan = self.clone();
        if let Some(order) = self.all_orders().get(which).filter(|_| which > 0)
            && let Some(steps) = self.ordered(order)
        {
            plan.steps = steps;
            plan.changeover = order.changeover;
            plan.proven = order.changeover == self.changeover_bound;
            plan.set_times();
        }
        plan.keep_own_order();
        plan
    }

    /// The same work with the minutes of a move before each of the steps of these codes.
    #[must_use]
    pub fn moved_before<'c>(mut self, codes: impl IntoIterator<Item = &'c str>, minutes: Minutes) -> Self {
        for code in codes {
            if let Some(step) = self.steps.iter_mut().find(|step| step.code.as_str() == code) {
                step.changeover_before = step.changeover_before + minutes;
                self.changeover = self.changeover + minutes;
            }
        }
        self.set_times();
        self.keep_own_order();
        self
    }

    /// The order of the steps as they are, with the bay features of each step.
    ///
    /// # Errors
    /// [`Unplannable`] if no step takes time.
    pub fn step_order(&self) -> Result<StepOrder, Unplannable> {
        let all: Vec<&PlannedStep> = self.steps.iter().collect();
        let steps = self.steps.iter().zip(holds(&all));
        let steps = steps.map(|(planned, holds)| StayStep { step: step(planned), features: needs(planned), holds });
        StepOrder::new(&BTreeSet::new(), steps.collect(), self.changeover)
    }

    /// Moves that the car may make in a shop with these bays that allows so many: none if one bay has everything that the
    /// work needs, because every move costs minutes of work and disturbs another bay.
    pub fn moves_needed(&self, bays: &[Bay], allowed: Moving) -> Moving {
        let all: BTreeSet<String> = texts(&features(&self.steps));
        let one_has_all = bays.iter().any(|bay| all.is_subset(&bay.features));
        if one_has_all { Moving { max_stays: Moving::OFF.max_stays, ..allowed } } else { allowed }
    }

    /// The plan's own order and the others of its front.
    fn all_orders(&self) -> Vec<PlanOrder> {
        let own = self.own_order();
        let others = self.orders.iter().filter(|order| order.steps != own.steps).cloned();
        core::iter::once(own.clone()).chain(others).collect()
    }

    /// The steps in this order; `None` if it names other steps.
    fn ordered(&self, order: &PlanOrder) -> Option<Vec<PlannedStep>> {
        let count = self.steps.len();
        if order.steps.len() != count || order.changeovers.len() != count + 1 {
            return None;
        }
        let mut steps: Vec<PlannedStep> = Vec::with_capacity(count);
        for (place, code) in order.steps.iter().enumerate() {
            let step = self.steps.iter().find(|step| step.code == *code)?;
            let last = place + 1 == count;
            let held_back_by = held_back_by(&steps, &step.after);
            steps.push(PlannedStep {
                changeover_before: order.changeovers[place],
                changeover_after: if last { order.changeovers[count] } else { Minutes::ZERO },
                held_back_by,
                ..step.clone()
            });
        }
        Some(steps)
    }
}

/// Features of the bay in which a step is done and, if its wait has to be under cover, of the bay in which that begins.
fn needs(planned: &PlannedStep) -> BTreeSet<String> {
    texts(&features(core::slice::from_ref(planned)))
}

//! Estimates for a whole plan, and the promise that follows from them.

use alloc::vec::Vec;

use super::{Learned, LearnedEstimate, LearnedFrom, Part, Prior, Quantile, total};
use crate::menu::Code;
use crate::plan::WorkPlan;
use crate::schedule::{Wait, WaitWhen};
use crate::time::{IntervalSet, Minute, Minutes};
use crate::vehicle::SizeClass;

/// A shop's settings for learning and promising.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Policy {
    /// Prior before any job.
    pub prior: Prior,
    /// Quantile of a promise.
    pub promise: Quantile,
}

impl Policy {
    /// The defaults of a new shop.
    pub const USUAL: Self = Self { prior: Prior::USUAL, promise: Quantile::USUAL };
}

/// Estimate of a plan's attended work. Changeovers and waits are not included: nobody measures them, so they stay as
/// planned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outlook {
    /// The budgets of all steps together, which the diary uses.
    pub budget: Minutes,
    /// Median: half of all jobs take longer.
    pub median: Minutes,
    /// Quantile of the promise.
    pub quantile: Quantile,
    /// Minutes that the share `quantile` of all jobs does not exceed; promised if more than the budget.
    pub promised: Minutes,
    /// The steps, in the plan's order.
    pub steps: Vec<StepOutlook>,
}

/// Estimate of one step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepOutlook {
    /// The step's code.
    pub code: Code,
    /// Its budget.
    pub budget: Minutes,
    /// Median: half of all jobs take longer.
    pub median: Minutes,
    /// Number of jobs that the value is based on.
    pub jobs: usize,
    /// Source of the estimate.
    pub learned_from: LearnedFrom,
}

/// Estimate of a plan for a car of that size, from lessons compared with the plan's own menu.
pub fn outlook(plan: &WorkPlan, size: SizeClass, learned: &Learned, policy: Policy) -> Outlook {
    let mut parts: Vec<Part> = Vec::with_capacity(plan.steps.len());
    let mut steps = Vec::with_capacity(plan.steps.len());
    for step in &plan.steps {
        let LearnedEstimate { estimate, learned_from } = learned.estimate(&step.code, size, policy.prior);
        let budget = step.attended;
        parts.push(Part { budget, estimate });
        let median = estimate.median(budget);
        steps.push(StepOutlook { code: step.code.clone(), budget, median, jobs: estimate.jobs(), learned_from });
    }
    let total = total(parts);
    Outlook {
        budget: plan.attended,
        median: total.map_or(Minutes::ZERO, |total| total.median()),
        quantile: policy.promise,
        promised: total.map_or(Minutes::ZERO, |total| total.minutes_at(policy.promise)),
        steps,
    }
}

impl Outlook {
    /// Margin of the promise over the budgets, in minutes; zero if the work takes less than they say.
    pub fn margin(&self) -> Minutes {
        Minutes::new(self.promised.get().saturating_sub(self.budget.get()))
    }

    /// Promise for work that the diary has until `finish`: the margin is work, so it counts from there while the bay is
    /// open. `None` if the known open time does not suffice.
    pub fn promise(&self, finish: Minute, open: &IntervalSet) -> Option<Minute> {
        Wait { minutes: self.margin(), when: WaitWhen::Open }.over(open, finish)
    }
}

//! Beliefs about steps at one moment, in a form that can be stored.
//!
//! A quote shows the median and keeps its beliefs beside its menu, because the customer's page computes the sum of each
//! choice again and must say the same on Monday as it did on Friday. A variation keeps its own.

use alloc::collections::BTreeMap;

use super::{Estimate, Learned, Part, Prior, total};
use crate::menu::Code;
use crate::plan::WorkPlan;
use crate::time::Minutes;
use crate::vehicle::SizeClass;

/// Estimates for some steps on cars of one size class. A quote stores them with its menu, so that it shows the same
/// times whenever it is read, whatever was learned since.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Beliefs {
    steps: BTreeMap<Code, Estimate>,
}

impl Beliefs {
    /// The estimates for those steps, rounded as they are stored.
    pub fn new<'s>(
        learned: &Learned,
        steps: impl IntoIterator<Item = &'s Code>,
        size: SizeClass,
        prior: Prior,
    ) -> Self {
        let believed = |code: &Code| learned.estimate(code, size, prior).estimate.as_kept();
        steps.into_iter().map(|code| (code.clone(), believed(code))).collect()
    }

    /// Each step with its estimate.
    pub fn steps(&self) -> impl Iterator<Item = (&Code, &Estimate)> {
        self.steps.iter()
    }

    /// Median of a plan's attended work, in minutes: what a quote shows (RULES: learning). A step without an estimate
    /// counts with its budget.
    pub fn median(&self, plan: &WorkPlan) -> Minutes {
        let believed = |code: &Code| self.steps.get(code).copied().unwrap_or(Estimate::CERTAIN);
        let parts = plan.steps.iter().map(|step| Part { budget: step.attended, estimate: believed(&step.code) });
        total(parts).map_or(Minutes::ZERO, |total| total.median())
    }
}

impl FromIterator<(Code, Estimate)> for Beliefs {
    fn from_iter<I: IntoIterator<Item = (Code, Estimate)>>(steps: I) -> Self {
        Self { steps: steps.into_iter().collect() }
    }
}

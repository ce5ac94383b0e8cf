//! One order of a job's steps, with the bay features that each step needs.

use alloc::collections::BTreeSet;
use alloc::string::String;
use alloc::vec::Vec;
use core::num::NonZeroU32;

use crate::schedule::{Holds, Plan, Step, Unplannable};
use crate::time::Minutes;

/// Settings of a shop for cars that change bays.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moving {
    /// Maximum number of stays of one car from start to finish; 1 switches moves off.
    pub max_stays: NonZeroU32,
    /// Minutes of a move. They are added to the first step in the new bay and done by its technician.
    pub minutes: Minutes,
}

impl Moving {
    /// Every car keeps its bay from start to finish.
    pub const OFF: Self = Self { max_stays: NonZeroU32::MIN, minutes: Minutes::ZERO };

    /// Settings of a new shop: three stays, such as a wash bay, a dust-free room and the wash bay again, and ten minutes
    /// for a move (common practice, no source).
    pub const USUAL: Self = Self { max_stays: NonZeroU32::MIN.saturating_add(2), minutes: Minutes::new(10) };

    /// Whether a car may change bays at all.
    pub fn allows_moves(self) -> bool {
        self.max_stays > Self::OFF.max_stays
    }
}

/// One step with the bay features that it needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StayStep {
    /// The step. Its minutes are without moves.
    pub step: Step,
    /// Features of the bay in which it is done, and in which a wait that holds the whole car passes.
    pub features: BTreeSet<String>,
    /// Work that its wait holds back; steps are named by their index in this order.
    pub holds: Holds,
}

/// The steps of one job in one order, each with the bay features that it needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepOrder {
    /// The order as a plan of one stay: its bay has all features that any step needs.
    plan: Plan,
    /// Features that the bay of each step must have, including those that every bay must have.
    needs: Vec<BTreeSet<String>>,
    changeover: Minutes,
}

impl StepOrder {
    /// The steps in this order. `everywhere` are the features that every bay of the car must have; `changeover` is the
    /// total of the order's changeovers, which the minutes of its steps include.
    ///
    /// # Errors
    /// [`Unplannable::NoWork`] if no step has minutes.
    pub fn new(everywhere: &BTreeSet<String>, steps: Vec<StayStep>, changeover: Minutes) -> Result<Self, Unplannable> {
        let needs: Vec<BTreeSet<String>> =
            steps.iter().map(|step| everywhere.union(&step.features).cloned().collect()).collect();
        let all = everywhere.iter().chain(needs.iter().flatten()).cloned().collect();
        let (steps, holds): (Vec<Step>, Vec<Holds>) = steps.into_iter().map(|step| (step.step, step.holds)).unzip();
        Ok(Self { plan: Plan::new(all, steps)?.holding(holds), needs, changeover })
    }

    /// The order as a plan of one stay: its bay has all features that any step needs.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Total of the order's changeovers; among otherwise equally good orders the smaller one wins.
    pub fn changeover(&self) -> Minutes {
        self.changeover
    }

    /// Features that the bay of each step must have.
    pub(in crate::schedule) fn needs(&self) -> &[BTreeSet<String>] {
        &self.needs
    }
}

/// A plan's own order, in which every step needs all features of the plan.
impl From<Plan> for StepOrder {
    fn from(plan: Plan) -> Self {
        let needs = plan.steps().iter().map(|_| plan.features().clone()).collect();
        Self { plan, needs, changeover: Minutes::ZERO }
    }
}

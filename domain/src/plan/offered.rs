//! Facts about the work that an offer sells, from its work plans.

use alloc::collections::BTreeSet;
use alloc::string::String;
use alloc::vec::Vec;

use super::{Hands, PlanRefusal, PlannedStep, ServiceUnits, WorkPlan, work_plan};
use crate::caution::Caution;
use crate::menu::Menu;
use crate::vehicle::Car;

impl WorkPlan {
    /// Whether any of its steps removes paint.
    pub fn takes_paint(&self) -> bool {
        self.steps.iter().any(PlannedStep::takes_paint)
    }
}

/// Cautions for the customer about these plans' work, each sentence once, in order.
pub fn customer_cautions<'p>(plans: impl IntoIterator<Item = &'p WorkPlan>) -> Vec<String> {
    let mut seen = BTreeSet::new();
    let all = plans.into_iter().flat_map(|plan| &plan.cautions).filter_map(Caution::customer_text);
    all.filter(|text| seen.insert(*text)).map(String::from).collect()
}

/// The work plan of the services for one person; `None` if they have no step that takes time.
///
/// # Errors
/// [`PlanRefusal`] for any other reason than that.
pub fn plan_if_any(menu: &Menu, services: &[ServiceUnits], car: Car) -> Result<Option<WorkPlan>, PlanRefusal> {
    match work_plan(menu, services, car, Hands::One) {
        Ok(plan) => Ok(Some(plan)),
        Err(PlanRefusal::NothingToDo) => Ok(None),
        Err(refusal) => Err(refusal),
    }
}

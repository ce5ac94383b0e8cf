//! Merges the steps of many services, so that each step is done once.
//!
//! **A quantity multiplies only what its own service needs.** A step that several of the sold services share is done
//! once, with the largest base. So three hand washes alone are three washes, while four coated wheels sold together
//! with a wash are cleaned once; and adding a service that shares the wash may make the plan shorter. Budgets keep the
//! quantity apart from the base, so that lessons of a step that was done three times are compared with three budgets.

use alloc::collections::BTreeMap;
use alloc::string::String;
use alloc::vec::Vec;

use rust_decimal::Decimal;

use super::units::largest;
use super::{Budget, Hands, PlanRefusal, ServiceUnits, budget};
use crate::menu::{Code, Menu, Service, Step};
use crate::time::Minutes;
use crate::vehicle::Car;

/// A step that one or more of the services need.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Merged<'a> {
    /// The step.
    pub step: &'a Step,
    /// The largest base minutes of the services. Factors belong to the step, so the largest base gives the largest
    /// budget.
    pub base: Minutes,
    /// Number of times the step's minutes and products are needed: the quantity of the one service that needs the step,
    /// and one if several services share it.
    pub quantity: Decimal,
    /// The services that need it, sorted.
    pub services: Vec<Code>,
}

impl Merged<'_> {
    /// The budget of the step for a car, with one person.
    pub(super) fn budget(&self, menu: &Menu, car: Car) -> Budget {
        budget(self.step, self.base, &menu.factors, car, Hands::One).times(self.quantity)
    }
}

/// Merges the steps of the services: a step that several services share is done once, with the largest budget. A step that
/// only one of them needs is done as many times as that service is sold. The result is sorted by code, and of a service
/// named twice the larger quantity counts, so neither order nor repetition changes it.
///
/// # Errors
/// [`PlanRefusal`] if a service or step isn't on the menu, or two services exclude each other.
pub fn merge<'a, S>(menu: &'a Menu, services: &[S]) -> Result<Vec<Merged<'a>>, PlanRefusal>
where
    S: Clone + Into<ServiceUnits>,
{
    let chosen = largest(services);
    let mut steps: BTreeMap<&Code, Merged<'a>> = BTreeMap::new();
    for (code, quantity) in &chosen {
        let service = menu.service(code).ok_or_else(|| PlanRefusal::UnknownService(code.clone()))?;
        for used in &service.steps {
            let step = menu
                .step(&used.step)
                .ok_or_else(|| PlanRefusal::UnknownStep { service: service.name.clone(), step: used.step.clone() })?;
            let base = used.minutes.unwrap_or(step.minutes);
            let merged = steps.entry(&step.code).or_insert_with(|| Merged {
                step,
                base,
                quantity: *quantity,
                services: Vec::new(),
            });
            merged.base = merged.base.max(base);
            if merged.services.last() != Some(code) {
                merged.services.push(code.clone());
            }
            if merged.services.len() > 1 {
                merged.quantity = Decimal::ONE;
            }
        }
    }
    let codes: Vec<Code> = chosen.into_keys().collect();
    if let Some((one, other)) = menu.excluded_pairs(&codes).first() {
        let name = |code: &Code| menu.service(code).map_or_else(String::new, |service| service.name.clone());
        let steps = |code: &Code| menu.service(code).map_or_else(Vec::new, |service| step_names(menu, service));
        return Err(PlanRefusal::Excluded {
            one: name(one),
            one_steps: steps(one),
            other: name(other),
            other_steps: steps(other),
        });
    }
    Ok(steps.into_values().collect())
}

fn step_names(menu: &Menu, service: &Service) -> Vec<String> {
    service.steps.iter().filter_map(|used| menu.step(&used.step)).map(|step| step.name.clone()).collect()
}

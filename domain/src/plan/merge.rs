//! Out of many services, each step once.

use alloc::collections::BTreeMap;
use alloc::string::String;
use alloc::vec::Vec;

use super::PlanRefusal;
use crate::menu::{Code, Menu, Service, Step};
use crate::time::Minutes;

/// A step that one or more of the services need.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Merged<'a> {
    /// The step.
    pub step: &'a Step,
    /// The most base minutes that any of the services asks for. Factors are the step's own, so the largest base is the
    /// largest budget.
    pub base: Minutes,
    /// The services that need it, sorted.
    pub services: Vec<Code>,
}

/// Merges the steps of the services: a step is done once however many services need it, with the largest budget. The
/// result is sorted by code, and a service named twice counts once, so neither order nor repetition changes it.
///
/// # Errors
/// [`PlanRefusal`] where a service or step isn't on the menu, or two services exclude each other.
pub fn merge<'a>(menu: &'a Menu, services: &[Code]) -> Result<Vec<Merged<'a>>, PlanRefusal> {
    let mut chosen: Vec<Code> = services.to_vec();
    chosen.sort();
    chosen.dedup();
    let mut steps: BTreeMap<&Code, Merged<'a>> = BTreeMap::new();
    for code in &chosen {
        let service = menu.service(code).ok_or_else(|| PlanRefusal::UnknownService(code.clone()))?;
        for used in &service.steps {
            let step = menu
                .step(&used.step)
                .ok_or_else(|| PlanRefusal::UnknownStep { service: service.name.clone(), step: used.step.clone() })?;
            let base = used.minutes.unwrap_or(step.minutes);
            let merged = steps.entry(&step.code).or_insert_with(|| Merged { step, base, services: Vec::new() });
            merged.base = merged.base.max(base);
            if merged.services.last() != Some(code) {
                merged.services.push(code.clone());
            }
        }
    }
    if let Some((one, other)) = menu.excluded_pairs(&chosen).first() {
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

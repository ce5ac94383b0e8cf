//! Names of bays, people and steps, for records that contain only their ids.

use std::collections::BTreeMap;

use baywright_domain::id::{BayId, PersonId};

use crate::menu::usecase::StepNames;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::{menu, people, shop};

/// The names of a shop's bays, people and steps.
#[derive(Debug, Clone)]
pub struct Names {
    /// Ids and names of all bays, in their order.
    pub bays: Vec<(BayId, String)>,
    /// Ids and names of everyone who works on cars, in their order.
    pub workers: Vec<(PersonId, String)>,
    everyone: BTreeMap<PersonId, String>,
    steps: StepNames,
}

impl Names {
    /// Reads the names.
    pub fn read(tx: &mut Tx<'_>) -> Done<Self> {
        let everyone = people::usecase::everyone(tx)?;
        let works = everyone.iter().filter(|person| person.active && !person.details.shifts.is_empty());
        Ok(Self {
            workers: works.map(|person| (person.id.clone(), person.details.name.clone())).collect(),
            everyone: everyone.into_iter().map(|person| (person.id, person.details.name)).collect(),
            bays: shop::usecase::bays(tx)?.into_iter().map(|bay| (bay.id, bay.details.name)).collect(),
            steps: menu::usecase::step_names(tx)?,
        })
    }

    /// Name of a bay.
    pub fn bay(&self, id: &str) -> &str {
        self.bays.iter().find(|(known, _)| known.as_str() == id).map_or("a bay", |(_, name)| name)
    }

    /// Name of a person.
    pub fn person(&self, id: &str) -> &str {
        self.everyone.get(&PersonId::new(id)).map_or("somebody", String::as_str)
    }

    /// Name of a step.
    pub fn step(&self, code: &str) -> String {
        self.steps.of(code)
    }
}

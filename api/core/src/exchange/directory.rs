//! Existing customers, by all details that a list may contain.

use std::collections::{BTreeMap, BTreeSet};

use baywright_domain::customer::{Key, Traits};
use baywright_domain::id::CustomerId;

/// The shop's customers, prepared for one lookup for each row of a list.
#[derive(Debug, Default)]
pub(super) struct Directory {
    all: Vec<(CustomerId, Traits)>,
    places: BTreeMap<Key, BTreeSet<usize>>,
}

impl Directory {
    pub(super) fn of(known: Vec<(CustomerId, Traits)>) -> Self {
        let mut directory = Self::default();
        for (id, traits) in known {
            directory.add(id, traits);
        }
        directory
    }

    pub(super) fn add(&mut self, id: CustomerId, traits: Traits) {
        for key in traits.keys() {
            self.places.entry(key).or_default().insert(self.all.len());
        }
        self.all.push((id, traits));
    }

    /// The customer with these details, if there is one.
    pub(super) fn same(&self, traits: &Traits) -> Option<&CustomerId> {
        let keys = traits.keys();
        // Two entries of one customer share the shop's number or the name.
        let telling = keys.iter().filter(|key| matches!(key, Key::Reference(_) | Key::Name(_)));
        let mut places = telling.filter_map(|key| self.places.get(key)).flatten();
        places.find_map(|place| self.all.get(*place).filter(|(_, known)| known.same(traits)).map(|(id, _)| id))
    }

    /// The customers to whom all given details apply.
    pub(super) fn named(&self, said: &Traits) -> Vec<&CustomerId> {
        let mut left: Option<BTreeSet<usize>> = None;
        for key in said.keys() {
            let having = self.places.get(&key).cloned().unwrap_or_default();
            left = Some(left.map_or(having.clone(), |left| &left & &having));
        }
        // A customer with merged records is included once for each of them.
        let ids: BTreeSet<&CustomerId> =
            left.into_iter().flatten().filter_map(|place| self.all.get(place)).map(|(id, _)| id).collect();
        ids.into_iter().collect()
    }
}

//! Quantity of each service that is sold for one car.

use alloc::collections::BTreeMap;
use alloc::vec::Vec;

use rust_decimal::Decimal;

use crate::menu::Code;

/// A service and its quantity, such as four coated wheels.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ServiceUnits {
    /// The service.
    pub service: Code,
    /// Quantity of the service, above zero.
    pub quantity: Decimal,
}

impl From<Code> for ServiceUnits {
    fn from(service: Code) -> Self {
        Self { service, quantity: Decimal::ONE }
    }
}

impl ServiceUnits {
    /// Adds up the quantities of each service. Each service appears once, in the order of its first appearance.
    pub fn sum(all: impl IntoIterator<Item = Self>) -> Vec<Self> {
        let mut sums: Vec<Self> = Vec::new();
        for one in all {
            match sums.iter_mut().find(|sum| sum.service == one.service) {
                // Quantities end at a thousand and quotes at a hundred lines, so that the sum never reaches the limit.
                Some(sum) => sum.quantity = sum.quantity.saturating_add(one.quantity),
                None => sums.push(one),
            }
        }
        sums
    }
}

/// The largest quantity of each service.
pub(super) fn largest<S: Clone + Into<ServiceUnits>>(services: &[S]) -> BTreeMap<Code, Decimal> {
    let mut largest: BTreeMap<Code, Decimal> = BTreeMap::new();
    for ServiceUnits { service, quantity } in services.iter().cloned().map(Into::into) {
        let most = largest.entry(service).or_insert(quantity);
        *most = quantity.max(*most);
    }
    largest
}

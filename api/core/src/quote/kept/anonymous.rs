//! Offers with the customer's data removed.

use super::{LineKind, QuoteDocument, QuoteDraft};

/// Placeholder for texts that somebody typed.
const CUSTOM: &str = "Work that isn't on the menu";

impl QuoteDocument {
    /// The same offer under that name, without anything that identifies the customer or their vehicle and without texts
    /// that were typed for them. Services, prices and times stay.
    #[must_use]
    pub fn without_customer(mut self, name: &str) -> Self {
        name.clone_into(&mut self.customer.name);
        self.customer.email = None;
        self.customer.address.clear();
        self.vehicle.size.0.label().clone_into(&mut self.vehicle.name);
        self.vehicle.registration.clear();
        self.vehicle.vin.clear();
        self.inspection = None;
        self.notes.clear();
        for discount in &mut self.discounts {
            discount.reason.clear();
        }
        for line in &mut self.lines {
            if line.kind.0 == LineKind::Custom {
                CUSTOM.clone_into(&mut line.name);
                line.summary.clear();
            }
            line.discount_reason = line.discount_reason.take().map(|_| String::new());
            line.explanation.clear();
        }
        self
    }
}

impl QuoteDraft {
    /// An empty draft, for the same car in the same prices.
    #[must_use]
    pub fn without_customer(self) -> Self {
        Self { inspection_id: None, lines: Vec::new(), discounts: Vec::new(), notes: String::new(), ..self }
    }
}

//! What a variation changes of what was agreed before it.

use baywright_domain::money::Currency;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::platform::wire::{Amount, Instant};

/// What a variation changes: the price agreed so far, and when the car will be ready.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteChange {
    /// What is agreed before the variation, with tax: the quote and the variations signed since.
    pub agreed_before: Amount,
    /// When the customer was told that the car will be ready.
    pub ready_before: Instant,
    /// When the car will be ready with the variation's required lines, as it looked when it was sent; null if no time was
    /// found for the work.
    pub ready_after: Option<Instant>,
}

impl QuoteChange {
    /// What is agreed in all, with tax, if a change of that price is accepted; `None` if the amounts can't be added.
    pub fn total_with(&self, change: &Amount) -> Option<Amount> {
        let currency = Currency::of(change.currency())?;
        let before = self.agreed_before.money(currency, "").ok()?;
        let sum = before.checked_add(change.money(currency, "").ok()?)?;
        Some(Amount::of(sum, currency))
    }
}

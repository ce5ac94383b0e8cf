//! Effect of a variation on what was agreed before it.

use baywright_domain::money::Currency;
use serde::{Deserialize, Serialize};

use crate::platform::kept::{Amount, Moment};

/// Effect of a variation on price and finish.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuoteChange {
    /// Price agreed before the variation, with tax: the quote and the variations signed since.
    pub agreed_before: Amount,
    /// Ready time that the customer was given before this change, RFC 3339 in UTC.
    pub ready_before: Moment,
    /// Time by which the car will be ready with the variation's required lines, as of sending, RFC 3339 in UTC: the
    /// promise once it is signed. Null if no time was found for the work.
    pub ready_after: Option<Moment>,
}

impl QuoteChange {
    /// The agreed total, with tax, if a change with that price is accepted; `None` if the amounts can't be added.
    pub fn total_with(&self, change: &Amount) -> Option<Amount> {
        let currency = Currency::of(change.currency())?;
        let before = self.agreed_before.money(currency).ok()?;
        let sum = before.checked_add(change.money(currency).ok()?)?;
        Some(Amount::of(sum, currency))
    }
}

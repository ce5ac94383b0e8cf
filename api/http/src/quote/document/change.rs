//! Effect of a variation on what was agreed before it.

use baywright_core::quote::kept;
use serde::Serialize;
use utoipa::ToSchema;

use crate::platform::wire::{Amount, Instant};

/// Effect of a variation on price and finish.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuoteChange)]
pub struct QuoteChangeView {
    /// Price agreed before the variation, with tax: the quote and the variations signed since.
    agreed_before: Amount,
    /// Ready time that the customer was given before this change, RFC 3339 in UTC.
    ready_before: Instant,
    /// Time by which the car will be ready with the variation's required lines, as of sending, RFC 3339 in UTC: the
    /// promise once it is signed. Null if no time was found for the work.
    ready_after: Option<Instant>,
}

impl From<kept::QuoteChange> for QuoteChangeView {
    fn from(kept: kept::QuoteChange) -> Self {
        Self {
            agreed_before: kept.agreed_before.into(),
            ready_before: kept.ready_before.into(),
            ready_after: kept.ready_after.map(Instant::from),
        }
    }
}

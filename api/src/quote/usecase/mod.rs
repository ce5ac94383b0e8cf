//! What is done to quotes.

mod signed;

use baywright_domain::id::{CustomerId, QuoteId, VehicleId};

use crate::platform::clock::UtcTime;

pub use signed::{SignedLine, SignedQuote, sealed_documents, signed};

/// A quote, whatever its revisions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quote {
    /// Its id.
    pub id: QuoteId,
    /// Its number.
    pub number: String,
    /// Whose it is.
    pub customer: CustomerId,
    /// For which vehicle.
    pub vehicle: VehicleId,
    /// The number of its latest revision.
    pub latest: u32,
    /// Counts the changes of the quote and its revisions.
    pub version: i64,
    /// When the record was made.
    pub created_at: UtcTime,
    /// When it last changed.
    pub updated_at: UtcTime,
}

/// A quote about to be written.
#[derive(Debug, Clone)]
pub(super) struct NewQuote {
    pub(super) id: QuoteId,
    pub(super) number: String,
    pub(super) year: i32,
    pub(super) counter: i64,
    pub(super) customer: CustomerId,
    pub(super) vehicle: VehicleId,
}

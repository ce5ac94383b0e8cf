//! Use cases of quotes, and the functions that other features call: [`signed()`], [`lapsing`], [`fresh_link`].

mod answer;
mod compose;
mod forget;
pub mod letter;
mod look;
mod noted;
mod on_offer;
mod parties;
mod read;
mod send;
mod signed;
mod start;
mod write;

use baywright_domain::id::{CustomerId, QuoteId, VehicleId};

use crate::platform::clock::UtcTime;

pub use super::store::{Listed, Wanted};
pub use answer::{OfferShown, Standing, Yes, decline, offer, sealed_file, sign, tell_signed};
pub use compose::{Composed, compose, compose_from, totals};
pub use forget::HOLDER;
pub use noted::{NotedYes, note_no, signable};
pub use on_offer::{OnOffer, on_offer};
pub use read::{Shown, ShownRevision, find, head, list, show, show_revision};
pub use send::{ByMail, Lapsing, fresh_link, lapse_due, lapsing, make_link, send, send_again, waiting_since, withdraw};
pub use signed::{SignedLine, SignedQuote, sealed_documents, signed};
pub use start::{StartTerms, agree_to_early_start, may_begin, note_early_start, start_terms};
pub use write::{Price, create, price, replace_draft, revise};

/// A quote, whatever its revisions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quote {
    /// Its id.
    pub id: QuoteId,
    /// Its number.
    pub number: String,
    /// Id of the customer.
    pub customer: CustomerId,
    /// For which vehicle.
    pub vehicle: VehicleId,
    /// The number of its latest revision.
    pub latest: u32,
    /// Version, which every change of the quote or its revisions raises by one.
    pub version: i64,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

/// A quote that is to be stored.
#[derive(Debug, Clone)]
pub(super) struct NewQuote {
    pub(super) id: QuoteId,
    pub(super) number: String,
    pub(super) series: String,
    pub(super) year: i32,
    pub(super) counter: i64,
    pub(super) customer: CustomerId,
    pub(super) vehicle: VehicleId,
}

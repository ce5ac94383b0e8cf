//! Everything that is agreed on quotes ([`agreed()`]), and the variations that change it.

mod agreed;
mod forget;
mod keep;

use baywright_domain::id::{BookingId, QuoteId, RevisionId, VariationId};
use baywright_domain::money::Money;
use baywright_domain::variation::VariationState;

use super::kept::VariationDraft;
use super::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::quote;

pub use agreed::{Agreed, SignedVariation, agreed};
pub use forget::HOLDER;
pub use keep::{NewVariation, decline, freeze, rewrite, sign, write};

/// A variation in its current state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Variation {
    /// Its id.
    pub id: VariationId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// The quote that it changes.
    pub quote: QuoteId,
    /// The signed revision that it changes.
    pub revision: RevisionId,
    /// The booking during whose work it came up.
    pub booking: BookingId,
    /// Number of the variation within the quote, from 1.
    pub number: u32,
    /// State of the variation.
    pub state: VariationState,
    /// The draft that it is made from.
    pub draft: VariationDraft,
    /// The frozen data; `None` before it is sent.
    pub frozen: Option<Frozen>,
    /// Time when it was signed or declined.
    pub decided_at: Option<UtcTime>,
    /// Reason for declining; `None` if none was given.
    pub reason: Option<String>,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

/// The frozen data of a sent variation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Frozen {
    /// The sealed document as canonical JSON.
    pub document: String,
    /// Its digest.
    pub digest: String,
    /// Change of price by the required lines, with tax; negative if less is done.
    pub change: Money,
    /// Estimates of its steps' durations; `None` in variations sent before these were stored.
    pub beliefs: Option<String>,
    /// Full explanation of each line's price, as JSON; `None` in variations sent before this was stored.
    pub explanation: Option<String>,
    /// Time when it was sent.
    pub sent_at: UtcTime,
}

/// The variation with that id.
pub fn find(tx: &mut Tx<'_>, id: &VariationId) -> Done<Variation> {
    Ok(store::find(tx, id)?.ok_or_else(|| Refused::not_found("variation"))?)
}

/// The frozen data of a sent variation.
pub fn frozen(variation: &Variation) -> Done<&Frozen> {
    let missing = || DbError::Corrupt(format!("variation {} was sent without its document", variation.id));
    Ok(variation.frozen.as_ref().ok_or_else(missing)?)
}

/// All variations of a quote, first one first; empty if the quote is not signed yet.
///
/// # Errors
/// `NotFound` if the shop has no such quote.
pub fn of_quote(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Vec<Variation>> {
    quote::usecase::head(tx, quote)?;
    Ok(store::of_quote(tx, quote)?)
}

/// Number of the first variation of a quote that waits for the customer's answer.
pub fn unanswered(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Option<u32>> {
    let all = store::of_quote(tx, quote)?;
    Ok(all.iter().find(|variation| variation.state == VariationState::Sent).map(|variation| variation.number))
}

/// Document and digest of up to `most` variations that were ever sent, after that id, for [`crate::seal`] to verify.
pub fn sealed_documents(tx: &mut Tx<'_>, after: &str, most: i64) -> Done<Vec<(String, String, String)>> {
    Ok(store::sealed(tx, after, most)?)
}

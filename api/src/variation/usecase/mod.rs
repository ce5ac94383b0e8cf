//! What is done to variations, and what other features ask of them: [`agreed()`] and [`signed_of`].

mod agreed;
mod answer;
mod compose;
mod forget;
mod letter;
mod send;
mod write;

use baywright_domain::id::{BookingId, QuoteId, RevisionId, VariationId};
use baywright_domain::money::Money;
use baywright_domain::variation::{Agreement, VariationState};

use super::form::VariationDraft;
use super::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::problem::Problem;
use crate::platform::tx::Tx;
use crate::quote::form::{LineExplanation, QuoteDocument};
use crate::shop;
use crate::signoff::usecase::{self as signoff, Signoff, Subject};

pub use agreed::{Agreed, SignedVariation, agreed, signed_of};
pub use answer::{decline, note_no, note_yes, offer, sign};
pub use forget::HOLDER;
pub use send::{hand_over, send};
pub use write::{create, replace_draft};

/// The most variations of one quote.
pub const MOST: usize = 100;

/// A variation as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Variation {
    /// Its id.
    pub id: VariationId,
    /// Counts the changes.
    pub version: i64,
    /// The quote that it changes.
    pub quote: QuoteId,
    /// The signed revision that it changes.
    pub revision: RevisionId,
    /// The booking in whose work it came up.
    pub booking: BookingId,
    /// Which of the quote's: 1 is the first.
    pub number: u32,
    /// Where it is in its life.
    pub state: VariationState,
    /// What it is made from.
    pub draft: VariationDraft,
    /// What was frozen when it was sent.
    pub frozen: Option<Frozen>,
    /// When it was signed or declined.
    pub decided_at: Option<UtcTime>,
    /// Why it was declined, where that was said.
    pub reason: Option<String>,
    /// When the record was made.
    pub created_at: UtcTime,
    /// When it last changed.
    pub updated_at: UtcTime,
}

/// What was frozen when a variation was sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Frozen {
    /// The sealed document, canonical.
    pub document: String,
    /// Its digest.
    pub digest: String,
    /// What the required lines change the price by, with tax; below zero where less is done.
    pub change: Money,
    /// What was believed of its steps; nothing in what was sent before that was kept.
    pub beliefs: Option<String>,
    /// How each line's price was made, in full, as JSON; nothing in what was sent before that was kept.
    pub explanation: Option<String>,
    /// When it was sent.
    pub sent_at: UtcTime,
}

/// A variation as it is shown.
#[derive(Debug, Clone)]
pub struct Shown {
    /// The variation.
    pub variation: Variation,
    /// What the customer reads; for a draft, what they would read if it were sent now, or none where it can't be priced.
    pub document: Option<QuoteDocument>,
    /// How each line's price was made, in full; none where the document is, or where it was not kept beside it.
    pub explanation: Option<Vec<LineExplanation>>,
    /// What the required lines change the price by, with tax.
    pub change: Option<Money>,
    /// The agreement that it needs.
    pub needs: Agreement,
    /// Its sign-off, where it is signed.
    pub signoff: Option<Signoff>,
}

/// The variation of that id.
pub fn find(tx: &mut Tx<'_>, id: &VariationId) -> Done<Variation> {
    Ok(store::find(tx, id)?.ok_or_else(|| Problem::not_found("variation"))?)
}

/// The variation of that id with what the customer reads.
pub fn show(tx: &mut Tx<'_>, id: &VariationId) -> Done<Shown> {
    let variation = find(tx, id)?;
    let (document, explanation, change) = if let Some(frozen) = &variation.frozen {
        let kept = frozen.explanation.as_deref().map(serde_json::from_str).transpose().map_err(Fail::unexpected)?;
        (Some(QuoteDocument::parse(&frozen.document)?), kept, Some(frozen.change))
    } else {
        let agreed = agreed(tx, &variation.quote)?;
        match compose::compose(tx, &agreed, variation.number, &variation.draft) {
            Ok(composed) => (Some(composed.document), Some(composed.explanation), Some(composed.change)),
            // A draft that can't be priced any more is shown without its document.
            Err(Fail::Problem(_)) => (None, None, None),
            Err(other) => return Err(other),
        }
    };
    let signoff = match variation.state {
        VariationState::Signed => signoff::find(tx, &Subject::variation(id.as_str()))?,
        _ => None,
    };
    let needs = needed(tx, change)?;
    Ok(Shown { variation, document, explanation, change, needs, signoff })
}

/// All of a quote, the first one first; none where it isn't signed yet.
///
/// # Errors
/// 404 where the shop has no such quote.
pub fn of_quote(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Vec<Variation>> {
    crate::quote::usecase::head(tx, quote)?;
    Ok(store::of_quote(tx, quote)?)
}

/// The number of the first one of a quote that is with the customer.
pub fn unanswered(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Option<u32>> {
    let all = store::of_quote(tx, quote)?;
    Ok(all.iter().find(|variation| variation.state == VariationState::Sent).map(|variation| variation.number))
}

/// Document and digest of up to `most` variations that were ever sent, after that id: what [`crate::seal`] verifies.
pub fn sealed_documents(tx: &mut Tx<'_>, after: &str, most: i64) -> Done<Vec<(String, String, String)>> {
    Ok(store::sealed(tx, after, most)?)
}

/// The agreement that a change needs in this shop.
fn needed(tx: &mut Tx<'_>, change: Option<Money>) -> Done<Agreement> {
    let tolerance = shop::usecase::settings(tx)?.terms.call_tolerance;
    Ok(change.map_or(Agreement::Signature, |change| baywright_domain::variation::agreement(change, tolerance)))
}

fn frozen(variation: &Variation) -> Done<&Frozen> {
    let missing = || DbError::Corrupt(format!("variation {} was sent without its document", variation.id));
    Ok(variation.frozen.as_ref().ok_or_else(missing)?)
}

//! Writes each step in a variation's life, with its record in the log. The caller has checked that the step is allowed.

use baywright_domain::id::{BookingId, QuoteId, RevisionId, VariationId};
use baywright_domain::variation::VariationState;
use serde_json::json;

use super::{Frozen, Variation, store};
use crate::agreement::kept::VariationDraft;
use crate::platform::fail::{Done, Fail};
use crate::platform::tx::Tx;
use crate::platform::{ids, record};
use crate::signoff::usecase::Signoff;

/// A variation that is to be stored.
#[derive(Debug)]
pub struct NewVariation<'a> {
    /// The quote that it changes.
    pub quote: &'a QuoteId,
    /// The signed revision that it changes.
    pub revision: &'a RevisionId,
    /// The booking during whose work it came up.
    pub booking: &'a BookingId,
    /// Number of the variation within the quote, from 1.
    pub number: u32,
    /// The draft that it is made from.
    pub draft: &'a VariationDraft,
}

/// Stores it as a draft; returns its id.
pub fn write(tx: &mut Tx<'_>, new: &NewVariation<'_>) -> Done<VariationId> {
    let id: VariationId = ids::new();
    store::insert(tx, &id, new, &text(new.draft)?)?;
    let detail = json!({ "quote": new.quote.as_str(), "number": new.number });
    record::write(tx, "variation.written", ("variation", id.as_str()), detail)?;
    Ok(id)
}

/// Replaces the content of a draft.
pub fn rewrite(tx: &mut Tx<'_>, variation: &Variation, draft: &VariationDraft) -> Done<()> {
    store::replace_draft(tx, variation, &text(draft)?)?;
    record::write(tx, "variation.changed", ("variation", variation.id.as_str()), json!({}))
}

/// Freezes the document that goes to the customer.
pub fn freeze(tx: &mut Tx<'_>, variation: &Variation, state: VariationState, frozen: &Frozen) -> Done<()> {
    store::freeze(tx, variation, state, frozen)?;
    let detail = json!({ "quote": variation.quote.as_str(), "digest": frozen.digest });
    record::write(tx, "variation.sent", ("variation", variation.id.as_str()), detail)
}

/// Stores the customer's acceptance, which was sealed.
pub fn sign(tx: &mut Tx<'_>, variation: &Variation, state: VariationState, sealed: &Signoff) -> Done<()> {
    store::decide(tx, variation, state, None)?;
    let detail = json!({ "signoff_id": sealed.id.as_str(), "method": sealed.method.as_str() });
    record::write(tx, "variation.signed", ("variation", variation.id.as_str()), detail)
}

/// Stores that the customer declined, with the reason if one was given.
pub fn decline(tx: &mut Tx<'_>, variation: &Variation, state: VariationState, reason: &str) -> Done<()> {
    store::decide(tx, variation, state, Some(reason.trim()).filter(|reason| !reason.is_empty()))?;
    record::write(tx, "variation.declined", ("variation", variation.id.as_str()), json!({}))
}

fn text(draft: &VariationDraft) -> Done<String> {
    serde_json::to_string(draft).map_err(Fail::unexpected)
}

//! Writing variations while they are drafts.

use baywright_domain::booking::BookingState;
use baywright_domain::id::{BookingId, QuoteId, VariationId};

use super::compose::compose;
use super::{MOST, Shown, show};
use crate::agreement::kept::VariationDraft;
use crate::agreement::usecase::{self as agreement, NewVariation, agreed, find};
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::{booking, invoice};

/// Writes a variation of a signed quote whose car is in its bay.
///
/// # Errors
/// `NotFound` or `Conflict` of the quote; `Conflict` if the work hasn't begun or is over, or to be confirmed for a
/// service that is agreed already; `Invalid` with what can't be priced or planned.
pub fn create(tx: &mut Tx<'_>, quote: &QuoteId, draft: &VariationDraft) -> Done<Shown> {
    let agreed = agreed(tx, quote)?;
    let booking = under_way(tx, quote)?;
    let before = agreement::of_quote(tx, quote)?;
    if before.len() >= MOST {
        let detail = format!("A quote has at most {MOST} variations. Make a new quote for the other work.");
        return Err(Refused::conflict("too-many-variations", detail).into());
    }
    let number = before.last().map_or(1, |last| last.number + 1);
    compose(tx, &agreed, number, draft)?.sells_nothing_twice(tx)?;
    let revision = &agreed.quote.revision_id;
    let id = agreement::write(tx, &NewVariation { quote, revision, booking: &booking, number, draft })?;
    show(tx, &id)
}

/// Replaces the content of a draft.
pub fn replace_draft(tx: &mut Tx<'_>, id: &VariationId, seen: Seen, draft: &VariationDraft) -> Done<Shown> {
    let variation = find(tx, id)?;
    seen.check(variation.version)?;
    variation.state.edit()?;
    let agreed = agreed(tx, &variation.quote)?;
    compose(tx, &agreed, variation.number, draft)?.sells_nothing_twice(tx)?;
    agreement::rewrite(tx, &variation, draft)?;
    show(tx, id)
}

/// The booking of a quote whose car is in its bay. Before that, a change is a new revision; after it, there is nothing
/// to change.
pub(super) fn under_way(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<BookingId> {
    if let Some(invoice) = invoice::usecase::issued_of(tx, quote)? {
        let detail = format!(
            "This work is already invoiced, as {}, so no variation can change what the customer pays for it. Write a \
             separate quote for more work; for work that was taken off, agree with the customer how it is credited.",
            invoice.number.as_deref().unwrap_or_default()
        );
        return Err(Refused::conflict("invoiced-already", detail).into());
    }
    let booking = booking::usecase::of_quote(tx, quote)?;
    match booking {
        Some(booking) if booking.state == BookingState::InBay => Ok(booking.id),
        Some(booking) if matches!(booking.state, BookingState::Ready | BookingState::HandedOver) => {
            let detail = format!("This car is {}, so its work can no longer be changed.", booking.state.label());
            Err(Refused::conflict("work-is-over", detail).into())
        }
        _ => {
            let detail = "The work hasn't begun. Until the car is in its bay, a change is a new revision of the quote.";
            Err(Refused::conflict("work-not-begun", detail).into())
        }
    }
}

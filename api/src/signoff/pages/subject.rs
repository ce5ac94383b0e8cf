//! What a link leads to: a revision of a quote, or a variation of one. Both are read and answered alike.

use baywright_domain::id::{RevisionId, VariationId};

use crate::platform::fail::Done;
use crate::platform::problem::Problem;
use crate::platform::tx::Tx;
use crate::quote::form::QuoteDocument;
use crate::quote::usecase::{self as quote, OfferShown, Yes};
use crate::signoff::usecase::{Link, Purpose};
use crate::variation::usecase as variation;

/// What is offered behind a link.
pub(super) fn offer(tx: &mut Tx<'_>, link: &Link) -> Done<OfferShown> {
    let id = link.subject.id.as_str();
    match link.subject.purpose {
        Purpose::Quote => quote::offer(tx, &RevisionId::new(id)),
        Purpose::Variation => variation::offer(tx, &VariationId::new(id)),
    }
}

/// Accepts it.
pub(super) fn sign(tx: &mut Tx<'_>, link: &Link, yes: &Yes) -> Done<()> {
    let id = link.subject.id.as_str();
    match link.subject.purpose {
        Purpose::Quote => quote::sign(tx, &RevisionId::new(id), yes).map(drop),
        Purpose::Variation => variation::sign(tx, &VariationId::new(id), yes).map(drop),
    }
}

/// Turns it down, where it is still what the form spoke of.
pub(super) fn decline(tx: &mut Tx<'_>, link: &Link, digest: &str, reason: &str) -> Done<()> {
    if offer(tx, link)?.digest != digest {
        return Err(Problem::conflict("quote-not-current", "This is another version than the one on offer.").into());
    }
    let id = link.subject.id.as_str();
    match link.subject.purpose {
        Purpose::Quote => quote::decline(tx, &RevisionId::new(id), reason, Some(link)),
        Purpose::Variation => variation::decline(tx, &VariationId::new(id), reason, Some(link)),
    }
}

/// Agrees that its work may start within the 14 days.
pub(super) fn agree_to_early_start(tx: &mut Tx<'_>, link: &Link) -> Done<()> {
    let shown = offer(tx, link)?;
    if link.subject.purpose == Purpose::Variation || shown.start.not_before.is_none() {
        return Err(Problem::conflict("start-not-held-back", "Work may begin at any time.").into());
    }
    quote::agree_to_early_start(tx, &shown.quote.id, link)
}

/// What the pages call it: `quote Q-2026-0042`, or `change Q-2026-0042-V1`.
pub(super) fn called(document: &QuoteDocument) -> String {
    let word = if document.variation_of.is_some() { "change" } else { "quote" };
    format!("{word} {}", document.number)
}

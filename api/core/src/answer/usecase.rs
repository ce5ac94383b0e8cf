//! Answers that a customer gives through a link, and acceptances of a quote that somebody records.

use baywright_domain::id::{QuoteId, RevisionId, VariationId};
use baywright_domain::invoice::DepositAsked;

use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::quote::usecase::{self as quote, NotedYes, OfferShown, Shown, Yes};
use crate::signoff::usecase::{Link, Purpose};
use crate::variation::usecase as variation;
use crate::{booking, deposit, job};

/// Kind of document behind a link: a quote or a variation.
pub fn offer(tx: &mut Tx<'_>, link: &Link) -> Done<OfferShown> {
    let id = link.subject.id.as_str();
    match link.subject.purpose {
        Purpose::Quote => of_quote(tx, &RevisionId::new(id)),
        Purpose::Variation => variation::offer(tx, &VariationId::new(id)),
        Purpose::Stay => Err(Refused::not_found("link").into()),
    }
}

fn of_quote(tx: &mut Tx<'_>, id: &RevisionId) -> Done<OfferShown> {
    quote::offer(tx, id, booking::usecase::starts_of)
}

/// Accepts the document behind a link.
pub fn sign(tx: &mut Tx<'_>, link: &Link, yes: &Yes) -> Done<()> {
    let id = link.subject.id.as_str();
    match link.subject.purpose {
        Purpose::Quote => sign_quote(tx, &RevisionId::new(id), yes),
        Purpose::Variation => variation::sign(tx, &VariationId::new(id), yes).map(drop),
        Purpose::Stay => Err(Refused::not_found("link").into()),
    }
}

/// Accepts a revision of a quote: it is sealed, booking and job are updated, and then mails are sent.
fn sign_quote(tx: &mut Tx<'_>, id: &RevisionId, yes: &Yes) -> Done<()> {
    let shown = of_quote(tx, id)?;
    let (sealed, totals) = quote::sign(tx, &shown, yes)?;
    job::usecase::after_signing(tx, &shown.quote.id, None, yes.link.is_some())?;
    quote::tell_signed(tx, &shown, yes, &sealed, &totals)?;
    deposit::usecase::asked_at(tx, &shown.quote.id, DepositAsked::AtSigning)
}

/// Declines the document behind a link, if it is still the one that the form referred to.
///
/// # Errors
/// `Conflict` if there is another version by now, or it can no longer be declined.
pub fn decline(tx: &mut Tx<'_>, link: &Link, digest: &str, reason: &str) -> Done<()> {
    if offer(tx, link)?.digest != digest {
        return Err(Refused::conflict(
            "quote-not-current",
            "This is not the version on offer now. Read the current version and answer that one.",
        )
        .into());
    }
    let id = link.subject.id.as_str();
    match link.subject.purpose {
        Purpose::Quote => quote::decline(tx, &RevisionId::new(id), reason, Some(link)),
        Purpose::Variation => variation::decline(tx, &VariationId::new(id), reason, Some(link)),
        Purpose::Stay => Err(Refused::not_found("link").into()),
    }
}

/// Records the customer's agreement, through the link that was used for signing, that work may start within the 14
/// days.
///
/// # Errors
/// `Conflict` if it may start at any time.
pub fn agree_to_early_start(tx: &mut Tx<'_>, link: &Link) -> Done<()> {
    let shown = offer(tx, link)?;
    if link.subject.purpose == Purpose::Variation || shown.start.not_before.is_none() {
        return Err(Refused::conflict(
            "start-not-held-back",
            "Work may begin at any time: there is nothing to agree to.",
        )
        .into());
    }
    quote::agree_to_early_start(tx, &shown.quote.id, link)
}

/// Records an acceptance of a quote that was given by phone, in the name of the signed-in person. Warns if the work is
/// booked for a time at which it may not begin.
///
/// # Errors
/// `Conflict` if no revision waits for the customer's signature; `Gone` if it has expired; `Invalid` with everything
/// that is wrong with the request.
pub fn note_yes(tx: &mut Tx<'_>, id: &QuoteId, seen: Seen, noted: &NotedYes) -> Done<Shown> {
    let revision = quote::signable(tx, id, seen)?;
    let yes = noted.yes(tx);
    let named = |pointer: &str| if pointer == "/intent" { "/agreed".to_owned() } else { pointer.to_owned() };
    sign_quote(tx, &revision, &yes).map_err(|fail| fail.repointed(named))?;
    booking::usecase::warn_if_too_early(tx, id)?;
    quote::show(tx, id)
}

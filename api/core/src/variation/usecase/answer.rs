//! The customer's answer to a variation, and the consequences of an acceptance.

use std::collections::BTreeSet;

use baywright_domain::id::VariationId;
use baywright_domain::menu::Code;
use baywright_domain::variation::VariationState;

use super::send::still_of;
use super::write::under_way;
use super::{Shown, letter, names_of_selling, needed, show};
use crate::agreement::usecase::{self as agreement, Agreed, Frozen, Variation, agreed, find, frozen};
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::quote::kept::QuoteDocument;
use crate::quote::usecase::letter::{Answered, tell_studio};
use crate::quote::usecase::{NotedYes, OfferShown, Standing, StartTerms, Yes, sealed_file};
use crate::signoff::usecase::{self as signoff, Link, Signoff, Subject};
use crate::{job, learning, mail, menu, quote};

/// A variation as the customer sees it, in the form of an offer.
///
/// # Errors
/// `NotFound` if there is none that was sent.
pub fn offer(tx: &mut Tx<'_>, id: &VariationId) -> Done<OfferShown> {
    let variation = find(tx, id)?;
    let Some(kept) = &variation.frozen else { return Err(Refused::not_found("variation").into()) };
    let agreed = agreed(tx, &variation.quote)?;
    let signoff = match variation.state {
        VariationState::Signed => signoff::find(tx, &Subject::variation(id.as_str()))?,
        _ => None,
    };
    Ok(OfferShown {
        quote: quote::usecase::head(tx, &variation.quote)?,
        revision: variation.revision.clone(),
        standing: Standing::Variation(variation.state),
        is_current: variation.revision == agreed.quote.revision_id,
        digest: kept.digest.clone(),
        document: QuoteDocument::parse(&kept.document)?,
        menu: menu::to_json(&agreed.quote.menu, tx.studio.currency)?,
        beliefs: kept.beliefs.as_deref().map(learning::from_json).transpose()?.unwrap_or_default(),
        decided_at: variation.decided_at,
        // A variation has neither: its work is under way.
        booked_for: None,
        start: StartTerms::default(),
        signoff,
    })
}

/// Accepts a variation: it is sealed with the evidence, added to the plan and the job under way, the time that it names
/// is promised, and the customer gets a copy by mail if there is an address.
///
/// # Errors
/// `Conflict` if it isn't with the customer, is outdated, or needs more than a call; `Invalid` with everything that is
/// wrong with the form, or if the work that would be agreed can't be planned.
pub fn sign(tx: &mut Tx<'_>, id: &VariationId, yes: &Yes) -> Done<Signoff> {
    let variation = find(tx, id)?;
    let kept = frozen_or_draft(&variation)?;
    let (document_text, change, sent_at) = (kept.document.clone(), kept.change, kept.sent_at);
    let shown = offer(tx, id)?;
    let before = agreed(tx, &variation.quote)?;
    still_of(&variation, &before)?;
    under_way(tx, &variation.quote)?;
    let state = variation.state.sign(yes.method, needed(tx, Some(change))?)?;
    let lines = shown.accept(yes, tx.now)?;
    no_line_twice(&variation, &before)?;
    no_service_twice(sent_at, &shown.document, &lines, &before)?;
    let subject = Subject::variation(id.as_str());
    let (sealed, totals) = shown.seal(tx, &subject, yes, lines, document_text)?;
    signoff::answered(tx, yes.link.as_ref())?;
    agreement::sign(tx, &variation, state, &sealed)?;
    let told = shown.document.change.as_ref().and_then(|change| change.ready_after);
    job::usecase::after_signing(tx, &variation.quote, told.map(|at| at.0.minute()), yes.link.is_some())?;
    if let Some(to) = shown.copy_goes_to(yes) {
        let file = sealed_file(&shown, &sealed)?;
        let page = signoff::stay_address(tx, &variation.quote, &to)?;
        let mail = letter::copy(&tx.studio, id, &shown.document, (&to, page), &sealed, &totals, file)?;
        mail::outbox::send(tx, mail)?;
    }
    let answer = Answered::Yes { sum: &totals.payable, name: &sealed.typed_name, not_before: None };
    tell_studio(tx, ("variation", id.as_str()), &shown.document, yes.link.as_ref(), &answer)?;
    Ok(sealed)
}

/// Refuses the request if a line that falls away fell away by another variation since.
fn no_line_twice(variation: &Variation, before: &Agreed) -> Done<()> {
    let gone = before.dropped();
    if variation.draft.dropped.iter().any(|place| gone.contains(place)) {
        let detail = "Another variation has already removed one of these lines. Write a new variation.";
        return Err(Refused::conflict("variation-outdated", detail).into());
    }
    Ok(())
}

/// Refuses the request if a service of the lines that are taken was agreed by another variation after this one was
/// sent: the customer would pay twice for it.
fn no_service_twice(sent_at: UtcTime, document: &QuoteDocument, taken: &[usize], before: &Agreed) -> Done<()> {
    let since = before.variations.iter().filter(|other| other.signed_at >= sent_at);
    let services = since.flat_map(|other| &other.lines).flat_map(|line| &line.line.services);
    let agreed: BTreeSet<&str> = services.map(Code::as_str).collect();
    let lines = taken.iter().filter_map(|place| document.lines.get(*place));
    let Some(twice) = names_of_selling(lines, &agreed) else { return Ok(()) };
    let detail = format!(
        "This was already agreed by another variation after this one was sent: {twice}. Decline this one, and write a new \
         variation if more of it is wanted."
    );
    Err(Refused::conflict("variation-outdated", detail).into())
}

fn frozen_or_draft(variation: &Variation) -> Done<&Frozen> {
    if variation.state == VariationState::Draft {
        // The move's own error describes best what is missing.
        variation.state.decline()?;
    }
    frozen(variation)
}

/// Declines a variation: the work continues as agreed before.
///
/// # Errors
/// `Conflict` if it isn't with the customer.
pub fn decline(tx: &mut Tx<'_>, id: &VariationId, reason: &str, link: Option<&Link>) -> Done<()> {
    let variation = find(tx, id)?;
    let state = variation.state.decline()?;
    signoff::answered(tx, link)?;
    agreement::decline(tx, &variation, state, reason)?;
    let document = QuoteDocument::parse(&frozen(&variation)?.document)?;
    tell_studio(tx, ("variation", id.as_str()), &document, link, &Answered::No(reason.trim()))
}

/// Records an acceptance given by phone, in the name of the person who is signed in.
pub fn note_yes(tx: &mut Tx<'_>, id: &VariationId, seen: Seen, noted: &NotedYes) -> Done<Shown> {
    let variation = find(tx, id)?;
    seen.check(variation.version)?;
    let yes = noted.yes(tx);
    sign(tx, id, &yes)?;
    show(tx, id)
}

/// Records that the customer declined, as they told the studio.
pub fn note_no(tx: &mut Tx<'_>, id: &VariationId, seen: Seen, reason: &str) -> Done<Shown> {
    let variation = find(tx, id)?;
    seen.check(variation.version)?;
    decline(tx, id, reason, None)?;
    show(tx, id)
}

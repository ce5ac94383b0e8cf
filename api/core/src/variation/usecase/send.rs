//! Sending a variation to the customer: it is frozen, and mailed with a link.

use std::collections::BTreeSet;

use baywright_domain::id::VariationId;
use baywright_domain::inspection::WorkStage;
use baywright_domain::signoff::Method;
use baywright_domain::variation::VariationState;

use super::compose::{Composed, compose};
use super::write::under_way;
use super::{Shown, letter, names_of_selling, show};
use crate::agreement::usecase::{self as agreement, Agreed, Frozen, Variation, agreed, find, frozen};
use crate::platform::canonical::{canonical, digest};
use crate::platform::fail::{Done, Fail};
use crate::platform::kept::Moment;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::quote::kept::QuoteDocument;
use crate::quote::usecase::ByMail;
use crate::signoff::usecase::{self as signoff, Link, NewLink, Subject};
use crate::{inspection, learning, mail};

/// Minutes for which the link to a variation stays open. A car in its bay doesn't wait longer for an answer, and the
/// page shows the outcome for some time after.
const LINK_MINUTES: i64 = signoff::KEPT_DAYS * 24 * 60;

/// Sends the draft: it is priced again, frozen and sealed. Without a mail the desk gives the customer a link.
///
/// # Errors
/// `Conflict` if it is no draft, the work isn't under way, or readings ask for the owner before paint is removed;
/// `Invalid` if it can't be priced, or there is no address to mail to.
pub fn send(tx: &mut Tx<'_>, id: &VariationId, seen: Seen, by_mail: Option<&ByMail>) -> Done<Shown> {
    let variation = find(tx, id)?;
    seen.check(variation.version)?;
    let state = variation.state.send()?;
    under_way(tx, &variation.quote)?;
    let agreed = agreed(tx, &variation.quote)?;
    still_of(&variation, &agreed)?;
    let made = compose(tx, &agreed, variation.number, &variation.draft)?;
    made.sells_nothing_twice(tx)?;
    offers_nothing_twice(tx, &variation, &made.document)?;
    let Composed { mut document, change, beliefs, paint_work, explanation, .. } = made;
    if let Some(work) = paint_work {
        let named = agreed.inspections(variation.draft.inspection());
        inspection::usecase::may_work_on_paint(tx, &agreed.quote.vehicle, &named, (&work, WorkStage::Offered))?;
        inspection::usecase::warn_of_unmeasured(tx, &agreed.quote.vehicle, &work)?;
    }
    let to = by_mail.map(|by_mail| by_mail.address(&document)).transpose()?;
    document.sent_at = Some(Moment(tx.now));
    let text = serde_json::to_value(&document).map_err(Fail::unexpected)?;
    let text = canonical(&text).map_err(Fail::unexpected)?;
    let beliefs = Some(learning::to_json(&beliefs)?);
    let explanation = Some(serde_json::to_string(&explanation).map_err(Fail::unexpected)?);
    let frozen = Frozen { digest: digest(&text), document: text, change, beliefs, explanation, sent_at: tx.now };
    agreement::freeze(tx, &variation, state, &frozen)?;
    if let (Some(to), Some(by_mail)) = (to, by_mail) {
        let (_, url) = sent_link(tx, id, &to)?;
        let mail = letter::offer(&tx.studio, id, &document, &to, &by_mail.message, &url)?;
        mail::outbox::send(tx, mail)?;
    }
    show(tx, id)
}

/// Asks for a confirmation before a service is sent to a customer who has not answered another variation with the same
/// service.
///
/// # Errors
/// `Conflict`, to be confirmed.
fn offers_nothing_twice(tx: &mut Tx<'_>, variation: &Variation, document: &QuoteDocument) -> Done<()> {
    for other in agreement::of_quote(tx, &variation.quote)? {
        let is_open = other.state == VariationState::Sent && other.revision == variation.revision;
        if other.id == variation.id || !is_open {
            continue;
        }
        let offered = QuoteDocument::parse(&frozen(&other)?.document)?;
        let offered: BTreeSet<&str> =
            offered.lines.iter().flat_map(|line| &line.services).map(String::as_str).collect();
        if let Some(twice) = names_of_selling(&document.lines, &offered) {
            let detail = format!(
                "The customer has not answered variation {} yet, which offers this too: {twice}. Decline that one first, \
                 or let the customer choose one of the two: they can't sign the same service twice.",
                other.number
            );
            tx.must_confirm("service-offered-twice", detail)?;
        }
    }
    Ok(())
}

/// Refuses the request if a later revision of the quote was signed, which replaces what was agreed.
pub(super) fn still_of(variation: &Variation, agreed: &Agreed) -> Done<()> {
    if variation.revision == agreed.quote.revision_id {
        return Ok(());
    }
    let detail = "A later revision of the quote was signed since. Write a new variation of that revision.";
    Err(Refused::conflict("variation-outdated", detail).into())
}

fn sent_link(tx: &mut Tx<'_>, id: &VariationId, contact: &str) -> Done<(Link, String)> {
    issued(
        tx,
        NewLink {
            subject: Subject::variation(id.as_str()),
            method: Method::Link,
            contact: contact.to_owned(),
            person: None,
            ends_at: tx.now.plus_minutes(LINK_MINUTES),
        },
    )
}

fn issued(tx: &mut Tx<'_>, new: NewLink) -> Done<(Link, String)> {
    let (link, token) = signoff::issue(tx, &new)?;
    Ok((link, format!("{}/q/{}", tx.config.public_url, token.as_str())))
}

/// Creates a link to a variation that is with the customer: for signing in person, on the studio's device, or to send
/// by another way than mail. Its address is shown once.
///
/// # Errors
/// `Conflict` if it isn't with the customer; `Invalid` for a link without a contact.
pub fn make_link(tx: &mut Tx<'_>, id: &VariationId, method: Method, contact: &str) -> Done<(Link, String)> {
    let variation = find(tx, id)?;
    if variation.state != VariationState::Sent {
        // The move is only tried: a customer who could not answer needs no link.
        variation.state.decline()?;
    }
    if method == Method::InPerson {
        let new = NewLink {
            subject: Subject::variation(id.as_str()),
            method,
            contact: String::new(),
            person: tx.actor.person().cloned(),
            ends_at: tx.now.plus_minutes(signoff::IN_PERSON_MINUTES),
        };
        return issued(tx, new);
    }
    if contact.is_empty() {
        let detail = "Write where the link goes, such as a telephone number.";
        return Err(Refused::field("/contact", "missing", detail).into());
    }
    sent_link(tx, id, contact)
}

//! Time when the work of a signed quote may begin, and the customer's later agreement to an earlier start.

use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::id::QuoteId;
use baywright_domain::signoff::{Method, WithdrawalTerms};
use baywright_domain::time::Minute;
use chrono::NaiveTime;
use serde_json::json;

use super::{Shown, head, letter, show};
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::quote::kept::QuoteDocument;
use crate::quote::store;
use crate::signoff::usecase::{self as signoff, Link, Signoff, Subject};

/// Time when the work of a signed revision may begin.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct StartTerms {
    /// Time before which work may not start: until then the customer can withdraw, and has not agreed to an earlier
    /// start. `None` if it may begin at any time.
    pub not_before: Option<Minute>,
    /// Time when the customer agreed to an earlier start after the signing.
    pub agreed_at: Option<UtcTime>,
}

/// Time when the work may begin that a sign-off of a quote agreed.
pub fn start_terms(tx: &mut Tx<'_>, signed: &Signoff) -> Done<StartTerms> {
    if signed.early_start == Some(true) || !signed.method.is_at_a_distance() {
        return Ok(StartTerms::default());
    }
    let document = QuoteDocument::parse(&signed.document)?;
    if document.early_start.is_none() {
        return Ok(StartTerms::default());
    }
    let agreed_at = signoff::early_start_agreed(tx, &signed.id)?;
    let zone = Zone::named(&tx.studio.zone)?;
    let terms = WithdrawalTerms {
        has_words: true,
        method: signed.method,
        early_start: signed.early_start,
        agreed_later: agreed_at.is_some(),
        signed_on: zone.to_local(signed.signed_at.minute()).date(),
    };
    let not_before = terms.waits_until().map(|day| zone.to_utc(day.and_time(NaiveTime::MIN)));
    Ok(StartTerms { not_before, agreed_at })
}

/// First moment at which the work of a quote may begin by its latest sign-off; `None` if it may begin at any time or
/// nothing is signed.
pub fn may_begin(tx: &mut Tx<'_>, id: &QuoteId) -> Done<Option<Minute>> {
    match latest_signoff(tx, id)? {
        Some(signed) => Ok(start_terms(tx, &signed)?.not_before),
        None => Ok(None),
    }
}

fn latest_signoff(tx: &mut Tx<'_>, id: &QuoteId) -> Done<Option<Signoff>> {
    match store::latest_signed(tx, id)? {
        Some(row) => signoff::find(tx, &Subject::quote(row.id.as_str())),
        None => Ok(None),
    }
}

/// Records that the customer told the studio, after the signing, that work may begin within the 14 days.
///
/// # Errors
/// `Conflict` if no revision is signed, or its work may begin at any time; `Invalid` if the customer did not agree.
pub fn note_early_start(tx: &mut Tx<'_>, id: &QuoteId, seen: Seen, agreed: bool) -> Done<Shown> {
    seen.check(head(tx, id)?.version)?;
    if !agreed {
        let detail = "Read the question on the quote to the customer, and record only that they agreed.";
        return Err(Refused::field("/agreed", "not_agreed", detail).into());
    }
    agree(tx, id, Method::Phone, None)?;
    show(tx, id)
}

/// The same by the customer, on the page of the link with which they signed.
///
/// # Errors
/// `Conflict` if no revision is signed, or its work may begin at any time.
pub fn agree_to_early_start(tx: &mut Tx<'_>, id: &QuoteId, link: &Link) -> Done<()> {
    let document = agree(tx, id, link.method, Some(link))?;
    letter::tell_studio(tx, ("quote", id.as_str()), &document, Some(link), &letter::Answered::EarlyStart)
}

fn agree(tx: &mut Tx<'_>, id: &QuoteId, method: Method, link: Option<&Link>) -> Done<QuoteDocument> {
    let quote = head(tx, id)?;
    let signed = latest_signoff(tx, id)?.ok_or_else(|| {
        let detail = format!("Quote {} is not signed. The question is answered with the signature.", quote.number);
        Refused::conflict("quote-not-signed", detail)
    })?;
    if start_terms(tx, &signed)?.not_before.is_none() {
        let detail = "Work on this quote may begin at any time: there is nothing to agree to.";
        return Err(Refused::conflict("start-not-held-back", detail).into());
    }
    let document = QuoteDocument::parse(&signed.document)?;
    let words = document.early_start.clone().unwrap_or_default();
    signoff::agree_to_early_start(tx, &signed, method, link, &words)?;
    store::touch(tx, &quote, quote.latest)?;
    let detail = json!({ "signoff_id": signed.id.as_str(), "method": method.as_str() });
    record::write(tx, "quote.early-start-agreed", ("quote", id.as_str()), detail)?;
    Ok(document)
}

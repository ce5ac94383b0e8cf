//! Reading quotes and their revisions.

use baywright_domain::id::QuoteId;
use baywright_domain::quote::RevisionState;

use super::compose::compose;
use super::start::{StartTerms, start_terms};
use super::{Listed, Quote, Wanted};
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::quote::kept::{LineExplanation, QuoteDocument, QuoteDraft};
use crate::quote::store::{self, RevisionRow};
use crate::signoff;
use crate::signoff::usecase::{Signoff, Subject};
use crate::vehicle;

/// A revision for display.
#[derive(Debug, Clone)]
pub struct ShownRevision {
    /// Its number.
    pub number: u32,
    /// State of the revision now: a sent one that has expired counts as lapsed at once.
    pub state: RevisionState,
    /// The draft that it was made from.
    pub draft: QuoteDraft,
    /// The customer's document; for a draft as it would be sent now, `None` if it can no longer be priced.
    pub document: Option<QuoteDocument>,
    /// Full explanation of each line's price; `None` if there is no document, or if it was not stored.
    pub explanation: Option<Vec<LineExplanation>>,
    /// Digest of the document, once it is frozen.
    pub digest: Option<String>,
    /// Reason why it was declined or withdrawn, if that was said.
    pub reason: Option<String>,
    /// Time when it was signed, declined, withdrawn, replaced or lapsed.
    pub decided_at: Option<UtcTime>,
    /// Its sign-off, if it is signed.
    pub signoff: Option<Signoff>,
    /// Time when its work may begin, by what its customer agreed to.
    pub start: StartTerms,
    /// Time when it was begun.
    pub created_at: UtcTime,
}

/// A quote with its latest revision, and the states of all.
#[derive(Debug, Clone)]
pub struct Shown {
    /// The quote.
    pub quote: Quote,
    /// Its latest revision.
    pub revision: ShownRevision,
    /// Number and state of each, the first one first.
    pub revisions: Vec<(u32, RevisionState)>,
}

/// One page of the shop's quotes.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Slice<Listed>> {
    let rows = store::page(tx, wanted, paging)?;
    Ok(paging.page(rows, |quote| Mark::of_id(quote.id.as_str())))
}

/// The quote with that id, if there is one.
pub fn find(tx: &mut Tx<'_>, id: &QuoteId) -> Done<Option<Quote>> {
    Ok(store::find(tx, id)?)
}

/// A quote, whatever its revisions.
///
/// # Errors
/// `NotFound` if there is none.
pub fn head(tx: &mut Tx<'_>, id: &QuoteId) -> Done<Quote> {
    Ok(store::find(tx, id)?.ok_or_else(|| Refused::not_found("quote"))?)
}

/// A quote with its latest revision.
pub fn show(tx: &mut Tx<'_>, id: &QuoteId) -> Done<Shown> {
    let (quote, row, explanation) = match store::with_latest(tx, id)? {
        Some(found) => found,
        // The error says what is missing, the quote or its revision.
        None => super::write::latest(tx, id).map(|(quote, row)| (quote, row, None))?,
    };
    let revision = shown(tx, &quote, row, explanation)?;
    // Most quotes have one revision.
    let mut revisions = if quote.latest == 1 { vec![(quote.latest, revision.state)] } else { store::numbers(tx, id)? };
    if let Some(last) = revisions.last_mut() {
        last.1 = revision.state;
    }
    // Only the latest revision, or the one before an open draft, can be with the customer.
    if revision.state == RevisionState::Draft {
        for (number, state) in &mut revisions {
            if *state == RevisionState::Sent {
                let sent = store::find_revision(tx, id, *number)?;
                *state = sent.as_ref().map_or(*state, |sent| state_now(tx, sent));
            }
        }
    }
    Ok(Shown { quote, revision, revisions })
}

/// One revision of a quote.
pub fn show_revision(tx: &mut Tx<'_>, id: &QuoteId, number: u32) -> Done<(Quote, ShownRevision)> {
    let quote = store::find(tx, id)?.ok_or_else(|| Refused::not_found("quote"))?;
    let row = store::find_revision(tx, id, number)?.ok_or_else(|| Refused::not_found("revision"))?;
    let explanation = if row.frozen.is_some() { store::explanation(tx, &row.id)? } else { None };
    let revision = shown(tx, &quote, row, explanation)?;
    Ok((quote, revision))
}

/// The revision of a quote for display; `explanation` is the stored one of its prices, as JSON.
fn shown(tx: &mut Tx<'_>, quote: &Quote, row: RevisionRow, explanation: Option<String>) -> Done<ShownRevision> {
    let draft = QuoteDraft::parse(&row.draft)?;
    let state = state_now(tx, &row);
    let (document, explanation) = match &row.frozen {
        Some(frozen) => {
            let kept = explanation.map(|text| serde_json::from_str(&text)).transpose().map_err(Fail::unexpected)?;
            (Some(QuoteDocument::parse(&frozen.document)?), kept)
        }
        None => priced(tx, quote, &row, &draft)?.unzip(),
    };
    let signoff = match row.state {
        RevisionState::Signed => signoff::usecase::find(tx, &Subject::quote(row.id.as_str()))?,
        _ => None,
    };
    let start = match &signoff {
        Some(signoff) => start_terms(tx, signoff)?,
        None => StartTerms::default(),
    };
    Ok(ShownRevision {
        number: row.number,
        state,
        draft,
        document,
        explanation,
        digest: row.frozen.map(|frozen| frozen.digest),
        reason: row.reason,
        decided_at: row.decided_at,
        signoff,
        start,
        created_at: row.created_at,
    })
}

/// A draft's current document. If the menu or the inspection has changed since it was written, there may be none;
/// trying to send it says why.
fn priced(
    tx: &mut Tx<'_>,
    quote: &Quote,
    row: &RevisionRow,
    draft: &QuoteDraft,
) -> Done<Option<(QuoteDocument, Vec<LineExplanation>)>> {
    let of = vehicle::usecase::show(tx, &quote.vehicle)?;
    match compose(tx, &of, draft, &quote.number, row.number) {
        Ok(composed) => Ok(Some((composed.document, composed.explanation))),
        Err(Fail::Refused(_)) => Ok(None),
        Err(other) => Err(other),
    }
}

/// The revision's state at the time of the use case.
pub(super) fn state_now(tx: &Tx<'_>, row: &RevisionRow) -> RevisionState {
    match &row.frozen {
        Some(frozen) => row.state.at(tx.now.datetime(), frozen.holds_until.datetime()),
        None => row.state,
    }
}

/// The frozen data of a sent revision.
pub(super) fn frozen(row: &RevisionRow) -> Result<&store::Frozen, DbError> {
    row.frozen.as_ref().ok_or_else(|| DbError::Corrupt(format!("revision {} is not frozen", row.id)))
}

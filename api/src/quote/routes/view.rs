//! Quotes as they are answered.

use serde::Serialize;
use utoipa::ToSchema;

use super::body::{MethodWord, StateWord};
use crate::booking;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::platform::wire::{Amount, Instant, Reference, Word};
use crate::quote::form::{LineExplanation, QuoteDocument, QuoteDraft, QuoteTotals};
use crate::quote::usecase::{Listed, Price, Quote, Shown, ShownRevision};
use crate::signoff::usecase::{Link, Signoff};

/// A quote with its latest revision.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuoteView {
    /// The quote's id.
    id: Reference,
    /// Counts the changes of the quote and its revisions; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Its number.
    #[schema(max_length = 40, example = "Q-2026-0042")]
    number: String,
    /// The customer.
    customer_id: Reference,
    /// The vehicle.
    vehicle_id: Reference,
    /// The latest revision.
    latest: QuoteRevisionView,
    /// Every revision with its state, the first one first.
    #[schema(max_items = 10000)]
    revisions: Vec<QuoteRevisionState>,
    /// Whether the quote's booking still fits what is signed; null without a booking. False after other work was signed:
    /// ask for new times at `/v1/quotes/{id}/availability`, and move the booking.
    booking_fits: Option<bool>,
    /// When the quote was begun.
    created_at: Instant,
    /// When it last changed.
    updated_at: Instant,
}

/// A revision and its state.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuoteRevisionState {
    /// The revision's number.
    #[schema(minimum = 1, maximum = 10000)]
    number: u32,
    /// Its state.
    state: StateWord,
}

/// A revision of a quote.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuoteRevisionView {
    /// The quote's id.
    quote_id: Reference,
    /// The quote's version; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// The revision's number.
    #[schema(minimum = 1, maximum = 10000)]
    number: u32,
    /// Its state now; what was sent and holds no more counts as lapsed at once.
    state: StateWord,
    /// What it was made from.
    draft: QuoteDraft,
    /// What the customer reads; in a draft as it would be now, and null where it can't be priced any more.
    document: Option<QuoteDocument>,
    /// How each line's price was made, in full and in the document's order, whatever the customer sees of it. Null if the
    /// document is null, and in quotes that were sent before this was kept.
    #[schema(max_items = 60)]
    explanation: Option<Vec<LineExplanation>>,
    /// SHA-256 over the canonical JSON (RFC 8785) of the document; null in a draft.
    #[schema(max_length = 64)]
    digest: Option<String>,
    /// Why it was declined or withdrawn; null where nobody said.
    #[schema(max_length = 1000)]
    reason: Option<String>,
    /// When it was signed, declined, withdrawn, replaced or written down as lapsed; null before.
    decided_at: Option<Instant>,
    /// The sign-off; null where it isn't signed.
    signoff: Option<SignoffView>,
    /// No work may begin before this moment: until then the customer can withdraw, and has not agreed to an earlier start.
    /// Null if it may begin at any time.
    start_not_before: Option<Instant>,
    /// When the customer agreed to an earlier start after the signing; null if they did not.
    early_start_agreed_at: Option<Instant>,
    /// When it was begun.
    created_at: Instant,
}

/// A sign-off.
#[derive(Debug, Serialize, ToSchema)]
pub struct SignoffView {
    /// The sign-off's id.
    id: Reference,
    /// How the yes was given.
    method: MethodWord,
    /// The name as it was typed.
    #[schema(max_length = 200)]
    typed_name: String,
    /// Who noted it, by phone or in person; else null.
    noted_by: Option<Reference>,
    /// The lines that were taken, by place from 0.
    #[schema(max_items = 60, value_type = Vec<crate::platform::wire::Whole<0, 60>>)]
    choices: Vec<usize>,
    /// Whether the customer said that work may start within the 14 days in which they can withdraw; null if they were not
    /// asked.
    early_start: Option<bool>,
    /// When it was signed.
    signed_at: Instant,
    /// Digest of the document that was shown.
    #[schema(min_length = 64, max_length = 64)]
    document_digest: String,
    /// Digest of the evidence.
    #[schema(min_length = 64, max_length = 64)]
    evidence_digest: String,
    /// The evidence as canonical JSON (RFC 8785), to the byte.
    #[schema(max_length = 400_000)]
    evidence: String,
}

/// A quote in a list.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuoteSummary {
    /// The quote's id.
    id: Reference,
    /// Counts the changes.
    #[schema(minimum = 1)]
    version: i64,
    /// Its number.
    #[schema(max_length = 40, example = "Q-2026-0042")]
    number: String,
    /// The customer.
    customer_id: Reference,
    /// The vehicle.
    vehicle_id: Reference,
    /// Its latest revision.
    #[schema(minimum = 1, maximum = 10000)]
    revision: u32,
    /// That revision's state.
    state: StateWord,
    /// What the required lines come to; null in a draft, and where no line is required.
    payable: Option<Amount>,
    /// When it was sent; null in a draft.
    sent_at: Option<Instant>,
    /// From when it holds no more; null in a draft.
    holds_until: Option<Instant>,
    /// When it was begun.
    created_at: Instant,
}

/// What a draft comes to.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuotePriceView {
    /// The document as it would be sent.
    document: QuoteDocument,
    /// How each line's price was made, in full and in the document's order, whatever the customer sees of it.
    #[schema(max_items = 60)]
    explanation: Vec<LineExplanation>,
    /// What the required lines and those chosen come to; null where no line is.
    totals: Option<QuoteTotals>,
}

/// A link that was just made.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuoteLinkView {
    /// The link's id.
    id: Reference,
    /// Its address; it is told this once.
    #[schema(max_length = 400, example = "https://bay.example.com/q/…")]
    url: String,
    /// How it reaches the customer.
    method: MethodWord,
    /// When it ends.
    ends_at: Instant,
}

crate::versioned!(QuoteView, QuoteRevisionView);

impl QuoteView {
    /// The quote, with what its booking says of it.
    pub(super) fn of(shown: Shown, tx: &mut Tx<'_>) -> Done<Self> {
        let booking = booking::usecase::of_quote(tx, &shown.quote.id)?;
        let quote = &shown.quote;
        let state = |(number, state): (u32, _)| QuoteRevisionState { number, state: Word(state) };
        Ok(Self {
            id: Reference::from(&quote.id),
            version: quote.version,
            number: quote.number.clone(),
            customer_id: Reference::from(&quote.customer),
            vehicle_id: Reference::from(&quote.vehicle),
            revisions: shown.revisions.into_iter().map(state).collect(),
            booking_fits: booking.map(|booking| booking.fits),
            created_at: Instant(quote.created_at),
            updated_at: Instant(quote.updated_at),
            latest: QuoteRevisionView::of(quote, shown.revision),
        })
    }

    /// Whether the quote has a booking, whose moves change the answer without a change of its version.
    pub(super) fn is_booked(&self) -> bool {
        self.booking_fits.is_some()
    }

    pub(super) fn location(&self) -> String {
        format!("/v1/quotes/{}", self.id)
    }
}

impl QuoteRevisionView {
    pub(super) fn of(quote: &Quote, revision: ShownRevision) -> Self {
        Self {
            quote_id: Reference::from(&quote.id),
            version: quote.version,
            number: revision.number,
            state: Word(revision.state),
            draft: revision.draft,
            document: revision.document,
            explanation: revision.explanation,
            digest: revision.digest,
            reason: revision.reason,
            decided_at: revision.decided_at.map(Instant),
            signoff: revision.signoff.map(SignoffView::from),
            start_not_before: revision.start.not_before.map(|first| Instant(UtcTime::from_minute(first))),
            early_start_agreed_at: revision.start.agreed_at.map(Instant),
            created_at: Instant(revision.created_at),
        }
    }
}

impl From<Signoff> for SignoffView {
    fn from(signoff: Signoff) -> Self {
        Self {
            id: Reference::from(&signoff.id),
            method: Word(signoff.method),
            typed_name: signoff.typed_name,
            noted_by: signoff.noted_by.as_ref().map(Reference::from),
            choices: signoff.choices,
            early_start: signoff.early_start,
            signed_at: Instant(signoff.signed_at),
            document_digest: signoff.document_digest,
            evidence_digest: signoff.evidence_digest,
            evidence: signoff.evidence,
        }
    }
}

impl QuoteSummary {
    pub(super) fn of(listed: Listed, currency: baywright_domain::money::Currency) -> Self {
        Self {
            id: Reference::from(&listed.id),
            version: listed.version,
            number: listed.number,
            customer_id: Reference::from(&listed.customer),
            vehicle_id: Reference::from(&listed.vehicle),
            revision: listed.revision,
            state: Word(listed.state),
            payable: listed.payable.map(|amount| Amount::of(amount, currency)),
            sent_at: listed.sent_at.map(Instant),
            holds_until: listed.holds_until.map(Instant),
            created_at: Instant(listed.created_at),
        }
    }
}

impl From<Price> for QuotePriceView {
    fn from(price: Price) -> Self {
        Self { document: price.document, explanation: price.explanation, totals: price.totals }
    }
}

impl QuoteLinkView {
    /// The link with its address.
    pub(crate) fn of(link: &Link, url: String) -> Self {
        Self { id: Reference::from(&link.id), url, method: Word(link.method), ends_at: Instant(link.ends_at) }
    }
}

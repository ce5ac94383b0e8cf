//! Quotes as the API returns them.

use baywright_core::booking;
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::fail::Done;
use baywright_core::platform::tx::Tx;
use baywright_core::quote::usecase::{Listed, Price, Quote, Shown, ShownRevision};
use baywright_core::signoff::usecase::{Link, Signoff};
use serde::Serialize;
use utoipa::ToSchema;

use super::document::{LineExplanationView, QuoteDocumentView, QuoteTotalsView};
use super::draft::QuoteDraftBody;
use super::shown::QuoteDraftView;
use super::words::{MethodWord, StateWord};
use crate::platform::warned::WarningView;
use crate::platform::wire::{Amount, Instant, Reference, Word};

/// Quote with its latest revision.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuoteView {
    /// Id of the quote.
    id: Reference,
    /// Version of the quote with its revisions, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Number of the quote.
    #[schema(max_length = 40, example = "Q-2026-0042")]
    number: String,
    /// Id of the customer.
    customer_id: Reference,
    /// Id of the vehicle.
    vehicle_id: Reference,
    /// Latest revision of the quote.
    latest: QuoteRevisionView,
    /// Revisions with their states, first one first.
    #[schema(max_items = 10000)]
    revisions: Vec<QuoteRevisionState>,
    /// Whether the quote's booking still fits the signed work; null if there is no booking. False after other work was
    /// signed: ask for new times at `/v1/quotes/{id}/availability`, and move the booking.
    booking_fits: Option<bool>,
    /// Time when the quote was begun, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

/// Revision with its state.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuoteRevisionState {
    /// Number of the revision, from 1.
    #[schema(minimum = 1, maximum = 10000)]
    number: u32,
    /// State of the revision.
    state: StateWord,
}

/// Revision of a quote.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuoteRevisionView {
    /// Id of the quote.
    quote_id: Reference,
    /// Version of the quote with its revisions, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Number of the revision, from 1.
    #[schema(minimum = 1, maximum = 10000)]
    number: u32,
    /// State of the revision; a sent revision that has expired counts as lapsed at once.
    state: StateWord,
    /// Content from which the revision was made.
    #[schema(value_type = QuoteDraftBody)]
    draft: QuoteDraftView,
    /// Document that the customer reads; for a draft as it would be now, null if it can no longer be priced.
    document: Option<QuoteDocumentView>,
    /// Full explanation of each line's price, in the document's order, independent of what the customer sees. Null if
    /// the document is null, and for quotes sent before this was stored.
    #[schema(max_items = 60)]
    explanation: Option<Vec<LineExplanationView>>,
    /// SHA-256 of the document's canonical JSON (RFC 8785), in lower-case hex; null for a draft.
    #[schema(max_length = 64)]
    digest: Option<String>,
    /// Reason for declining or withdrawing; null if none was given.
    #[schema(max_length = 1000)]
    reason: Option<String>,
    /// Time when the revision was signed, declined, withdrawn, replaced or marked as lapsed, RFC 3339 in UTC; null
    /// before.
    decided_at: Option<Instant>,
    /// Sign-off of the revision; null if it is not signed.
    signoff: Option<SignoffView>,
    /// Earliest time when work may begin, RFC 3339 in UTC: until then the customer can withdraw and has not agreed to
    /// an earlier start. Null if it may begin at any time.
    start_not_before: Option<Instant>,
    /// Time when the customer agreed to an earlier start after signing, RFC 3339 in UTC; null if they did not.
    early_start_agreed_at: Option<Instant>,
    /// Time when the revision was begun, RFC 3339 in UTC.
    created_at: Instant,
}

/// Sign-off of a document by the customer.
#[derive(Debug, Serialize, ToSchema)]
pub struct SignoffView {
    /// Id of the sign-off.
    id: Reference,
    /// Way of signing: by link, in person or by phone.
    method: MethodWord,
    /// Name as it was typed.
    #[schema(max_length = 200)]
    typed_name: String,
    /// Id of the person who recorded a sign-off by phone or in person; else null.
    noted_by: Option<Reference>,
    /// Indexes of the lines that were chosen, from 0.
    #[schema(max_items = 60, value_type = Vec<crate::platform::wire::Whole<0, 60>>)]
    choices: Vec<usize>,
    /// Whether the customer agreed that work may start within the 14 days in which they can withdraw; null if they were
    /// not asked.
    early_start: Option<bool>,
    /// Time of the sign-off, RFC 3339 in UTC.
    signed_at: Instant,
    /// Digest of the document that was shown, as SHA-256 in lower-case hex.
    #[schema(min_length = 64, max_length = 64)]
    document_digest: String,
    /// Digest of the evidence, as SHA-256 in lower-case hex.
    #[schema(min_length = 64, max_length = 64)]
    evidence_digest: String,
    /// Evidence of the sign-off as canonical JSON (RFC 8785), byte for byte.
    #[schema(max_length = 400_000)]
    evidence: String,
}

/// Quote as shown in a list.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuoteSummary {
    /// Id of the quote.
    id: Reference,
    /// Version of the record, which every change raises by one.
    #[schema(minimum = 1)]
    version: i64,
    /// Number of the quote.
    #[schema(max_length = 40, example = "Q-2026-0042")]
    number: String,
    /// Id of the customer.
    customer_id: Reference,
    /// Id of the vehicle.
    vehicle_id: Reference,
    /// Number of the latest revision.
    #[schema(minimum = 1, maximum = 10000)]
    revision: u32,
    /// State of the latest revision.
    state: StateWord,
    /// Total of the required lines, with tax; null for a draft, and if no line is required.
    payable: Option<Amount>,
    /// Time when the latest revision was sent, RFC 3339 in UTC; null for a draft.
    sent_at: Option<Instant>,
    /// Time when the offer expires, RFC 3339 in UTC; null for a draft.
    holds_until: Option<Instant>,
    /// Time when the quote was begun, RFC 3339 in UTC.
    created_at: Instant,
}

/// Price of a draft.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuotePriceView {
    /// Document as it would be sent.
    document: QuoteDocumentView,
    /// Full explanation of each line's price, in the document's order, independent of what the customer sees.
    #[schema(max_items = 60)]
    explanation: Vec<LineExplanationView>,
    /// Totals of the required and the chosen lines; null if there are none.
    totals: Option<QuoteTotalsView>,
    /// Warnings that writing this draft would give.
    #[schema(max_items = 200)]
    warnings: Vec<WarningView>,
}

/// New link to a document.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuoteLinkView {
    /// Id of the link.
    id: Reference,
    /// Secret address of the link, shown in this answer only.
    #[schema(max_length = 400, example = "https://bay.example.com/q/…")]
    url: String,
    /// Kind of link: sent to the customer, or for signing in person.
    method: MethodWord,
    /// Time when the link ends, RFC 3339 in UTC.
    ends_at: Instant,
}

crate::versioned!(QuoteView, QuoteRevisionView);

impl QuoteView {
    /// The quote, with the state of its booking.
    pub(super) fn of(shown: Shown, tx: &mut Tx<'_>) -> Done<Self> {
        let booking_fits = booking::usecase::fits(tx, &shown.quote.id)?;
        let quote = &shown.quote;
        let state = |(number, state): (u32, _)| QuoteRevisionState { number, state: Word(state) };
        Ok(Self {
            id: Reference::from(&quote.id),
            version: quote.version,
            number: quote.number.clone(),
            customer_id: Reference::from(&quote.customer),
            vehicle_id: Reference::from(&quote.vehicle),
            revisions: shown.revisions.into_iter().map(state).collect(),
            booking_fits,
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
            draft: revision.draft.into(),
            document: revision.document.map(QuoteDocumentView::from),
            explanation: revision.explanation.map(|rows| rows.into_iter().map(LineExplanationView::from).collect()),
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
        Self {
            document: price.document.into(),
            explanation: price.explanation.into_iter().map(LineExplanationView::from).collect(),
            totals: price.totals.map(QuoteTotalsView::from),
            warnings: price.warnings.into_iter().map(WarningView::from).collect(),
        }
    }
}

impl QuoteLinkView {
    /// The link with its address.
    pub(crate) fn of(link: &Link, url: String) -> Self {
        Self { id: Reference::from(&link.id), url, method: Word(link.method), ends_at: Instant(link.ends_at) }
    }
}

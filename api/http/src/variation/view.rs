//! Variations as the API returns them.

use baywright_core::agreement::kept::VariationDraft;
use baywright_core::agreement::usecase::Variation;
use baywright_core::variation::usecase::Shown;
use baywright_domain::money::Currency;
use baywright_domain::variation::{Agreement, VariationState};
use serde::Serialize;
use utoipa::ToSchema;

use super::body::VariationDraftBody;
use crate::platform::wire::{Amount, Instant, Reference, Word};
use crate::quote::{DraftLineView, LineExplanationView, QuoteDocumentView, SignoffView};

/// A state as its word.
type StateWord = Word<VariationState>;
/// An agreement as its word.
type AgreementWord = Word<Agreement>;

/// Variation: a change of the signed work.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Variation)]
pub(super) struct VariationView {
    /// Fields of the variation that lists also show.
    #[serde(flatten)]
    head: VariationHead,
    /// Content from which the variation is made.
    #[schema(value_type = VariationDraftBody)]
    draft: VariationDraftView,
    /// Document that the customer reads; for a draft as it would be now, null if it can no longer be priced. A dropped
    /// line has a negative quantity.
    document: Option<QuoteDocumentView>,
    /// Full explanation of each line's price, in the document's order, independent of what the customer sees. Null if
    /// the document is null, and for variations sent before this was stored.
    #[schema(max_items = 60)]
    explanation: Option<Vec<LineExplanationView>>,
    /// SHA-256 of the document's canonical JSON (RFC 8785), in lower-case hex; null for a draft.
    #[schema(max_length = 64)]
    digest: Option<String>,
    /// Agreement that the variation needs: a signature, or a recorded phone call if the shop's tolerance allows it.
    needs: AgreementWord,
    /// Sign-off of the variation; null if it is not signed.
    signoff: Option<SignoffView>,
}

/// Content of a variation, as `VariationDraft` of the API document describes it.
#[derive(Debug, Serialize)]
struct VariationDraftView {
    reason: String,
    lines: Vec<DraftLineView>,
    dropped: Vec<usize>,
    inspection_id: Option<String>,
}

impl From<VariationDraft> for VariationDraftView {
    fn from(draft: VariationDraft) -> Self {
        Self {
            reason: draft.reason,
            lines: draft.lines.into_iter().map(DraftLineView::from).collect(),
            dropped: draft.dropped,
            inspection_id: draft.inspection_id,
        }
    }
}

/// Variation as shown in a list.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct VariationHead {
    /// Id of the variation.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Id of the signed quote that the variation changes.
    quote_id: Reference,
    /// Id of the booking during whose work the variation was made.
    booking_id: Reference,
    /// Number of the variation within the quote, from 1.
    #[schema(minimum = 1, maximum = 100)]
    number: u32,
    /// State of the variation: draft, sent, signed or declined.
    state: StateWord,
    /// Reason why the work changes.
    #[schema(max_length = 4000)]
    reason: String,
    /// Change of price by the required lines, with tax; negative if less is done. Null for drafts in a list, and if it
    /// can no longer be priced.
    change: Option<Amount>,
    /// Time when the variation was sent, RFC 3339 in UTC; null for a draft.
    sent_at: Option<Instant>,
    /// Time when the variation was signed or declined, RFC 3339 in UTC; null before.
    decided_at: Option<Instant>,
    /// Reason for declining; null if none was given.
    #[schema(max_length = 1000)]
    decline_reason: Option<String>,
    /// Time when the variation was begun, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

/// Variations of a quote.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct VariationsView {
    /// Variations, first one first.
    #[schema(max_items = 100)]
    pub(super) items: Vec<VariationHead>,
}

impl crate::platform::answer::Versioned for VariationView {
    fn version(&self) -> i64 {
        self.head.version
    }
}

impl VariationHead {
    pub(super) fn of(variation: Variation, currency: Currency) -> Self {
        Self {
            id: Reference::from(&variation.id),
            version: variation.version,
            quote_id: Reference::from(&variation.quote),
            booking_id: Reference::from(&variation.booking),
            number: variation.number,
            state: Word(variation.state),
            reason: variation.draft.reason,
            change: variation.frozen.as_ref().map(|frozen| Amount::of(frozen.change, currency)),
            sent_at: variation.frozen.as_ref().map(|frozen| Instant(frozen.sent_at)),
            decided_at: variation.decided_at.map(Instant),
            decline_reason: variation.reason,
            created_at: Instant(variation.created_at),
            updated_at: Instant(variation.updated_at),
        }
    }
}

impl VariationView {
    pub(super) fn of(shown: Shown, currency: Currency) -> Self {
        let (draft, digest) =
            (shown.variation.draft.clone(), shown.variation.frozen.as_ref().map(|frozen| frozen.digest.clone()));
        let change = shown.change.map(|change| Amount::of(change, currency));
        Self {
            head: VariationHead { change, ..VariationHead::of(shown.variation, currency) },
            draft: draft.into(),
            document: shown.document.map(QuoteDocumentView::from),
            explanation: shown.explanation.map(|rows| rows.into_iter().map(LineExplanationView::from).collect()),
            digest,
            needs: Word(shown.needs),
            signoff: shown.signoff.map(SignoffView::from),
        }
    }

    pub(super) fn location(&self) -> String {
        format!("/v1/variations/{}", self.head.id)
    }
}

//! Variations as they are answered.

use baywright_domain::money::Currency;
use baywright_domain::variation::{Agreement, VariationState};
use serde::Serialize;
use utoipa::ToSchema;

use crate::agreement::form::VariationDraft;
use crate::agreement::usecase::Variation;
use crate::platform::wire::{Amount, Instant, Reference, WireWord, Word};
use crate::quote::SignoffView;
use crate::quote::form::{LineExplanation, QuoteDocument};
use crate::variation::usecase::Shown;

crate::wire_words! { VariationState => "VariationState" }

/// A state as its word.
type StateWord = Word<VariationState>;
/// An agreement as its word.
type AgreementWord = Word<Agreement>;

impl WireWord for Agreement {
    const NAME: &'static str = "VariationAgreement";

    fn all() -> &'static [Self] {
        &[Self::Signature, Self::NotedCall]
    }

    fn word(self) -> &'static str {
        match self {
            Self::Signature => "SIGNATURE",
            Self::NotedCall => "NOTED_CALL",
        }
    }
}

/// A variation.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Variation)]
pub(super) struct VariationView {
    /// What lists show of it.
    #[serde(flatten)]
    head: VariationHead,
    /// What it is made from.
    draft: VariationDraft,
    /// What the customer reads; in a draft as it would be now, and null where it can't be priced any more. A line that
    /// falls away has its quantity below zero.
    document: Option<QuoteDocument>,
    /// How each line's price was made, in full and in the document's order, whatever the customer sees of it. Null if the
    /// document is null, and in variations that were sent before this was kept.
    #[schema(max_items = 60)]
    explanation: Option<Vec<LineExplanation>>,
    /// SHA-256 over the canonical JSON (RFC 8785) of the document; null in a draft.
    #[schema(max_length = 64)]
    digest: Option<String>,
    /// The agreement that it needs: a signature, or a call that somebody notes, where the shop's tolerance allows that.
    needs: AgreementWord,
    /// The sign-off; null where it isn't signed.
    signoff: Option<SignoffView>,
}

/// A variation as lists show it.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct VariationHead {
    /// The variation's id.
    id: Reference,
    /// Counts the changes; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// The signed quote that it changes.
    quote_id: Reference,
    /// The booking in whose work it came up.
    booking_id: Reference,
    /// Which of the quote's: 1 is the first.
    #[schema(minimum = 1, maximum = 100)]
    number: u32,
    /// Where it is in its life.
    state: StateWord,
    /// What was found and why the work changes.
    #[schema(max_length = 4000)]
    reason: String,
    /// What the required lines change the price by, with tax: below zero where less is done. Null in a draft of a list,
    /// and where it can't be priced any more.
    change: Option<Amount>,
    /// When it was sent; null in a draft.
    sent_at: Option<Instant>,
    /// When it was signed or declined; null before.
    decided_at: Option<Instant>,
    /// Why it was declined; null where nobody said.
    #[schema(max_length = 1000)]
    decline_reason: Option<String>,
    /// When it was begun.
    created_at: Instant,
    /// When it last changed.
    updated_at: Instant,
}

/// The variations of a quote.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct VariationsView {
    /// The variations, the first one first.
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
            reason: variation.draft.reason.to_string(),
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
            draft,
            document: shown.document,
            explanation: shown.explanation,
            digest,
            needs: Word(shown.needs),
            signoff: shown.signoff.map(SignoffView::from),
        }
    }

    pub(super) fn location(&self) -> String {
        format!("/v1/variations/{}", self.head.id)
    }
}

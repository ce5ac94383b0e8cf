//! The document of a quote as the API sends it, made from the stored one.

mod change;
mod line;
mod parties;
mod sums;

use baywright_core::quote::kept;
use serde::Serialize;
use utoipa::ToSchema;

use self::change::QuoteChangeView;
pub use self::line::LineExplanationView;
use self::line::{QuoteConflictView, QuoteLineView};
use self::parties::{QuoteCustomerView, QuoteInspectionView, QuoteStudioView, QuoteVehicleView};
pub use self::sums::QuoteTotalsView;
use self::sums::{QuoteDepositView, QuoteDiscountView, QuoteTaxRoundingView};
use super::words::{ConditionWord, PricesWord};
use crate::platform::wire::Instant;

/// Quote or variation as the customer reads it.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuoteDocument)]
pub struct QuoteDocumentView {
    /// Version of this document's format, counted up when fields are added.
    #[schema(minimum = 1, maximum = 1000, example = 1)]
    form: u32,
    /// Number of the quote.
    #[schema(max_length = 40, example = "Q-2026-0042")]
    number: String,
    /// Number of the revision, from 1.
    #[schema(minimum = 1, maximum = 10000, example = 1)]
    revision: u32,
    /// Number of the signed quote that a variation changes; null for a quote.
    #[schema(max_length = 40)]
    variation_of: Option<String>,
    /// Effect of a variation on price and finish, as of sending; null for a quote.
    change: Option<QuoteChangeView>,
    /// Time when the document was sent, RFC 3339 in UTC; null for a draft.
    sent_at: Option<Instant>,
    /// Time when the offer expires, RFC 3339 in UTC; null for a draft.
    holds_until: Option<Instant>,
    /// Studio that makes the offer.
    studio: QuoteStudioView,
    /// Customer to whom the offer is made.
    customer: QuoteCustomerView,
    /// Vehicle that the work is for.
    vehicle: QuoteVehicleView,
    /// Whether the prices are with tax (`GROSS`) or before tax (`NET`).
    prices: PricesWord,
    /// Rounding of tax amounts.
    tax_rounding: QuoteTaxRoundingView,
    /// Findings of the inspection; null if the vehicle was not inspected.
    inspection: Option<QuoteInspectionView>,
    /// Condition class that prices and times are for.
    condition: ConditionWord,
    /// Lines of the offer, in order.
    #[schema(max_items = 60)]
    lines: Vec<QuoteLineView>,
    /// Pairs of optional lines that exclude each other.
    #[schema(max_items = 2000)]
    conflicts: Vec<QuoteConflictView>,
    /// Discounts on the whole document.
    #[schema(max_items = 20)]
    discounts: Vec<QuoteDiscountView>,
    /// Deposit that is requested; null if there is none.
    deposit: Option<QuoteDepositView>,
    /// Totals of the required lines alone; null if no line is required.
    required_totals: Option<QuoteTotalsView>,
    /// Note of the studio in its own words.
    #[schema(max_length = 4000)]
    notes: String,
    /// Terms and conditions of the work.
    #[schema(max_length = 20000)]
    conditions: String,
    /// Cautions for the customer, each in a sentence or two. Cautions for the crew alone are in the plan.
    #[schema(max_items = 200, value_type = Vec<crate::platform::wire::Text<2000>>)]
    cautions: Vec<String>,
    /// Declaration of consent that the customer agrees to by signing.
    #[schema(max_length = 4000)]
    consent: String,
    /// Question whether work may start within the 14 days in which a consumer can withdraw; null if the document does
    /// not ask.
    #[schema(max_length = 4000)]
    early_start: Option<String>,
}

/// The views of all items of a list.
fn list<K, V: From<K>>(kept: Vec<K>) -> Vec<V> {
    kept.into_iter().map(V::from).collect()
}

impl From<kept::QuoteDocument> for QuoteDocumentView {
    fn from(kept: kept::QuoteDocument) -> Self {
        Self {
            form: kept.form,
            number: kept.number,
            revision: kept.revision,
            variation_of: kept.variation_of,
            change: kept.change.map(QuoteChangeView::from),
            sent_at: kept.sent_at.map(Instant::from),
            holds_until: kept.holds_until.map(Instant::from),
            studio: kept.studio.into(),
            customer: kept.customer.into(),
            vehicle: kept.vehicle.into(),
            prices: kept.prices.into(),
            tax_rounding: kept.tax_rounding.into(),
            inspection: kept.inspection.map(QuoteInspectionView::from),
            condition: kept.condition.into(),
            lines: list(kept.lines),
            conflicts: list(kept.conflicts),
            discounts: list(kept.discounts),
            deposit: kept.deposit.map(QuoteDepositView::from),
            required_totals: kept.required_totals.map(QuoteTotalsView::from),
            notes: kept.notes,
            conditions: kept.conditions,
            cautions: kept.cautions,
            consent: kept.consent,
            early_start: kept.early_start,
        }
    }
}

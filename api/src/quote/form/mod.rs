//! The quote as the customer reads it: one form for the sealed document, the page, the mail and the API.
//!
//! It is written when a revision is sent, as canonical JSON, and never again: whatever the shop changes later, in the
//! menu, its settings or the customer's record, this is what was offered. Amounts are text with their currency, and
//! decimal numbers are text, so that the canonical form holds them exactly.

mod anonymous;
mod change;
mod draft;
mod line;
mod parties;
mod read;
mod sums;
mod words;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::http::wire::Instant;

pub use change::QuoteChange;
pub use draft::{DraftDiscount, DraftItem, DraftLine, DraftSize, DraftTyped, QuoteDraft};
pub use line::{ExplainedRow, FigureRow, LineExplanation, LineTax, QuoteConflict, QuoteLine};
pub use parties::{QuoteCustomer, QuoteFinding, QuoteInspection, QuotePhoto, QuoteStudio, QuoteVehicle};
pub use read::Offered;
pub use sums::{QuoteDeposit, QuoteDiscount, QuoteTaxRounding, QuoteTotals, TaxRow};
pub use words::{ConditionWord, LineKind, PricesWord, SizeWord};

/// The most lines of one quote.
pub const MOST_LINES: usize = 60;

/// Quote or variation as the customer reads it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteDocument {
    /// Version of this document's format, counted up when fields are added.
    #[schema(minimum = 1, maximum = 1000, example = 1)]
    pub form: u32,
    /// Number of the quote.
    #[schema(max_length = 40, example = "Q-2026-0042")]
    pub number: String,
    /// Number of the revision, from 1.
    #[schema(minimum = 1, maximum = 10000, example = 1)]
    pub revision: u32,
    /// Number of the signed quote that a variation changes; null for a quote.
    #[schema(max_length = 40)]
    pub variation_of: Option<String>,
    /// Effect of a variation on price and finish, as of sending; null for a quote.
    #[serde(default)]
    pub change: Option<QuoteChange>,
    /// Time when the document was sent, RFC 3339 in UTC; null for a draft.
    pub sent_at: Option<Instant>,
    /// Time when the offer expires, RFC 3339 in UTC; null for a draft.
    pub holds_until: Option<Instant>,
    /// Studio that makes the offer.
    pub studio: QuoteStudio,
    /// Customer to whom the offer is made.
    pub customer: QuoteCustomer,
    /// Vehicle that the work is for.
    pub vehicle: QuoteVehicle,
    /// Whether the prices are with tax (`GROSS`) or before tax (`NET`).
    pub prices: PricesWord,
    /// Rounding of tax amounts.
    pub tax_rounding: QuoteTaxRounding,
    /// Findings of the inspection; null if the vehicle was not inspected.
    pub inspection: Option<QuoteInspection>,
    /// Condition class that prices and times are for.
    pub condition: ConditionWord,
    /// Lines of the offer, in order.
    #[schema(max_items = 60)]
    pub lines: Vec<QuoteLine>,
    /// Pairs of optional lines that exclude each other.
    #[schema(max_items = 2000)]
    pub conflicts: Vec<QuoteConflict>,
    /// Discounts on the whole document.
    #[schema(max_items = 20)]
    pub discounts: Vec<QuoteDiscount>,
    /// Deposit that is requested; null if there is none.
    pub deposit: Option<QuoteDeposit>,
    /// Totals of the required lines alone; null if no line is required.
    pub required_totals: Option<QuoteTotals>,
    /// Note of the studio in its own words.
    #[schema(max_length = 4000)]
    pub notes: String,
    /// Terms and conditions of the work.
    #[schema(max_length = 20000)]
    pub conditions: String,
    /// Cautions for the customer, each in a sentence or two. Cautions for the crew alone are in the plan.
    #[schema(max_items = 200, value_type = Vec<crate::http::wire::Text<2000>>)]
    pub cautions: Vec<String>,
    /// Declaration of consent that the customer agrees to by signing.
    #[schema(max_length = 4000)]
    pub consent: String,
    /// Question whether work may start within the 14 days in which a consumer can withdraw; null if the document does
    /// not ask.
    #[schema(max_length = 4000)]
    pub early_start: Option<String>,
}

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

use crate::platform::wire::Instant;

pub use change::QuoteChange;
pub use draft::{DraftDiscount, DraftItem, DraftLine, DraftSize, DraftTyped, QuoteDraft};
pub use line::{ExplainedRow, FigureRow, LineExplanation, LineTax, QuoteConflict, QuoteLine};
pub use parties::{QuoteCustomer, QuoteFinding, QuoteInspection, QuotePhoto, QuoteStudio, QuoteVehicle};
pub use read::Offered;
pub use sums::{QuoteDeposit, QuoteDiscount, QuoteTaxRounding, QuoteTotals, TaxRow};
pub use words::{ConditionWord, LineKind, PricesWord, SizeWord};

/// The most lines of one quote.
pub const MOST_LINES: usize = 60;

/// A quote as the customer reads it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteDocument {
    /// The form of this document; it counts up when fields are added.
    #[schema(minimum = 1, maximum = 1000, example = 1)]
    pub form: u32,
    /// The quote's number.
    #[schema(max_length = 40, example = "Q-2026-0042")]
    pub number: String,
    /// Which revision of it.
    #[schema(minimum = 1, maximum = 10000, example = 1)]
    pub revision: u32,
    /// The number of the signed quote that it changes, where it is a variation; null in a quote.
    #[schema(max_length = 40)]
    pub variation_of: Option<String>,
    /// What a variation changes, as it was when it was sent; null in a quote.
    #[serde(default)]
    pub change: Option<QuoteChange>,
    /// When it was sent; null in a draft.
    pub sent_at: Option<Instant>,
    /// From when it holds no more; null in a draft.
    pub holds_until: Option<Instant>,
    /// Who offers.
    pub studio: QuoteStudio,
    /// To whom.
    pub customer: QuoteCustomer,
    /// For which vehicle.
    pub vehicle: QuoteVehicle,
    /// Whether its prices are without tax (NET) or with it (GROSS).
    pub prices: PricesWord,
    /// How tax is rounded.
    pub tax_rounding: QuoteTaxRounding,
    /// What was found on the vehicle, where it was looked at.
    pub inspection: Option<QuoteInspection>,
    /// The condition that the prices and times are for.
    pub condition: ConditionWord,
    /// What is offered, in order.
    #[schema(max_items = 60)]
    pub lines: Vec<QuoteLine>,
    /// Pairs of optional lines of which one can be taken.
    #[schema(max_items = 2000)]
    pub conflicts: Vec<QuoteConflict>,
    /// What is taken off the whole.
    #[schema(max_items = 20)]
    pub discounts: Vec<QuoteDiscount>,
    /// The deposit that is asked for, if any.
    pub deposit: Option<QuoteDeposit>,
    /// What it comes to with the required lines alone; null where no line is required.
    pub required_totals: Option<QuoteTotals>,
    /// What the studio adds in its own words.
    #[schema(max_length = 4000)]
    pub notes: String,
    /// The conditions of the work.
    #[schema(max_length = 20000)]
    pub conditions: String,
    /// What the customer should know of the work: each in a sentence or two. What concerns the crew alone is in the plan.
    #[schema(max_items = 200, value_type = Vec<crate::platform::wire::Text<2000>>)]
    pub cautions: Vec<String>,
    /// The words that the customer agrees to by signing.
    #[schema(max_length = 4000)]
    pub consent: String,
    /// The words by which a consumer is asked if work may start within the 14 days in which they can withdraw; null if the
    /// document does not ask.
    #[schema(max_length = 4000)]
    pub early_start: Option<String>,
}

//! The stored quote: the sealed document that the customer reads, and the draft from which it is made.
//!
//! The document is written when a revision is sent, as canonical JSON, and never again: whatever the shop changes
//! later, in the menu, its settings or the customer's record, this is what was offered. Amounts are text with their
//! currency, and decimal numbers are text, so that the canonical form represents them exactly.
//!
//! Everything that was written is read for ever. A reader here checks no rule of today: it ignores fields that it does
//! not know, and a missing field that came with a later form gets the value that its absence meant. Pages and mails
//! read these types; the API sends views that are made from them. `tests/data/kept` has a document of every form.

mod anonymous;
mod change;
mod draft;
mod kind;
mod line;
mod parties;
mod read;
mod sums;
#[cfg(test)]
mod tests;

use baywright_domain::document::Prices;
use baywright_domain::inspection::ConditionClass;
use serde::{Deserialize, Serialize};

use crate::platform::kept::{Moment, Word};

pub use change::QuoteChange;
pub use draft::{DraftCustomItem, DraftDiscount, DraftItem, DraftLine, QuoteDraft};
pub use kind::LineKind;
pub use line::{ExplainedRow, FigureRow, LineExplanation, LineTax, QuoteConflict, QuoteLine};
pub use parties::{QuoteCustomer, QuoteFinding, QuoteInspection, QuotePhoto, QuoteStudio, QuoteVehicle};
pub use read::Offered;
pub use sums::{QuoteDeposit, QuoteDiscount, QuoteTaxRounding, QuoteTotals, TaxRow};

/// Form of the documents that this program writes. Documents of form 1 name no unit in their explanations, and the first
/// of them say nothing of variations; those before form 3 do not say what a variation changes.
pub const FORM: u32 = 3;

/// Quote or variation as the customer reads it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuoteDocument {
    /// Version of this document's format, counted up when fields are added.
    pub form: u32,
    /// Number of the quote.
    pub number: String,
    /// Number of the revision, from 1.
    pub revision: u32,
    /// Number of the signed quote that a variation changes; null for a quote. The first documents of form 1, all of them
    /// quotes, have no such field.
    #[serde(default)]
    pub variation_of: Option<String>,
    /// Effect of a variation on price and finish, as of sending; null for a quote, and for a variation before form 3.
    #[serde(default)]
    pub change: Option<QuoteChange>,
    /// Time when the document was sent, RFC 3339 in UTC; null for a draft.
    pub sent_at: Option<Moment>,
    /// Time when the offer expires, RFC 3339 in UTC; null for a draft.
    pub holds_until: Option<Moment>,
    /// Studio that makes the offer.
    pub studio: QuoteStudio,
    /// Customer to whom the offer is made.
    pub customer: QuoteCustomer,
    /// Vehicle that the work is for.
    pub vehicle: QuoteVehicle,
    /// Whether the prices are with tax (`GROSS`) or before tax (`NET`).
    pub prices: Word<Prices>,
    /// Rounding of tax amounts.
    pub tax_rounding: QuoteTaxRounding,
    /// Findings of the inspection; null if the vehicle was not inspected.
    pub inspection: Option<QuoteInspection>,
    /// Condition class that prices and times are for.
    pub condition: Word<ConditionClass>,
    /// Lines of the offer, in order.
    pub lines: Vec<QuoteLine>,
    /// Pairs of optional lines that exclude each other.
    pub conflicts: Vec<QuoteConflict>,
    /// Discounts on the whole document.
    pub discounts: Vec<QuoteDiscount>,
    /// Deposit that is requested; null if there is none.
    pub deposit: Option<QuoteDeposit>,
    /// Totals of the required lines alone; null if no line is required.
    pub required_totals: Option<QuoteTotals>,
    /// Note of the studio in its own words.
    pub notes: String,
    /// Terms and conditions of the work.
    pub conditions: String,
    /// Cautions for the customer, each in a sentence or two. Cautions for the crew alone are in the plan.
    pub cautions: Vec<String>,
    /// Declaration of consent that the customer agrees to by signing.
    pub consent: String,
    /// Question whether work may start within the 14 days in which a consumer can withdraw; null if the document does
    /// not ask.
    pub early_start: Option<String>,
}

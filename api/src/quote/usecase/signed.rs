//! What was agreed, for the plan, the booking and the invoice.

use baywright_domain::document::{Document, Totals};
use baywright_domain::id::{CustomerId, InspectionId, QuoteId, RevisionId, SignoffId, VehicleId};
use baywright_domain::menu::{Code, Menu};
use baywright_domain::money::Money;
use baywright_domain::pricing::Line;
use baywright_domain::tax::Treatment;
use baywright_domain::vehicle::Car;

use crate::platform::clock::UtcTime;
use crate::quote::form::{LineTax, QuoteDocument};

/// A signed quote: everything that follows from the customer's yes. It comes from the frozen revision, so that nothing
/// that the shop changed since, in its menu or its settings, is in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignedQuote {
    /// The quote.
    pub id: QuoteId,
    /// Its number, such as `Q-2026-0042`.
    pub number: String,
    /// The revision that is agreed: the latest signed one.
    pub revision: u32,
    /// That revision's id.
    pub revision_id: RevisionId,
    /// The sign-off that agreed it.
    pub signoff: SignoffId,
    /// When it was signed.
    pub signed_at: UtcTime,
    /// Whose quote it is.
    pub customer: CustomerId,
    /// For which vehicle.
    pub vehicle: VehicleId,
    /// The inspection that it was priced from, if any.
    pub inspection: Option<InspectionId>,
    /// Size, condition and powertrain that prices and budgets are for.
    pub car: Car,
    /// The menu as it was when the quote was sent: its steps, products and factors make the work plan.
    pub menu: Menu,
    /// The services of the lines taken, each once, in order: what the work plan is made of.
    pub services: Vec<Code>,
    /// The lines taken, in the quote's order.
    pub lines: Vec<SignedLine>,
    /// The document of the lines taken, with the discounts on the whole.
    pub document: Document,
    /// Its figures.
    pub totals: Totals,
    /// The deposit that was agreed, with tax.
    pub deposit: Option<Money>,
    /// Whether the customer wished the work to start within the withdrawal period, where they were asked.
    pub early_start: Option<bool>,
    /// The whole as the customer read it.
    pub shown: QuoteDocument,
}

/// A line that was taken. `totals.lines` of the quote has its amounts at the same place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignedLine {
    /// Its place among all lines of the revision, from 0.
    pub place: usize,
    /// What was agreed: item, name, services, quantity, price, discount, amount in the quote's prices, minutes.
    pub line: Line,
    /// Tax category and rate.
    pub treatment: Treatment,
    /// The same with the shop's own name for it, and why no tax is charged where it must be said.
    pub tax: LineTax,
}

//! Lines of a document, and how their prices were made.

use baywright_core::quote::kept;
use serde::Serialize;
use utoipa::ToSchema;

use super::super::words::{ConflictWord, ExplainedWord, LineKindWord, UnitWord};
use super::list;
use crate::platform::wire::{Amount, Number};

/// Line of a quote.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuoteLine)]
pub struct QuoteLineView {
    /// Kind of line: service, package or custom item (`TYPED`).
    kind: LineKindWord,
    /// Code on the menu; null for a custom item.
    #[schema(max_length = 40, example = "two-step-correction")]
    code: Option<String>,
    /// Name of the line, as the customer reads it.
    #[schema(max_length = 200, example = "Two-step correction")]
    name: String,
    /// Description of what the customer gets, in a sentence or two.
    #[schema(max_length = 2000)]
    summary: String,
    /// Codes of the services that the line's work is planned from.
    #[schema(max_items = 100, value_type = Vec<crate::platform::wire::Code>)]
    services: Vec<String>,
    /// Quantity of the line.
    quantity: Number,
    /// Price of one unit, with or before tax as `prices` says.
    unit_price: Amount,
    /// Discount on the line, with or before tax as `prices` says.
    discount: Amount,
    /// Reason for the discount; null if there is none.
    #[schema(max_length = 200)]
    discount_reason: Option<String>,
    /// Amount of the line: quantity × price − discount, with or before tax as `prices` says.
    amount: Amount,
    /// Tax on the line.
    tax: LineTaxView,
    /// Expected working time of one person for the whole quantity, in minutes, if nothing else were done to the
    /// vehicle, as of making the document: half of all jobs take longer.
    #[schema(minimum = 0, maximum = 10_000_000)]
    minutes: u32,
    /// Whether the line is required; else the customer may choose it.
    required: bool,
    /// Explanation of the amount for the customer, in order: all numbers, or only those that the price depends on, as
    /// the shop's terms say.
    #[schema(max_items = 1000)]
    explanation: Vec<ExplainedRowView>,
}

/// Full explanation of a line's price, for the studio.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = LineExplanation)]
pub struct LineExplanationView {
    /// Numbers behind the amount, in order.
    #[schema(max_items = 1000)]
    rows: Vec<ExplainedRowView>,
}

/// Tax on a line.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = LineTax)]
pub struct LineTaxView {
    /// Code of the tax, as in the shop's settings.
    #[schema(max_length = 40, example = "standard")]
    code: String,
    /// Tax category code of UNTDID 5305, as EN 16931-1 uses it.
    #[schema(min_length = 1, max_length = 2, example = "S")]
    category: String,
    /// Tax rate in percent.
    rate: Number,
    /// Reason for charging no tax, if the category needs one; else null.
    #[schema(max_length = 500)]
    reason: Option<String>,
}

/// Row of a price explanation.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = ExplainedRow)]
pub struct ExplainedRowView {
    /// Effect of the row on the price, such as labour, a factor or a discount.
    kind: ExplainedWord,
    /// Label of the row as people read it: the step, the product or the reason.
    #[schema(max_length = 300, example = "Machine polish")]
    label: String,
    /// Unit of the product, for its amount and its price; null if the row is not about a product.
    unit: Option<UnitWord>,
    /// Numbers of the row, in the order in which they are multiplied or displayed.
    #[schema(max_items = 12)]
    figures: Vec<FigureRowView>,
}

/// Number in a price explanation.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = FigureRow)]
pub struct FigureRowView {
    /// Meaning of the number, such as `MINUTES` or `PER_HOUR`.
    #[schema(max_length = 30, example = "PER_HOUR")]
    kind: String,
    /// Value of the number; amounts are in the currency's major unit.
    #[schema(max_length = 40, example = "60.00")]
    value: String,
}

/// Two optional lines that exclude each other.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuoteConflict)]
pub struct QuoteConflictView {
    /// Index of the earlier line, from 0.
    #[schema(minimum = 0, maximum = 1000)]
    one: u32,
    /// Index of the later line, from 0.
    #[schema(minimum = 0, maximum = 1000)]
    other: u32,
    /// Reason for the conflict: the services exclude each other (`EXCLUDED`), or share a service that would be charged
    /// twice (`OVERLAP`).
    kind: ConflictWord,
}

impl From<kept::QuoteLine> for QuoteLineView {
    fn from(kept: kept::QuoteLine) -> Self {
        Self {
            kind: kept.kind.into(),
            code: kept.code,
            name: kept.name,
            summary: kept.summary,
            services: kept.services,
            quantity: kept.quantity.into(),
            unit_price: kept.unit_price.into(),
            discount: kept.discount.into(),
            discount_reason: kept.discount_reason,
            amount: kept.amount.into(),
            tax: kept.tax.into(),
            minutes: kept.minutes,
            required: kept.required,
            explanation: list(kept.explanation),
        }
    }
}

impl From<kept::LineExplanation> for LineExplanationView {
    fn from(kept: kept::LineExplanation) -> Self {
        Self { rows: list(kept.rows) }
    }
}

impl From<kept::LineTax> for LineTaxView {
    fn from(kept: kept::LineTax) -> Self {
        Self { code: kept.code, category: kept.category, rate: kept.rate.into(), reason: kept.reason }
    }
}

impl From<kept::ExplainedRow> for ExplainedRowView {
    fn from(kept: kept::ExplainedRow) -> Self {
        Self {
            kind: kept.kind.into(),
            label: kept.label,
            unit: kept.unit.map(UnitWord::from),
            figures: list(kept.figures),
        }
    }
}

impl From<kept::FigureRow> for FigureRowView {
    fn from(kept: kept::FigureRow) -> Self {
        Self { kind: kept.kind, value: kept.value }
    }
}

impl From<kept::QuoteConflict> for QuoteConflictView {
    fn from(kept: kept::QuoteConflict) -> Self {
        Self { one: kept.one, other: kept.other, kind: kept.kind.into() }
    }
}

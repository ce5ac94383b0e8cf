//! The document of an invoice as the API returns it.

mod parties;
mod sums;

use baywright_core::invoice::kept::{InvoiceDocument, InvoiceLine};
use baywright_domain::document::Prices;
use baywright_domain::money::Rounding;
use baywright_domain::tax::Basis;
use serde::Serialize;
use utoipa::ToSchema;

use self::parties::{InvoiceBuyerView, InvoiceSellerView};
use self::sums::{InvoiceAllowanceView, InvoiceTotalsView};
use crate::platform::wire::{Amount, Day, Number, Word};

/// A way of pricing as it is sent over HTTP.
type PricesWord = Word<Prices>;
/// Basis of the tax as it is sent over HTTP.
type BasisWord = Word<Basis>;
/// A way of rounding as it is sent over HTTP.
type RoundingWord = Word<Rounding>;

/// Invoice as the customer reads it.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = InvoiceDocument)]
pub struct InvoiceDocumentView {
    /// Version of this document's format, counted up when fields are added.
    #[schema(minimum = 1, maximum = 1000, example = 1)]
    form: u32,
    /// Invoice number (BT-1); null for a draft.
    #[schema(max_length = 40, example = "INV-2026-0042")]
    number: Option<String>,
    /// Issue date (BT-2) in the shop's time zone; null for a draft.
    issued_on: Option<Day>,
    /// Due date (BT-9), the last day to pay in time; null for a draft.
    due_on: Option<Day>,
    /// Tax point date (BT-7), which decides the tax; null for a draft.
    tax_point: Option<Day>,
    /// Payment reference for the customer's transfer (BT-83, ISO 11649); null for a draft.
    #[schema(max_length = 25, example = "RF61INV20260042")]
    payment_reference: Option<String>,
    /// Studio that issues the invoice.
    seller: InvoiceSellerView,
    /// Customer who buys.
    buyer: InvoiceBuyerView,
    /// Number of the signed quote; null if there is none.
    #[schema(max_length = 40, example = "Q-2026-0042")]
    quote_number: Option<String>,
    /// Description of the vehicle as in the quote; null if there is none.
    #[schema(max_length = 400)]
    vehicle: Option<String>,
    /// Purchase-order number of the buyer (BT-13); null if there is none.
    #[schema(max_length = 80)]
    purchase_order: Option<String>,
    /// Whether the prices are with tax (`GROSS`) or before tax (`NET`).
    prices: PricesWord,
    /// Basis for computing tax: each category as a whole or each line.
    tax_basis: BasisWord,
    /// Rounding of tax amounts to the smallest coin.
    tax_rounding: RoundingWord,
    /// Lines that are charged, in order.
    #[schema(max_items = 1000)]
    lines: Vec<InvoiceLineView>,
    /// Discounts on the whole invoice.
    #[schema(max_items = 1000)]
    allowances: Vec<InvoiceAllowanceView>,
    /// Totals of the invoice.
    totals: InvoiceTotalsView,
    /// Note of the studio in its own words.
    #[schema(max_length = 2000)]
    note: String,
}

/// Line of an invoice.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = InvoiceLine)]
pub struct InvoiceLineView {
    /// Name of the service or item (BT-153).
    #[schema(max_length = 300, example = "Two-step correction")]
    name: String,
    /// Number of the quote or variation in which the line was agreed.
    #[schema(max_length = 60, example = "Q-2026-0042")]
    origin: String,
    /// Quantity of the line (BT-129).
    quantity: Number,
    /// Price of one unit, in the currency's major unit, with or before tax as `prices` says.
    unit_price: Number,
    /// Discount on the line, with or before tax as `prices` says.
    discount: Amount,
    /// Reason for the discount; null if there is none.
    #[schema(max_length = 300)]
    discount_reason: Option<String>,
    /// Amount of the line: quantity × price − discount, with or before tax as `prices` says.
    amount: Amount,
    /// Amount of the line before tax (BT-131).
    net: Amount,
    /// Tax category code of UNTDID 5305 (BT-151).
    #[schema(min_length = 1, max_length = 2, example = "S")]
    tax_category: String,
    /// Tax rate in percent (BT-152).
    tax_rate: Number,
    /// Reason for charging no tax, if the category needs one (BT-120); else null.
    #[schema(max_length = 500)]
    tax_reason: Option<String>,
}

impl From<InvoiceDocument> for InvoiceDocumentView {
    fn from(kept: InvoiceDocument) -> Self {
        Self {
            form: kept.form,
            number: kept.number,
            issued_on: kept.issued_on.map(Day::from),
            due_on: kept.due_on.map(Day::from),
            tax_point: kept.tax_point.map(Day::from),
            payment_reference: kept.payment_reference,
            seller: kept.seller.into(),
            buyer: kept.buyer.into(),
            quote_number: kept.quote_number,
            vehicle: kept.vehicle,
            purchase_order: kept.purchase_order,
            prices: kept.prices.into(),
            tax_basis: kept.tax_basis.into(),
            tax_rounding: kept.tax_rounding.into(),
            lines: kept.lines.into_iter().map(InvoiceLineView::from).collect(),
            allowances: kept.allowances.into_iter().map(InvoiceAllowanceView::from).collect(),
            totals: kept.totals.into(),
            note: kept.note,
        }
    }
}

impl From<InvoiceLine> for InvoiceLineView {
    fn from(kept: InvoiceLine) -> Self {
        Self {
            name: kept.name,
            origin: kept.origin,
            quantity: kept.quantity.into(),
            unit_price: kept.unit_price.into(),
            discount: kept.discount.into(),
            discount_reason: kept.discount_reason,
            amount: kept.amount.into(),
            net: kept.net.into(),
            tax_category: kept.tax_category,
            tax_rate: kept.tax_rate.into(),
            tax_reason: kept.tax_reason,
        }
    }
}

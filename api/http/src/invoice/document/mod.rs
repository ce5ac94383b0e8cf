//! The document of an invoice as the API returns it.

pub(crate) mod parties;
mod sums;

use baywright_core::invoice::kept::{InvoiceDocument, InvoiceLine, PrecedingDocument};
use baywright_domain::document::Prices;
use baywright_domain::invoice::InvoiceKind;
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
/// A kind of document as it is sent over HTTP.
type InvoiceKindWord = Word<InvoiceKind>;

/// Invoice as the customer reads it.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = InvoiceDocument)]
pub struct InvoiceDocumentView {
    /// Version of this document's format, counted up when fields are added.
    #[schema(minimum = 1, maximum = 1000, example = 1)]
    form: u32,
    /// Kind of document; left out in documents of form 1, which are invoices.
    #[serde(skip_serializing_if = "Option::is_none")]
    kind: Option<InvoiceKindWord>,
    /// Invoice number (BT-1); null for a draft.
    #[schema(max_length = 40, example = "INV-2026-0042")]
    number: Option<String>,
    /// Issue date (BT-2) in the shop's time zone; null for a draft.
    issued_on: Option<Day>,
    /// Due date (BT-9), the last day to pay in time; null for a draft.
    due_on: Option<Day>,
    /// Tax point date (BT-7), which decides the tax; null before the supply, before the payment of a deposit, and for a
    /// draft that corrects no earlier invoice.
    tax_point: Option<Day>,
    /// Payment reference for the customer's transfer (BT-83, ISO 11649); null for a draft.
    #[schema(max_length = 25, example = "RF61INV20260042")]
    payment_reference: Option<String>,
    /// Documents that this one credits or deducts (BG-3); left out if there are none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 1000, required = false)]
    preceding: Vec<PrecedingDocumentView>,
    /// Reason for a credit note; left out in other documents.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 300)]
    reason: Option<String>,
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
    /// Charges on the whole invoice; left out if there are none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 1000, required = false)]
    charges: Vec<InvoiceAllowanceView>,
    /// Part of the rounding amount that does not follow from the prices, such as the cent that a deducted deposit leaves;
    /// left out if there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    own_rounding: Option<Amount>,
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
    /// Code of the tax in the shop's settings; left out if it is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 60, example = "standard")]
    tax_code: Option<String>,
    /// Tax rate in percent that was agreed, if the rate on the tax point is another one; else left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    agreed_rate: Option<Number>,
    /// Number of the deposit invoice that the line deducts; left out in other lines.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 40, example = "DEP-2026-0003")]
    deducts: Option<String>,
}

/// Document that another one credits or deducts.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PrecedingDocument)]
pub struct PrecedingDocumentView {
    /// Number of the document (BT-25).
    #[schema(max_length = 40, example = "INV-2026-0042")]
    number: String,
    /// Date of its issue (BT-26).
    issued_on: Day,
}

impl From<PrecedingDocument> for PrecedingDocumentView {
    fn from(kept: PrecedingDocument) -> Self {
        Self { number: kept.number, issued_on: kept.issued_on.into() }
    }
}

impl From<InvoiceDocument> for InvoiceDocumentView {
    fn from(kept: InvoiceDocument) -> Self {
        Self {
            form: kept.form,
            kind: kept.kind.map(InvoiceKindWord::from),
            number: kept.number,
            issued_on: kept.issued_on.map(Day::from),
            due_on: kept.due_on.map(Day::from),
            tax_point: kept.tax_point.map(Day::from),
            payment_reference: kept.payment_reference,
            preceding: kept.preceding.into_iter().map(PrecedingDocumentView::from).collect(),
            reason: kept.reason,
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
            charges: kept.charges.into_iter().map(InvoiceAllowanceView::from).collect(),
            own_rounding: kept.own_rounding.map(Amount::from),
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
            tax_code: kept.tax_code,
            agreed_rate: kept.agreed_rate.map(Number::from),
            deducts: kept.deducts,
        }
    }
}

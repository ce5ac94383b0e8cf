//! Totals of an invoice, as the API returns them.

use baywright_core::invoice::kept::{InvoiceAllowance, InvoiceTax, InvoiceTotals};
use serde::Serialize;
use utoipa::ToSchema;

use crate::platform::wire::{Amount, Number};

/// Discount or charge on the whole invoice, for one tax category and rate.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = InvoiceAllowance)]
pub struct InvoiceAllowanceView {
    /// Amount of the discount or charge, with or before tax as `prices` says (BT-92, BT-99).
    amount: Amount,
    /// Reason for it (BT-97, BT-104); null if none was given.
    #[schema(max_length = 300)]
    reason: Option<String>,
    /// Tax category code of UNTDID 5305.
    #[schema(min_length = 1, max_length = 2, example = "S")]
    tax_category: String,
    /// Tax rate in percent.
    tax_rate: Number,
}

/// Totals of the invoice, with the names of EN 16931-1.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = InvoiceTotals)]
pub struct InvoiceTotalsView {
    /// Sum of the lines before tax (BT-106).
    lines: Amount,
    /// Sum of the discounts on the whole invoice, before tax (BT-107).
    allowances: Amount,
    /// Sum of the charges on the whole invoice, before tax (BT-108); left out if there are none.
    #[serde(skip_serializing_if = "Option::is_none")]
    charges: Option<Amount>,
    /// Total before tax (BT-109).
    net: Amount,
    /// Total of the tax (BT-110).
    tax: Amount,
    /// Total with tax (BT-112).
    gross: Amount,
    /// Amount that was paid before, with tax (BT-113).
    prepaid: Amount,
    /// Rounding amount that prices with tax need to add up to the cent (BT-114); usually zero.
    rounding: Amount,
    /// Amount due for payment, with tax (BT-115).
    payable: Amount,
    /// Tax by category and rate (BG-23).
    #[schema(max_items = 100)]
    taxes: Vec<InvoiceTaxView>,
}

/// Tax of one category and rate.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = InvoiceTax)]
pub struct InvoiceTaxView {
    /// Tax category code of UNTDID 5305 (BT-118).
    #[schema(min_length = 1, max_length = 2, example = "S")]
    category: String,
    /// Tax rate in percent (BT-119).
    rate: Number,
    /// Taxable amount, before tax (BT-116).
    taxable: Amount,
    /// Tax on the taxable amount (BT-117).
    tax: Amount,
}

impl From<InvoiceAllowance> for InvoiceAllowanceView {
    fn from(kept: InvoiceAllowance) -> Self {
        Self {
            amount: kept.amount.into(),
            reason: kept.reason,
            tax_category: kept.tax_category,
            tax_rate: kept.tax_rate.into(),
        }
    }
}

impl From<InvoiceTotals> for InvoiceTotalsView {
    fn from(kept: InvoiceTotals) -> Self {
        Self {
            lines: kept.lines.into(),
            allowances: kept.allowances.into(),
            charges: kept.charges.map(Amount::from),
            net: kept.net.into(),
            tax: kept.tax.into(),
            gross: kept.gross.into(),
            prepaid: kept.prepaid.into(),
            rounding: kept.rounding.into(),
            payable: kept.payable.into(),
            taxes: kept.taxes.into_iter().map(InvoiceTaxView::from).collect(),
        }
    }
}

impl From<InvoiceTax> for InvoiceTaxView {
    fn from(kept: InvoiceTax) -> Self {
        Self { category: kept.category, rate: kept.rate.into(), taxable: kept.taxable.into(), tax: kept.tax.into() }
    }
}

//! Totals of an invoice.

use baywright_domain::document::{Adjustment, Totals};
use baywright_domain::money::{Currency, Money};
use serde::{Deserialize, Serialize};

use crate::platform::kept::{Amount, Number};

/// Discount or charge on the whole invoice, for one tax category and rate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvoiceAllowance {
    /// Amount of the discount or charge, with or before tax as `prices` says (BT-92, BT-99).
    pub amount: Amount,
    /// Reason for it (BT-97, BT-104); null if none was given.
    pub reason: Option<String>,
    /// Tax category code of UNTDID 5305.
    pub tax_category: String,
    /// Tax rate in percent.
    pub tax_rate: Number,
}

/// Totals of the invoice, with the names of EN 16931-1.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvoiceTotals {
    /// Sum of the lines before tax (BT-106).
    pub lines: Amount,
    /// Sum of the discounts on the whole invoice, before tax (BT-107).
    pub allowances: Amount,
    /// Sum of the charges on the whole invoice, before tax (BT-108); left out if there are none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charges: Option<Amount>,
    /// Total before tax (BT-109).
    pub net: Amount,
    /// Total of the tax (BT-110).
    pub tax: Amount,
    /// Total with tax (BT-112).
    pub gross: Amount,
    /// Amount that was paid before, with tax (BT-113).
    pub prepaid: Amount,
    /// Rounding amount that prices with tax need to add up to the cent (BT-114); usually zero.
    pub rounding: Amount,
    /// Amount due for payment, with tax (BT-115).
    pub payable: Amount,
    /// Tax by category and rate (BG-23).
    pub taxes: Vec<InvoiceTax>,
}

/// Tax of one category and rate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvoiceTax {
    /// Tax category code of UNTDID 5305 (BT-118).
    pub category: String,
    /// Tax rate in percent (BT-119).
    pub rate: Number,
    /// Taxable amount, before tax (BT-116).
    pub taxable: Amount,
    /// Tax on the taxable amount (BT-117).
    pub tax: Amount,
}

impl InvoiceTotals {
    /// The stored form of the totals.
    pub fn of(totals: &Totals, currency: Currency) -> Self {
        let amount = |money: Money| Amount::of(money, currency);
        let taxes = totals.taxes.iter().map(|row| InvoiceTax {
            category: row.treatment.category().code().to_owned(),
            rate: Number(row.treatment.rate().decimal()),
            taxable: amount(row.taxable),
            tax: amount(row.tax),
        });
        Self {
            lines: amount(totals.sum_of_lines),
            allowances: amount(totals.allowances),
            charges: Some(totals.charges).filter(|charges| !charges.is_zero()).map(amount),
            net: amount(totals.net),
            tax: amount(totals.tax),
            gross: amount(totals.gross),
            prepaid: amount(totals.prepaid),
            rounding: amount(totals.rounding),
            payable: amount(totals.payable),
            taxes: taxes.collect(),
        }
    }
}

impl InvoiceAllowance {
    /// The stored form of an allowance or a charge.
    pub fn of(item: &Adjustment, currency: Currency) -> Self {
        Self {
            amount: Amount::of(item.amount, currency),
            reason: item.reason.clone(),
            tax_category: item.treatment.category().code().to_owned(),
            tax_rate: Number(item.treatment.rate().decimal()),
        }
    }
}

//! What an invoice comes to.

use baywright_domain::document::{Adjustment, Totals};
use baywright_domain::money::{Currency, Money};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::platform::wire::{Amount, Number};

/// What is taken off the whole, for one category and rate of tax.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct InvoiceAllowance {
    /// How much, in the invoice's prices (BT-92).
    pub amount: Amount,
    /// Why (BT-97).
    #[schema(max_length = 300)]
    pub reason: Option<String>,
    /// Category code of UNTDID 5305.
    #[schema(min_length = 1, max_length = 2, example = "S")]
    pub tax_category: String,
    /// Rate in percent.
    pub tax_rate: Number,
}

/// What the invoice comes to, by the names of EN 16931-1.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct InvoiceTotals {
    /// Sum of the lines without tax (BT-106).
    pub lines: Amount,
    /// Sum of what is taken off the whole, without tax (BT-107).
    pub allowances: Amount,
    /// Without tax (BT-109).
    pub net: Amount,
    /// Tax (BT-110).
    pub tax: Amount,
    /// With tax (BT-112).
    pub gross: Amount,
    /// What was paid before (BT-113).
    pub prepaid: Amount,
    /// What prices with tax need to come to the cent (BT-114); mostly nothing.
    pub rounding: Amount,
    /// What is to be paid (BT-115).
    pub payable: Amount,
    /// Tax by category and rate (BG-23).
    #[schema(max_items = 100)]
    pub taxes: Vec<InvoiceTax>,
}

/// Tax of one category and rate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct InvoiceTax {
    /// Category code of UNTDID 5305 (BT-118).
    #[schema(min_length = 1, max_length = 2, example = "S")]
    pub category: String,
    /// Rate in percent (BT-119).
    pub rate: Number,
    /// The amount that is taxed (BT-116).
    pub taxable: Amount,
    /// The tax on it (BT-117).
    pub tax: Amount,
}

impl InvoiceTotals {
    /// The figures as they are written.
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
    /// An allowance as it is written.
    pub fn of(item: &Adjustment, currency: Currency) -> Self {
        Self {
            amount: Amount::of(item.amount, currency),
            reason: item.reason.clone(),
            tax_category: item.treatment.category().code().to_owned(),
            tax_rate: Number(item.treatment.rate().decimal()),
        }
    }
}

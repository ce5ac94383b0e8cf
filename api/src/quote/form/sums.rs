//! What the document comes to, and what holds for all its lines.

use baywright_domain::document::Totals;
use baywright_domain::money::{Currency, Money};
use baywright_domain::quote::Sum;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::words::{BasisWord, RoundingWord};
use crate::http::wire::{Amount, Number};

/// Rounding of tax amounts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteTaxRounding {
    /// Basis for computing tax: each category as a whole or each line.
    pub basis: BasisWord,
    /// Rounding of fractions of the smallest coin.
    pub rounding: RoundingWord,
}

/// Discount on the whole quote: an amount or a percentage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteDiscount {
    /// Amount of the discount, with or before tax as `prices` says; null for a percentage.
    pub amount: Option<Amount>,
    /// Discount in percent; null for an amount.
    pub percent: Option<Number>,
    /// Reason for the discount.
    #[schema(max_length = 200)]
    pub reason: String,
}

/// Deposit that is requested: an amount, or a percentage of the total.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteDeposit {
    /// Amount of the deposit, with tax; null for a percentage.
    pub amount: Option<Amount>,
    /// Deposit in percent of the total; null for an amount.
    pub percent: Option<Number>,
}

/// Totals of a choice of lines.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteTotals {
    /// Discounts on the whole document, with or before tax as `prices` says.
    pub discounts: Amount,
    /// Total before tax.
    pub net: Amount,
    /// Total of the tax.
    pub tax: Amount,
    /// Rounding amount that prices with tax need to add up to the cent; usually zero.
    pub rounding: Amount,
    /// Amount due for payment, with tax.
    pub payable: Amount,
    /// Tax by category and rate.
    #[schema(max_items = 60)]
    pub taxes: Vec<TaxRow>,
    /// Deposit, with tax; null if none is requested.
    pub deposit: Option<Amount>,
    /// Expected working time of one person for all chosen services, each step once, in minutes, as of making the
    /// document: half of all jobs take longer.
    #[schema(minimum = 0, maximum = 10_000_000)]
    pub minutes: u32,
}

/// Tax of one category and rate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TaxRow {
    /// Tax category code of UNTDID 5305.
    #[schema(min_length = 1, max_length = 2, example = "S")]
    pub category: String,
    /// Tax rate in percent.
    pub rate: Number,
    /// Taxable amount, before tax.
    pub taxable: Amount,
    /// Tax on the taxable amount.
    pub tax: Amount,
}

impl QuoteTotals {
    /// The figures of a choice; `minutes` is the median of its work.
    pub fn of(sum: &Sum, minutes: u32, currency: Currency) -> Self {
        let amount = |money: Money| Amount::of(money, currency);
        let totals: &Totals = &sum.totals;
        let taxes = totals.taxes.iter().map(|row| TaxRow {
            category: row.treatment.category().code().to_owned(),
            rate: Number(row.treatment.rate().decimal()),
            taxable: amount(row.taxable),
            tax: amount(row.tax),
        });
        Self {
            discounts: amount(totals.allowance_items.iter().map(|item| item.amount).sum()),
            net: amount(totals.net),
            tax: amount(totals.tax),
            rounding: amount(totals.rounding),
            payable: amount(totals.payable),
            taxes: taxes.collect(),
            deposit: sum.deposit.map(amount),
            minutes,
        }
    }
}

//! What the document comes to, and what holds for all its lines.

use baywright_domain::document::Totals;
use baywright_domain::money::{Currency, Money};
use baywright_domain::quote::Sum;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::words::{BasisWord, RoundingWord};
use crate::platform::wire::{Amount, Number};

/// How tax is rounded.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteTaxRounding {
    /// What tax is computed on.
    pub basis: BasisWord,
    /// What happens to fractions.
    pub rounding: RoundingWord,
}

/// A discount on the whole quote: an amount or a percentage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteDiscount {
    /// The amount; null where it is a percentage.
    pub amount: Option<Amount>,
    /// The percentage; null where it is an amount.
    pub percent: Option<Number>,
    /// Why it is given.
    #[schema(max_length = 200)]
    pub reason: String,
}

/// The deposit that is asked for: an amount or a percentage of the whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteDeposit {
    /// The amount, with tax; null where it is a percentage.
    pub amount: Option<Amount>,
    /// The percentage; null where it is an amount.
    pub percent: Option<Number>,
}

/// What a choice of lines comes to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteTotals {
    /// What discounts on the whole take off, in the quote's prices.
    pub discounts: Amount,
    /// Without tax.
    pub net: Amount,
    /// Tax.
    pub tax: Amount,
    /// What prices with tax need to come to the cent; mostly nothing.
    pub rounding: Amount,
    /// What is to be paid.
    pub payable: Amount,
    /// Tax by category and rate.
    #[schema(max_items = 60)]
    pub taxes: Vec<TaxRow>,
    /// The deposit, with tax; null where none is asked for.
    pub deposit: Option<Amount>,
    /// Minutes of one pair of hands for all services taken, each step once, as believed when the document was made: every
    /// second job takes longer.
    #[schema(minimum = 0, maximum = 10_000_000)]
    pub minutes: u32,
}

/// Tax of one category and rate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TaxRow {
    /// Category code of UNTDID 5305.
    #[schema(min_length = 1, max_length = 2, example = "S")]
    pub category: String,
    /// Rate in percent.
    pub rate: Number,
    /// The amount that is taxed.
    pub taxable: Amount,
    /// The tax on it.
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

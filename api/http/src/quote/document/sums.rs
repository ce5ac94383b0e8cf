//! Totals of a document, and terms for all its lines.

use baywright_core::quote::kept;
use serde::Serialize;
use utoipa::ToSchema;

use super::super::words::{BasisWord, RoundingWord};
use super::list;
use crate::platform::wire::{Amount, Number};

/// Rounding of tax amounts.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuoteTaxRounding)]
pub struct QuoteTaxRoundingView {
    /// Basis for computing tax: each category as a whole or each line.
    basis: BasisWord,
    /// Rounding of fractions of the smallest coin.
    rounding: RoundingWord,
}

/// Discount on the whole quote: an amount or a percentage.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuoteDiscount)]
pub struct QuoteDiscountView {
    /// Amount of the discount, with or before tax as `prices` says; null for a percentage.
    amount: Option<Amount>,
    /// Discount in percent; null for an amount.
    percent: Option<Number>,
    /// Reason for the discount.
    #[schema(max_length = 200)]
    reason: String,
}

/// Deposit that is requested: an amount, or a percentage of the total.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuoteDeposit)]
pub struct QuoteDepositView {
    /// Amount of the deposit, with tax; null for a percentage.
    amount: Option<Amount>,
    /// Deposit in percent of the total; null for an amount.
    percent: Option<Number>,
}

/// Totals of a choice of lines.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuoteTotals)]
pub struct QuoteTotalsView {
    /// Discounts on the whole document, with or before tax as `prices` says.
    discounts: Amount,
    /// Total before tax.
    net: Amount,
    /// Total of the tax.
    tax: Amount,
    /// Rounding amount that prices with tax need to add up to the cent; usually zero.
    rounding: Amount,
    /// Amount due for payment, with tax.
    payable: Amount,
    /// Tax by category and rate.
    #[schema(max_items = 60)]
    taxes: Vec<TaxRowView>,
    /// Deposit, with tax; null if none is requested.
    deposit: Option<Amount>,
    /// Expected working time of one person for all chosen services, each step once, in minutes, as of making the
    /// document: half of all jobs take longer.
    #[schema(minimum = 0, maximum = 10_000_000)]
    minutes: u32,
}

/// Tax of one category and rate.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = TaxRow)]
pub struct TaxRowView {
    /// Tax category code of UNTDID 5305.
    #[schema(min_length = 1, max_length = 2, example = "S")]
    category: String,
    /// Tax rate in percent.
    rate: Number,
    /// Taxable amount, before tax.
    taxable: Amount,
    /// Tax on the taxable amount.
    tax: Amount,
}

impl From<kept::QuoteTaxRounding> for QuoteTaxRoundingView {
    fn from(kept: kept::QuoteTaxRounding) -> Self {
        Self { basis: kept.basis.into(), rounding: kept.rounding.into() }
    }
}

impl From<kept::QuoteDiscount> for QuoteDiscountView {
    fn from(kept: kept::QuoteDiscount) -> Self {
        let (amount, percent) = kept.size.into_parts();
        Self { amount: amount.map(Amount::from), percent: percent.map(Number::from), reason: kept.reason }
    }
}

impl From<kept::QuoteDeposit> for QuoteDepositView {
    fn from(kept: kept::QuoteDeposit) -> Self {
        let (amount, percent) = kept.size.into_parts();
        Self { amount: amount.map(Amount::from), percent: percent.map(Number::from) }
    }
}

impl From<kept::QuoteTotals> for QuoteTotalsView {
    fn from(kept: kept::QuoteTotals) -> Self {
        Self {
            discounts: kept.discounts.into(),
            net: kept.net.into(),
            tax: kept.tax.into(),
            rounding: kept.rounding.into(),
            payable: kept.payable.into(),
            taxes: list(kept.taxes),
            deposit: kept.deposit.map(Amount::from),
            minutes: kept.minutes,
        }
    }
}

impl From<kept::TaxRow> for TaxRowView {
    fn from(kept: kept::TaxRow) -> Self {
        Self { category: kept.category, rate: kept.rate.into(), taxable: kept.taxable.into(), tax: kept.tax.into() }
    }
}

//! Totals of the document, and terms for all its lines.

use baywright_domain::document::{Discount, DiscountSize, Totals};
use baywright_domain::invoice::DepositSize;
use baywright_domain::money::{Currency, Money, Rounding};
use baywright_domain::quote::Sum;
use baywright_domain::tax::{Basis, Profile};
use serde::{Deserialize, Serialize};

use crate::platform::kept::{Amount, AmountOrPercent, Number, Word};

/// Rounding of tax amounts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuoteTaxRounding {
    /// Basis for computing tax: each category as a whole or each line.
    pub basis: Word<Basis>,
    /// Rounding of fractions of the smallest coin.
    pub rounding: Word<Rounding>,
}

/// Discount on the whole quote: an amount or a percentage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuoteDiscount {
    /// Size of the discount; an amount is with or before tax as `prices` says.
    #[serde(flatten, with = "crate::platform::kept::as_fields")]
    pub size: AmountOrPercent,
    /// Reason for the discount.
    pub reason: String,
}

/// Deposit that is requested: an amount, or a percentage of the total.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuoteDeposit {
    /// Size of the deposit; an amount is with tax.
    #[serde(flatten, with = "crate::platform::kept::as_fields")]
    pub size: AmountOrPercent,
}

/// Totals of a choice of lines.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
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
    pub taxes: Vec<TaxRow>,
    /// Deposit, with tax; null if none is requested.
    pub deposit: Option<Amount>,
    /// Expected working time of one person for all chosen services, each step once, in minutes, as of making the
    /// document: half of all jobs take longer.
    pub minutes: u32,
}

/// Tax of one category and rate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TaxRow {
    /// Tax category code of UNTDID 5305.
    pub category: String,
    /// Tax rate in percent.
    pub rate: Number,
    /// Taxable amount, before tax.
    pub taxable: Amount,
    /// Tax on the taxable amount.
    pub tax: Amount,
}

impl QuoteTaxRounding {
    /// The rounding according to the rates.
    pub fn of(profile: Profile) -> Self {
        Self { basis: Word(profile.basis), rounding: Word(profile.rounding) }
    }
}

impl QuoteDiscount {
    /// The discount for the document.
    pub fn of(discount: &Discount, currency: Currency) -> Self {
        let size = match discount.size {
            DiscountSize::Amount(amount) => AmountOrPercent::of_amount(amount, currency),
            DiscountSize::Percent(percent) => AmountOrPercent::of_percent(percent),
        };
        Self { size, reason: discount.reason.clone() }
    }
}

impl QuoteDeposit {
    /// The deposit for the document.
    pub fn of(size: DepositSize, currency: Currency) -> Self {
        let size = match size {
            DepositSize::Amount(amount) => AmountOrPercent::of_amount(amount, currency),
            DepositSize::Percent(percent) => AmountOrPercent::of_percent(percent),
        };
        Self { size }
    }
}

impl QuoteTotals {
    /// The totals of a choice; `minutes` is the median duration of its work.
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

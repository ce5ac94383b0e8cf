//! The figures of a document: quote, variation, invoice and credit note are all summed up here, and nowhere else.
//!
//! Amounts are exact: a line is `quantity × price ÷ base quantity`, rounded once; tax is computed per category and rate,
//! added to net prices or taken out of gross ones (RULES: tax). The names of the totals are those of EN 16931-1:
//! sum of line nets (BT-106), allowances (BT-107), charges (BT-108), net (BT-109), tax (BT-110), gross (BT-112),
//! prepaid (BT-113), rounding (BT-114), payable (BT-115).

mod discount;
mod line;
mod refused;
mod totals;

use alloc::string::String;
use alloc::vec::Vec;

use rust_decimal::Decimal;

use crate::money::{Currency, Money, Percent};
use crate::tax::{Profile, Treatment};
use crate::word::words;

pub use refused::{BadDocument, Broken, Place};
pub use totals::{CategoryTotal, LineTotal, Totals};

/// Most lines, allowances or charges of a document, so that their sums always fit.
pub const MOST: usize = 1_000;

/// The most discounts on a whole document.
pub const MOST_DISCOUNTS: usize = 20;

words! {
    /// Whether the prices, allowances, charges and discounts of a document are without tax or with it.
    pub enum Prices("way of prices") {
        /// Before tax; tax is added (trade customers).
        Net = "NET" "without tax",
        /// With tax; the total must not change by a cent (private customers).
        Gross = "GROSS" "with tax",
    }
}

/// Content of a document, before its totals are computed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Document {
    /// The currency of every amount.
    pub currency: Currency,
    /// Whether prices are without tax or with it.
    pub prices: Prices,
    /// Rounding of tax.
    pub profile: Profile,
    /// At least one (BR-16), at most [`MOST`].
    pub lines: Vec<Line>,
    /// Allowances on the whole document, each for one tax treatment (BG-20).
    pub allowances: Vec<Adjustment>,
    /// Charges on the whole document, each for one tax treatment (BG-21).
    pub charges: Vec<Adjustment>,
    /// Discounts on the whole document, which are split over the tax treatments of its lines; at most [`MOST_DISCOUNTS`].
    pub discounts: Vec<Discount>,
    /// Amount that was paid before (BT-113), always with tax.
    pub prepaid: Money,
    /// Amount by which the payable amount is rounded (BT-114), such as to a whole coin, always with tax.
    pub rounding: Money,
}

/// One line of a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Quantity; negative if it is given back.
    pub quantity: Decimal,
    /// Price of the base quantity, in the currency's major unit, with as many decimals as it needs; never negative
    /// (BR-27).
    pub price: Decimal,
    /// Quantity that the price is for, above zero: usually 1.
    pub base_quantity: Decimal,
    /// Amount taken off the line (BT-136).
    pub allowance: Money,
    /// Amount put on the line (BT-141).
    pub charge: Money,
    /// A discount on the line, beside the allowance.
    pub discount: Option<Discount>,
    /// Category and rate.
    pub treatment: Treatment,
}

/// An allowance or charge on the whole document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Adjustment {
    /// Amount of the allowance or charge.
    pub amount: Money,
    /// The treatment whose taxable amount it changes.
    pub treatment: Treatment,
    /// Reason, as the customer reads it (BT-97, BT-104).
    pub reason: Option<String>,
}

/// A discount, on a line or on the document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Discount {
    /// Size of the discount: an amount or a percentage.
    pub size: DiscountSize,
    /// Reason, as the customer reads it; never blank.
    pub reason: String,
}

/// Size of a discount: an amount or a percentage.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DiscountSize {
    /// An amount, with the sign of the amount it is deducted from, and never more than that.
    Amount(Money),
    /// A percentage of the line's `quantity × price`, or of the sum of the lines.
    Percent(Percent),
}

impl Line {
    /// A line of a quantity at a price, without allowance, charge or discount.
    pub fn new(quantity: Decimal, price: Decimal, treatment: Treatment) -> Self {
        Self {
            quantity,
            price,
            base_quantity: Decimal::ONE,
            allowance: Money::ZERO,
            charge: Money::ZERO,
            discount: None,
            treatment,
        }
    }

    /// A line of the given amount in the prices of its document: one piece, which is given back if the amount is below
    /// zero.
    pub(crate) fn of_amount(amount: Money, currency: Currency, treatment: Treatment) -> Self {
        let quantity = if amount.is_negative() { -Decimal::ONE } else { Decimal::ONE };
        Self::new(quantity, amount.abs().major(currency), treatment)
    }
}

impl Document {
    /// A document of these lines and nothing else.
    pub fn new(currency: Currency, prices: Prices, profile: Profile, lines: Vec<Line>) -> Self {
        Self {
            currency,
            prices,
            profile,
            lines,
            allowances: Vec::new(),
            charges: Vec::new(),
            discounts: Vec::new(),
            prepaid: Money::ZERO,
            rounding: Money::ZERO,
        }
    }

    /// Computes the totals of the document.
    ///
    /// # Errors
    /// [`BadDocument`] names the place and what to do there.
    pub fn totals(&self) -> Result<Totals, BadDocument> {
        totals::totals(self)
    }
}

//! The invoice as the customer reads it and as it is sealed: one form for the record, the mail and the API.
//!
//! Amounts are text with their currency and decimal numbers are text, so that canonical JSON holds them exactly. The
//! figures can be computed again from the lines, which issuing does before it seals.

mod parties;
mod read;
mod sums;

use baywright_domain::document::Prices;
use baywright_domain::money::Rounding;
use baywright_domain::tax::Basis;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::platform::wire::{Amount, Day, Number, Word};

pub use parties::{InvoiceBuyer, InvoiceSeller};
pub use sums::{InvoiceAllowance, InvoiceTax, InvoiceTotals};

/// The form that this program writes.
pub const FORM: u32 = 1;

/// A way of pricing as it travels.
pub type PricesWord = Word<Prices>;
/// What tax is computed on, as it travels.
pub type BasisWord = Word<Basis>;
/// A way of rounding as it travels.
pub type RoundingWord = Word<Rounding>;

/// An invoice as the customer reads it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct InvoiceDocument {
    /// The form of this document; it counts up when fields are added.
    #[schema(minimum = 1, maximum = 1000, example = 1)]
    pub form: u32,
    /// Its number (BT-1); null in a draft.
    #[schema(max_length = 40, example = "INV-2026-0042")]
    pub number: Option<String>,
    /// The day it was issued (BT-2), where the shop is; null in a draft.
    pub issued_on: Option<Day>,
    /// The last day to pay in time (BT-9); null in a draft.
    pub due_on: Option<Day>,
    /// The day that decides the tax (BT-7); null in a draft.
    pub tax_point: Option<Day>,
    /// What a transfer should name (BT-83, ISO 11649); null in a draft.
    #[schema(max_length = 25, example = "RF61INV20260042")]
    pub payment_reference: Option<String>,
    /// Who sells.
    pub seller: InvoiceSeller,
    /// Who buys.
    pub buyer: InvoiceBuyer,
    /// The number of the signed quote; null where there is none.
    #[schema(max_length = 40, example = "Q-2026-0042")]
    pub quote_number: Option<String>,
    /// The vehicle, in the words of the quote; null where there is none.
    #[schema(max_length = 400)]
    pub vehicle: Option<String>,
    /// The buyer's purchase-order number (BT-13).
    #[schema(max_length = 80)]
    pub purchase_order: Option<String>,
    /// Whether its prices are without tax or with it.
    pub prices: PricesWord,
    /// What tax is computed on.
    pub tax_basis: BasisWord,
    /// What happens to fractions of the smallest coin.
    pub tax_rounding: RoundingWord,
    /// What is charged, in order.
    #[schema(max_items = 1000)]
    pub lines: Vec<InvoiceLine>,
    /// What is taken off the whole.
    #[schema(max_items = 1000)]
    pub allowances: Vec<InvoiceAllowance>,
    /// What it comes to.
    pub totals: InvoiceTotals,
    /// What the studio adds in its own words.
    #[schema(max_length = 2000)]
    pub note: String,
}

/// One line of an invoice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct InvoiceLine {
    /// What it is (BT-153).
    #[schema(max_length = 300, example = "Two-step correction")]
    pub name: String,
    /// Where it was agreed: the number of the quote or variation.
    #[schema(max_length = 60, example = "Q-2026-0042")]
    pub origin: String,
    /// How many (BT-129).
    pub quantity: Number,
    /// The price of one, in the currency's major unit.
    pub unit_price: Number,
    /// What a discount takes off the line.
    pub discount: Amount,
    /// Why the discount is given; null where there is none.
    #[schema(max_length = 300)]
    pub discount_reason: Option<String>,
    /// Quantity × price − discount, in the invoice's prices.
    pub amount: Amount,
    /// The same without tax (BT-131).
    pub net: Amount,
    /// Category code of UNTDID 5305 (BT-151).
    #[schema(min_length = 1, max_length = 2, example = "S")]
    pub tax_category: String,
    /// Rate in percent (BT-152).
    pub tax_rate: Number,
    /// Why no tax is charged, where the category asks for a reason (BT-120).
    #[schema(max_length = 500)]
    pub tax_reason: Option<String>,
}

//! Tax on sales: treatment of a supply, dated rates, and computing tax in both directions.
//!
//! The words and codes are those of EN 16931-1 (the European standard for electronic invoices). Which treatment a
//! supply really has is for the shop and its adviser to decide by their local law; this module only computes with it.

mod category;
mod exclusive;
mod inclusive;
mod parties;
mod point;
mod rates;

pub use category::{BadTreatment, Category, Treatment};
pub use exclusive::tax_on;
pub use inclusive::{Included, net_shares, within};
pub use parties::{NoReverseCharge, Parties};
pub use point::TaxPoint;
pub use rates::{NoRate, RateTable};

use crate::money::{Percent, Rounding};
use crate::word::words;

/// A rate of tax, in percent of the net amount.
pub type Rate = Percent;

words! {
    /// Basis of a tax amount before it is rounded.
    pub enum Basis("basis of tax") {
        /// Once for all items of a category and rate, as EN 16931-1 (BR-CO-17).
        Category = "CATEGORY" "per category",
        /// On each item; the rounded amounts are added up.
        Line = "LINE" "per line",
    }
}

/// Rounding of tax in a shop's country. A document freezes the profile with which it was computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Profile {
    /// Basis of the tax.
    pub basis: Basis,
    /// Rounding of a fraction of a minor unit of tax.
    pub rounding: Rounding,
}

impl Profile {
    /// Per category, half away from zero: EN 16931-1.
    pub const EN_16931: Self = Self { basis: Basis::Category, rounding: Rounding::HalfAwayFromZero };
}

impl Default for Profile {
    fn default() -> Self {
        Self::EN_16931
    }
}

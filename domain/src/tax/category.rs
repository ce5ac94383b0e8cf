//! Tax categories (EN 16931-1, BT-118 and BT-151; codes of UNTDID 5305) and the rules of each.

use core::fmt;

use super::Rate;
use crate::refusal::{Kind, Refusal};

/// A tax category.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Category {
    /// `S`: taxed, at the standard rate or a reduced one.
    Standard,
    /// `Z`: taxed at zero.
    ZeroRated,
    /// `E`: exempt, such as a small business.
    Exempt,
    /// `AE`: the customer owes the tax (reverse charge).
    ReverseCharge,
    /// `O`: outside the scope of the tax.
    OutOfScope,
    /// `K`: supply to another member state of the Union.
    IntraCommunity,
    /// `G`: export out of the Union.
    Export,
    /// `L`: general indirect tax of the Canary Islands.
    CanaryIslands,
    /// `M`: tax of Ceuta and Melilla.
    CeutaMelilla,
}

impl Category {
    /// Every category, in the order of the standard's code list here.
    pub const ALL: [Self; 9] = [
        Self::Standard,
        Self::ZeroRated,
        Self::Exempt,
        Self::ReverseCharge,
        Self::OutOfScope,
        Self::IntraCommunity,
        Self::Export,
        Self::CanaryIslands,
        Self::CeutaMelilla,
    ];

    /// The code in documents.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Standard => "S",
            Self::ZeroRated => "Z",
            Self::Exempt => "E",
            Self::ReverseCharge => "AE",
            Self::OutOfScope => "O",
            Self::IntraCommunity => "K",
            Self::Export => "G",
            Self::CanaryIslands => "L",
            Self::CeutaMelilla => "M",
        }
    }

    /// The category with that code.
    pub fn of(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|c| c.code() == code)
    }

    /// Whether a document must say why no tax is charged (BR-E-10, BR-AE-10, BR-O-10, BR-IC-10, BR-G-10).
    pub const fn needs_reason(self) -> bool {
        matches!(self, Self::Exempt | Self::ReverseCharge | Self::OutOfScope | Self::IntraCommunity | Self::Export)
    }

    /// Whether the supplier charges no tax because somebody else owes it or it is owed elsewhere: reverse charge, supply to
    /// another member state, export. Such a line starts from the net price.
    pub const fn starts_from_net(self) -> bool {
        matches!(self, Self::ReverseCharge | Self::IntraCommunity | Self::Export)
    }

    /// Whether its rate can be other than zero.
    pub const fn is_taxed(self) -> bool {
        matches!(self, Self::Standard | Self::CanaryIslands | Self::CeutaMelilla)
    }
}

impl fmt::Display for Category {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// Tax treatment of an item: category and rate, which always fit each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Treatment {
    category: Category,
    rate: Rate,
}

/// A category and a rate that do not go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadTreatment {
    /// Category `S` with a rate of zero (BR-S-5).
    #[error("category S needs a rate above zero; for no tax use Z (zero-rated) or E (exempt)")]
    StandardAtZero,
    /// A rate with a category that charges none (BR-Z-5, BR-E-5, BR-AE-5, BR-IC-5, BR-G-5, BR-O-5).
    #[error("category {0} charges no tax: its rate is 0")]
    RateWithoutTax(Category),
}

impl Refusal for BadTreatment {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "tax-treatment"
    }
}

impl Treatment {
    /// The treatment of that category and rate.
    ///
    /// # Errors
    /// [`BadTreatment`] if EN 16931-1 does not allow the rate for the category.
    pub fn new(category: Category, rate: Rate) -> Result<Self, BadTreatment> {
        match (category, rate.is_zero()) {
            (Category::Standard, true) => Err(BadTreatment::StandardAtZero),
            (other, false) if !other.is_taxed() => Err(BadTreatment::RateWithoutTax(other)),
            _ => Ok(Self { category, rate }),
        }
    }

    /// Its category.
    pub const fn category(self) -> Category {
        self.category
    }

    /// Its rate.
    pub const fn rate(self) -> Rate {
        self.rate
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_code_names_one_category() {
        for category in Category::ALL {
            assert_eq!(Category::of(category.code()), Some(category));
        }
        for unknown in ["", "s", "B", "AA"] {
            assert_eq!(Category::of(unknown), None);
        }
    }

    #[test]
    fn a_rate_fits_its_category() {
        let some = Rate::whole(19);
        for category in Category::ALL {
            assert_eq!(Treatment::new(category, some).is_ok(), category.is_taxed(), "{category}");
            assert_eq!(Treatment::new(category, Rate::ZERO).is_ok(), category != Category::Standard, "{category}");
            assert!(!(category.is_taxed() && category.needs_reason()), "{category}");
        }
    }
}

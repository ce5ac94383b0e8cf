//! Products: mixing, prices, and products that must not be combined with them.

use alloc::string::String;
use alloc::vec::Vec;

use rust_decimal::Decimal;

use super::Code;
use crate::caution::Caution;
use crate::mixing::Ratio;
use crate::money::Money;
use crate::word::words;

words! {
    /// Unit of a product.
    pub enum Unit("unit") {
        /// Millilitres; priced per litre.
        Millilitre = "MILLILITRE" "ml",
        /// Grams; priced per kilogram.
        Gram = "GRAM" "g",
        /// Pieces, such as pads; priced each.
        Piece = "PIECE" "pc",
    }
}

impl Unit {
    /// Number of units that the price is for: a thousand for a litre or kilogram, else one.
    pub const fn priced_by(self) -> Decimal {
        match self {
            Self::Millilitre | Self::Gram => Decimal::ONE_THOUSAND,
            Self::Piece => Decimal::ONE,
        }
    }
}

words! {
    /// Chemistry of a product, as far as it decides which products must not be combined with it.
    pub enum Chemistry("chemistry") {
        /// An acid, such as some wheel cleaners.
        Acid = "ACID" "acid",
        /// Contains chlorine bleach.
        Chlorine = "CHLORINE" "chlorine bleach",
        /// An alkaline cleaner.
        Alkaline = "ALKALINE" "alkaline",
        /// Dissolves iron fallout.
        IronRemover = "IRON_REMOVER" "iron remover",
        /// A solvent, or a product with one.
        Solvent = "SOLVENT" "solvent",
        /// Neither of these.
        Neutral = "NEUTRAL" "neutral",
    }
}

/// A product as the shop uses it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Product {
    /// Its code within the shop.
    pub code: Code,
    /// Name as people read it.
    pub name: String,
    /// Unit of the product.
    pub unit: Unit,
    /// Mix with water; only for products in millilitres, and `None` if it is used undiluted.
    pub mix: Option<Ratio>,
    /// Purchase price, before mixing, per litre, kilogram or piece (see [`Unit::priced_by`]); `None` if it isn't
    /// charged for.
    pub price: Option<Money>,
    /// Dangerous chemical properties.
    pub chemistry: Vec<Chemistry>,
    /// Products with which it must never be combined, in addition to the rules for its chemistry.
    pub never_with: Vec<Code>,
    /// Dwell time on the surface, in seconds, if its label states one.
    pub dwell_seconds: Option<u32>,
    /// Cautions for using it.
    pub cautions: Vec<Caution>,
}

impl Product {
    /// Whether the two must never be combined: acid and chlorine bleach, or a product in the other's list.
    pub fn clashes_with(&self, other: &Self) -> bool {
        self.acid_meets_chlorine(other)
            || self.never_with.contains(&other.code)
            || other.never_with.contains(&self.code)
    }

    /// Whether one of the two is an acid and the other contains chlorine bleach.
    pub fn acid_meets_chlorine(&self, other: &Self) -> bool {
        let has = |product: &Self, what| product.chemistry.contains(&what);
        (has(self, Chemistry::Acid) && has(other, Chemistry::Chlorine))
            || (has(self, Chemistry::Chlorine) && has(other, Chemistry::Acid))
    }
}

/// Basis of the amount of a product.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Basis {
    /// Square metres of a medium car.
    Area(Decimal),
    /// Number of pieces, such as four wheels.
    Count(Decimal),
}

impl Basis {
    /// The number of square metres or pieces.
    pub const fn units(self) -> Decimal {
        match self {
            Self::Area(units) | Self::Count(units) => units,
        }
    }
}

/// Amount of a product that a step needs: basis × rate × size factor, ready to use, thus after mixing.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Dose {
    /// The product.
    pub product: Code,
    /// Basis of the amount.
    pub basis: Basis,
    /// Amount per square metre or thing, in the product's unit.
    pub rate: Decimal,
    /// Whether a larger car takes more.
    pub by_size: bool,
}

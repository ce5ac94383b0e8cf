//! Products: how they are mixed, what they cost, what they must never meet.

use alloc::string::String;
use alloc::vec::Vec;

use rust_decimal::Decimal;

use super::Code;
use crate::caution::Caution;
use crate::mixing::Ratio;
use crate::money::Money;
use crate::word::words;

words! {
    /// What a product is counted in.
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
    /// How many of the unit the price is for: a thousand for a litre or kilogram, else one.
    pub const fn priced_by(self) -> Decimal {
        match self {
            Self::Millilitre | Self::Gram => Decimal::ONE_THOUSAND,
            Self::Piece => Decimal::ONE,
        }
    }
}

words! {
    /// What a product is, as far as it decides what it must never meet.
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
    /// What it is counted in.
    pub unit: Unit,
    /// How it is mixed with water; only for products in millilitres, and none if it is used as it comes.
    pub mix: Option<Ratio>,
    /// Its price as bought, before mixing, per litre, kilogram or piece (see [`Unit::priced_by`]); none if it isn't
    /// charged for.
    pub price: Option<Money>,
    /// What it is made of, as far as that is dangerous.
    pub chemistry: Vec<Chemistry>,
    /// Products that it must never meet, beside what its chemistry forbids.
    pub never_with: Vec<Code>,
    /// How long it works on the surface, in seconds, if its label says so.
    pub dwell_seconds: Option<u32>,
    /// What to be careful of when using it.
    pub cautions: Vec<Caution>,
}

impl Product {
    /// Whether the two must never meet: acid and chlorine bleach, or what either one's list names.
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
    /// So many square metres of a medium car.
    Area(Decimal),
    /// Number of pieces, such as four wheels.
    Count(Decimal),
}

impl Basis {
    /// The number of square metres or things.
    pub const fn units(self) -> Decimal {
        match self {
            Self::Area(units) | Self::Count(units) => units,
        }
    }
}

/// How much of a product a step takes: basis × rate × size factor, ready to use, so mixed if the product is mixed.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Dose {
    /// The product.
    pub product: Code,
    /// What the amount goes by.
    pub basis: Basis,
    /// Amount per square metre or thing, in the product's unit.
    pub rate: Decimal,
    /// Whether a larger car takes more.
    pub by_size: bool,
}

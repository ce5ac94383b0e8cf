//! Words of the rules that a quote's document uses.

use baywright_domain::customer::CustomerKind;
use baywright_domain::document::Prices;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::money::Rounding;
use baywright_domain::pricing::{ConflictKind, ExplainedKind, Item};
use baywright_domain::tax::Basis;
use baywright_domain::vehicle::{Powertrain, SizeClass};

use crate::http::wire::{Named, Word};

/// A way of pricing as its word.
pub type PricesWord = Word<Prices>;
/// What tax is computed on, as its word.
pub type BasisWord = Word<Basis>;
/// A way of rounding as its word.
pub type RoundingWord = Word<Rounding>;
/// What a row of an explanation does, as its word.
pub type ExplainedWord = Word<ExplainedKind>;
/// What a line is for, as its word.
pub type LineKindWord = Word<LineKind>;
/// Why two lines can't go together, as its word.
pub type ConflictWord = Word<ConflictKind>;
/// A condition class as its word.
pub type ConditionWord = Word<ConditionClass>;
/// A size class as its word.
pub type SizeWord = Word<SizeClass>;
/// A powertrain as its word.
pub type PowertrainWord = Word<Powertrain>;
/// A kind of customer as its word.
pub type CustomerKindWord = Word<CustomerKind>;

/// What a line of a quote is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LineKind {
    /// A service of the menu.
    Service,
    /// A package of the menu.
    Package,
    /// Something that somebody typed.
    Typed,
}

impl Named for LineKind {
    const NAME: &'static str = "QuoteLineKind";

    fn all() -> &'static [Self] {
        &[Self::Service, Self::Package, Self::Typed]
    }

    fn word(self) -> &'static str {
        match self {
            Self::Service => "SERVICE",
            Self::Package => "PACKAGE",
            Self::Typed => "TYPED",
        }
    }
}

impl From<&Item> for LineKind {
    fn from(item: &Item) -> Self {
        match item {
            Item::Service(_) => Self::Service,
            Item::Package(_) => Self::Package,
            Item::Typed { .. } => Self::Typed,
        }
    }
}

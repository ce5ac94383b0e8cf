//! Kind of a line of a quote.

use baywright_domain::pricing::Item;

use crate::platform::kept::Named;

/// Kind of a line of a quote.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LineKind {
    /// A service of the menu.
    Service,
    /// A package of the menu.
    Package,
    /// A custom item. Its word is in the digests of documents that were sent, so it stays.
    Custom,
}

impl Named for LineKind {
    const NAME: &'static str = "QuoteLineKind";

    fn all() -> &'static [Self] {
        &[Self::Service, Self::Package, Self::Custom]
    }

    fn word(self) -> &'static str {
        match self {
            Self::Service => "SERVICE",
            Self::Package => "PACKAGE",
            Self::Custom => "TYPED",
        }
    }
}

impl From<&Item> for LineKind {
    fn from(item: &Item) -> Self {
        match item {
            Item::Service(_) => Self::Service,
            Item::Package(_) => Self::Package,
            Item::Custom { .. } => Self::Custom,
        }
    }
}

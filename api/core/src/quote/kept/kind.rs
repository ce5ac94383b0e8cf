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
    /// A custom item.
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

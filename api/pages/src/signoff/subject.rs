//! Names of a link's document on the pages.

use baywright_core::quote::kept::QuoteDocument;

/// A revision of a quote or a variation of one: `quote Q-2026-0042`, or `change Q-2026-0042-V1`.
pub(super) fn called(document: &QuoteDocument) -> String {
    let word = if document.variation_of.is_some() { "change" } else { "quote" };
    format!("{word} {}", document.number)
}

//! What an invoice charges: the signed quote and the variations that were signed after it, in one document.

use alloc::vec::Vec;

use crate::document::{BadDocument, Document, MOST, Totals};
use crate::refusal::{Fault, Kind, Refusal};

/// Reason why agreed documents can't be combined into one invoice.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotTogether {
    /// They differ in currency, in prices with or without tax, or in how tax is rounded.
    #[error("what was agreed later has other prices or taxes than the quote: write a separate invoice for it")]
    Different,
    /// More lines or allowances than a document holds.
    #[error("an invoice has at most {MOST} lines: write a second invoice for the rest")]
    TooMany,
    /// One of them can't be summed up.
    #[error(transparent)]
    Document(#[from] BadDocument),
}

impl Refusal for NotTogether {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        match self {
            Self::Different => "agreed-differently",
            Self::TooMany => "too-many-lines",
            Self::Document(bad) => bad.code(),
        }
    }

    fn faults(&self) -> Vec<Fault> {
        match self {
            Self::Document(bad) => bad.faults(),
            _ => Vec::new(),
        }
    }
}

/// Combines the document of a quote with those of its variations, with their lines in order. A discount on a whole document
/// becomes allowances of its amount, so that a percentage of the signed work stays the same whatever else is charged. With
/// gross prices the total is exactly the sum of the signed totals; with net prices the nets are, and tax is computed once on
/// their sum.
///
/// # Errors
/// [`NotTogether`] if they don't fit into one document.
pub fn agreed(quote: &Document, variations: &[Document]) -> Result<(Document, Totals), NotTogether> {
    let mut whole = settled(quote)?;
    for variation in variations {
        let same = (variation.currency, variation.prices, variation.profile);
        if same != (whole.currency, whole.prices, whole.profile) {
            return Err(NotTogether::Different);
        }
        let part = settled(variation)?;
        whole.lines.extend(part.lines);
        whole.allowances.extend(part.allowances);
        whole.charges.extend(part.charges);
        whole.prepaid += part.prepaid;
        whole.rounding += part.rounding;
    }
    if whole.lines.len().max(whole.allowances.len()).max(whole.charges.len()) > MOST {
        return Err(NotTogether::TooMany);
    }
    let totals = whole.totals()?;
    Ok((whole, totals))
}

/// The document with its discounts replaced by their amounts.
pub(super) fn settled(document: &Document) -> Result<Document, BadDocument> {
    let allowances = document.totals()?.allowance_items;
    Ok(Document { allowances, discounts: Vec::new(), ..document.clone() })
}

//! What an invoice charges: the signed quote and the variations that were signed after it, in one document.

use alloc::vec::Vec;

use crate::document::{BadDocument, Document, MOST, Totals};
use crate::refusal::{Fault, Kind, Refusal};

/// Why agreed documents don't make one invoice.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotTogether {
    /// They differ in currency, in the way of prices or in how tax is rounded.
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

/// Puts the quote's document and those of its variations together, lines in order. What a discount of a whole document
/// came to becomes allowances of that amount: a percentage of what was signed stays what it was, whatever else is charged
/// with it. With gross prices the whole comes to the sum of what each promised, to the cent; with net prices its nets do,
/// and tax is computed once on their sum.
///
/// # Errors
/// [`NotTogether`] where they don't fit into one document.
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

/// The document with its discounts as the amounts that they came to.
pub(super) fn settled(document: &Document) -> Result<Document, BadDocument> {
    let allowances = document.totals()?.allowance_items;
    Ok(Document { allowances, discounts: Vec::new(), ..document.clone() })
}

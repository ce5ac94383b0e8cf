//! Correction of an issued invoice in one step: the rest of it is credited, and a draft of the same invoice is written.

use alloc::vec::Vec;

use super::credit::remaining;
use super::{BadCredit, Credit, CreditLine, Left, credit_note};
use crate::document::Document;

/// A correction: both documents belong to one transaction.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Correction {
    /// Credit note for all that is not credited yet.
    pub credit: Credit,
    /// The new draft, to be changed and issued: the invoice as it was, or the rest of it after earlier credit notes.
    pub draft: Document,
}

/// Corrects an invoice of which `left` is not credited yet. An issued invoice never changes (RULES: documents), so the
/// mistake is credited and issued again.
///
/// # Errors
/// [`BadCredit::Nothing`] if nothing is left to credit.
pub fn correct(invoice: &Document, left: &Left) -> Result<Correction, BadCredit> {
    let all: Vec<CreditLine> = (0..invoice.lines.len()).map(|line| CreditLine { line, amount: None }).collect();
    let credit = credit_note(invoice, left, &all)?;
    let draft = if *left == Left::of(invoice)? {
        invoice.clone()
    } else {
        Document { prepaid: invoice.prepaid, rounding: invoice.rounding, ..remaining(invoice, left) }
    };
    Ok(Correction { credit, draft })
}

//! Deduction of deposits: the final invoice shows the whole work, and then one negative line for each deposit and tax.

use baywright_domain::calendar::day_in_words;
use baywright_domain::id::QuoteId;
use baywright_domain::invoice::{Advance, Claimed, deduct};

use super::credit::credits_of;
use super::draft::{Source, SourceLine};
use crate::invoice::kept::PrecedingDocument;
use crate::invoice::store;
use crate::platform::fail::Done;
use crate::platform::kept::Day;
use crate::platform::tx::Tx;

/// Deducts the deposit invoices of a quote. Each is deducted as it was invoiced, less its credit notes, because its tax
/// is stated there; an unpaid one stays to be paid, so the caller warns of it.
///
/// # Errors
/// `Conflict` if they are more than the work.
pub(super) fn deduct_deposits(tx: &mut Tx<'_>, quote: &QuoteId, mut source: Source) -> Done<Source> {
    let deposits = store::deposits_of(tx, quote)?;
    if deposits.is_empty() {
        return Ok(source);
    }
    let mut advances = Vec::new();
    for deposit in &deposits {
        let credits = credits_of(tx, deposit)?;
        advances.push(Advance::of(&deposit.document()?.rules(tx.studio.currency)?, &credits)?);
    }
    let done = deduct(&source.document, &advances)?;
    for line in &done.lines {
        let Some(deposit) = deposits.get(line.deposit) else { continue };
        let (Some(number), Some(issued_on)) = (&deposit.number, deposit.issued_on) else { continue };
        source.lines.push(SourceLine {
            name: format!("Less deposit {number} of {}", day_in_words(issued_on)),
            origin: number.clone(),
            deducts: Some(number.clone()),
            ..SourceLine::default()
        });
    }
    for deposit in &deposits {
        source.claims.push(Claimed::Deposit(deposit.id.clone()));
        if let (Some(number), Some(issued_on)) = (deposit.number.clone(), deposit.issued_on) {
            source.preceding.push(PrecedingDocument { number, issued_on: Day(issued_on) });
        }
    }
    source.document = done.document;
    Ok(source)
}

//! Deduction of deposits: the final invoice shows the whole work, and then one negative line for each deposit and tax.

use baywright_domain::calendar::day_in_words;
use baywright_domain::id::QuoteId;
use baywright_domain::invoice::{Advance, Claimed, deduct};
use chrono::NaiveDate;

use super::Invoice;
use super::claim::claimed_by;
use super::credit::credits_of;
use super::draft::{Source, SourceLine};
use crate::invoice::kept::{InvoiceLine, PrecedingDocument};
use crate::invoice::store;
use crate::platform::fail::Done;
use crate::platform::kept::Day;
use crate::platform::tx::Tx;
use crate::shop;

/// The issued deposit invoices of a quote that its final invoice deducts, first one first: not those that are credited in
/// full, and not those that were kept when an earlier job was called off.
pub fn deposits_of(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Vec<Invoice>> {
    let mut found = Vec::new();
    for deposit in store::deposits_of(tx, quote)? {
        let kept = claimed_by(tx, &Claimed::Deposit(deposit.id.clone()))?.is_some_and(|by| by == deposit.id);
        if !kept {
            found.push(deposit);
        }
    }
    Ok(found)
}

/// Deducts the deposit invoices of a quote. Each is deducted as it was invoiced, less its credit notes, because its tax
/// is stated there; an unpaid one stays to be paid, so the caller warns of it.
///
/// # Errors
/// `Conflict` if they are more than the work.
pub(super) fn deduct_deposits(tx: &mut Tx<'_>, quote: &QuoteId, mut source: Source) -> Done<Source> {
    let deposits = deposits_of(tx, quote)?;
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
        let treatment = done.document.lines.get(line.line).map(|deducted| deducted.treatment);
        let treated = |kept: &&InvoiceLine| {
            treatment.is_some_and(|treatment| {
                (treatment.category().code(), treatment.rate().decimal())
                    == (kept.tax_category.as_str(), kept.tax_rate.0)
            })
        };
        source.lines.push(SourceLine {
            tax_reason: deposit.document()?.lines.iter().find(treated).and_then(|kept| kept.tax_reason.clone()),
            name: format!("Less deposit {number} of {}", issued_on.format("%-d %B %Y")),
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

/// Warns if a tax rate on the day of a deposit's payment, which decides its tax, is not the one on its invoice.
pub fn warn_of_deposit_rate(tx: &mut Tx<'_>, deposit: &Invoice, day: NaiveDate) -> Done<()> {
    let taxes = shop::usecase::taxes(tx)?;
    for line in deposit.document()?.lines {
        let tax = taxes.iter().find(|tax| Some(tax.code.as_str()) == line.tax_code.as_deref());
        let Some(now) = tax.and_then(|tax| tax.table.on(day).ok()) else { continue };
        if now.rate().decimal() != line.tax_rate.0 {
            let detail = format!(
                "The tax rate was {} % on {}, and deposit invoice {} states {} %. Credit that invoice and ask for the \
                 deposit again, so that its tax is right.",
                now.rate().decimal().normalize(),
                day_in_words(day),
                deposit.number.as_deref().unwrap_or_default(),
                line.tax_rate.0.normalize()
            );
            tx.warn("deposit-rate-moved", "/received_on", detail);
            return Ok(());
        }
    }
    Ok(())
}

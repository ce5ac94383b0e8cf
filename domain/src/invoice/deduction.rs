//! Deduction of deposits from the final invoice: it shows the whole work, and then one negative line for each deposit
//! and tax.
//!
//! Source: Council Directive 2006/112/EC, article 203: whoever states tax on an invoice owes it, so no tax may be
//! stated on both the deposit invoice and the final one. Article 226, points 8 to 10: taxable amount and tax for each
//! rate. EN 16931-1: the deposit invoice is a preceding invoice (BG-3), and BT-114 contains the difference that
//! rounding leaves.

use alloc::vec::Vec;

use super::agreed::settled;
use super::{BadCredit, Credit, Left};
use crate::document::{BadDocument, CategoryTotal, Document, Line, Prices, Totals};
use crate::money::Money;
use crate::refusal::{Fault, Kind, Refusal};
use crate::tax::Treatment;

/// Rest of a deposit invoice that can be deducted, tax by tax.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Advance {
    rows: Vec<AdvanceRow>,
}

/// One tax of a deposit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct AdvanceRow {
    treatment: Treatment,
    /// Amount with tax, to the cent that the customer paid.
    gross: Money,
    /// Taxable amount that its invoice states, less credited amounts.
    taxable: Money,
}

/// A final invoice with its deposits deducted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Deducted {
    /// The whole work, followed by the negative lines.
    pub document: Document,
    /// Its totals, whose tax is only what the deposit invoices did not state.
    pub totals: Totals,
    /// The negative lines, in order.
    pub lines: Vec<DeductedLine>,
}

/// A negative line of a final invoice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DeductedLine {
    /// The line's position in the final invoice, from 0.
    pub line: usize,
    /// The deposit's position among those deducted, from 0.
    pub deposit: usize,
}

/// Reason why a deposit can't be deducted.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadDeduction {
    /// The document has prices without tax, so it is not a deposit invoice.
    #[error("only a deposit invoice can be deducted")]
    NoDeposit,
    /// The total of the work is less than the deposits, for example because work was removed.
    #[error("the deposits come to more than the work: credit the excess on a deposit invoice first")]
    MoreThanTheWhole,
    /// The credited amounts do not fit the deposit.
    #[error(transparent)]
    Credit(#[from] BadCredit),
    /// The totals of the final invoice can't be computed.
    #[error(transparent)]
    Document(#[from] BadDocument),
}

impl Refusal for BadDeduction {
    fn kind(&self) -> Kind {
        match self {
            Self::NoDeposit | Self::Document(_) => Kind::Invalid,
            Self::MoreThanTheWhole => Kind::Conflict,
            Self::Credit(bad) => bad.kind(),
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::NoDeposit => "not-a-deposit",
            Self::MoreThanTheWhole => "deposit-exceeds-invoice",
            Self::Credit(bad) => bad.code(),
            Self::Document(bad) => bad.code(),
        }
    }

    fn faults(&self) -> Vec<Fault> {
        match self {
            Self::Document(bad) => bad.faults(),
            Self::Credit(bad) => bad.faults(),
            Self::NoDeposit | Self::MoreThanTheWhole => Vec::new(),
        }
    }
}

impl Advance {
    /// The rest of a deposit invoice that can be deducted after these credit notes on it.
    ///
    /// # Errors
    /// [`BadDeduction::NoDeposit`] if the document's prices are without tax.
    pub fn of(deposit: &Document, credits: &[Credit]) -> Result<Self, BadDeduction> {
        if deposit.prices != Prices::Gross {
            return Err(BadDeduction::NoDeposit);
        }
        let totals = deposit.totals()?;
        let mut left = Left::of(deposit)?;
        for credit in credits {
            left = left.less(&credit.lines, credit.totals.payable);
        }
        let credited: Vec<&Totals> = credits.iter().map(|credit| &credit.totals).collect();
        let rows = taxes_left(&totals, &credited);
        let rows = rows.iter().map(|row| {
            let lines = deposit.lines.iter().zip(&left.lines).filter(|(line, _)| line.treatment == row.treatment);
            let gross = lines.map(|(_, amount)| *amount).sum();
            AdvanceRow { treatment: row.treatment, gross, taxable: row.taxable }
        });
        Ok(Self { rows: rows.collect() })
    }

    /// Amount with tax by which the deduction lowers what the customer pays.
    pub fn gross(&self) -> Money {
        self.rows.iter().map(|row| row.gross).sum()
    }
}

/// A tax breakdown minus those of the documents that credit some of it.
fn taxes_left(whole: &Totals, taken: &[&Totals]) -> Vec<CategoryTotal> {
    let mut left = whole.taxes.clone();
    for row in taken.iter().flat_map(|totals| &totals.taxes) {
        match left.iter_mut().find(|l| l.treatment == row.treatment) {
            Some(same) => {
                same.taxable = same.taxable - row.taxable;
                same.tax = same.tax - row.tax;
            }
            None => left.push(CategoryTotal { taxable: -row.taxable, tax: -row.tax, ..*row }),
        }
    }
    left
}

/// Deducts deposits from the document of the whole work. The payable amount is the whole less the deposits to the cent,
/// as both were promised: the rounding amount (BT-114) contains the few minor units by which the rounded taxes differ
/// from that.
///
/// A deposit keeps the rate of its own tax point. If the rate has changed since, its negative line has the old rate and
/// the whole has the new one, so that in the end all of the work is taxed at the rate of its supply.
///
/// # Errors
/// [`BadDeduction::MoreThanTheWhole`] if the deposits are more than the work.
pub fn deduct(whole: &Document, deposits: &[Advance]) -> Result<Deducted, BadDeduction> {
    let mut document = settled(whole)?;
    let promised = document.totals()?.promised();
    let mut lines = Vec::new();
    let rows = deposits.iter().enumerate().flat_map(|(at, deposit)| deposit.rows.iter().map(move |row| (at, row)));
    for (at, row) in rows {
        let amount = match document.prices {
            Prices::Gross => row.gross,
            Prices::Net => row.taxable,
        };
        if amount.is_zero() {
            continue;
        }
        lines.push(DeductedLine { line: document.lines.len(), deposit: at });
        document.lines.push(Line::of_amount(-amount, document.currency, row.treatment));
    }
    let left = promised - deposits.iter().map(Advance::gross).sum::<Money>();
    if left.is_negative() {
        return Err(BadDeduction::MoreThanTheWhole);
    }
    let missing = left - document.totals()?.promised();
    document.rounding += missing;
    let totals = document.totals()?;
    Ok(Deducted { document, totals, lines })
}

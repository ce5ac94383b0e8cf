//! Taxing a document at the rates of its tax point: the rate at the time of the supply may differ from the quoted one.

use alloc::vec::Vec;

use chrono::NaiveDate;

use super::agreed::settled;
use crate::document::{Adjustment, BadDocument, Document, Totals};
use crate::money::split::split_by_shares;
use crate::money::{Money, NotMoney};
use crate::refusal::{Fault, Kind, Refusal};
use crate::tax::{NoRate, RateTable, Treatment};

/// A document taxed at the rates of its tax point.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Retaxed {
    /// The document with the rates in force; its prices are unchanged.
    pub document: Document,
    /// Its sums.
    pub totals: Totals,
    /// Lines whose rate changed, in order; empty if none did.
    pub moved: Vec<MovedRate>,
}

/// A line whose rate changed between quote and tax point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MovedRate {
    /// The line's position, from 0.
    pub line: usize,
    /// Category and rate before.
    pub from: Treatment,
    /// Category and rate on the tax point.
    pub to: Treatment,
}

/// Reason why a document can't be taxed at the rates of its tax point.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadRetax {
    /// No rate is in force on the tax point.
    #[error(transparent)]
    Rate(#[from] NoRate),
    /// The number of tables differs from the number of lines.
    #[error("each line needs one tax: choose a tax for every line")]
    Tables,
    /// An allowance or charge of the whole document has a tax that no line has, so its new rate is unknown.
    #[error("the {0} of the whole document has a tax that no line has: write it as a line instead")]
    NoLine(&'static str),
    /// The totals of the document can't be computed.
    #[error(transparent)]
    Document(#[from] BadDocument),
    /// An amount beyond what a document may hold.
    #[error(transparent)]
    Amount(#[from] NotMoney),
}

impl Refusal for BadRetax {
    fn kind(&self) -> Kind {
        match self {
            Self::Rate(rate) => rate.kind(),
            _ => Kind::Invalid,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::Rate(rate) => rate.code(),
            Self::Tables | Self::NoLine(_) => "tax-of-line",
            Self::Document(bad) => bad.code(),
            Self::Amount(bad) => bad.code(),
        }
    }

    fn faults(&self) -> Vec<Fault> {
        match self {
            Self::Document(bad) => bad.faults(),
            _ => Vec::new(),
        }
    }
}

/// Looks up the rate of each line on the tax point; `tables` holds the tax of each line, in the order of the lines.
///
/// Prices stay as they are (RULES: tax): to prices without tax the new tax is added, prices with tax stay the same and
/// the tax in them changes. Discounts of the whole document become the amounts that they were worth, so that they stay
/// what was signed. An allowance or charge gets the rate of the lines of its treatment; if these have different rates
/// now, it is distributed over them in proportion to their amounts, by largest remainder.
///
/// # Errors
/// [`BadRetax`] says what is missing.
pub fn retaxed(document: &Document, tables: &[&RateTable], tax_point: NaiveDate) -> Result<Retaxed, BadRetax> {
    if tables.len() != document.lines.len() {
        return Err(BadRetax::Tables);
    }
    let mut taxed = settled(document)?;
    let before = taxed.totals()?;
    let mut moved = Vec::new();
    for (at, (line, table)) in taxed.lines.iter_mut().zip(tables).enumerate() {
        let to = table.on(tax_point)?;
        if to != line.treatment {
            moved.push(MovedRate { line: at, from: line.treatment, to });
            line.treatment = to;
        }
    }
    if !moved.is_empty() {
        // Each line's old treatment, its new one, and its amount.
        let lines = document.lines.iter().zip(&taxed.lines).zip(&before.lines);
        let ways: Vec<Way> = lines.map(|((old, new), total)| (old.treatment, new.treatment, total.entered)).collect();
        taxed.allowances = followed(&taxed.allowances, &ways, "allowance")?;
        taxed.charges = followed(&taxed.charges, &ways, "charge")?;
    }
    let totals = taxed.totals()?;
    Ok(Retaxed { document: taxed, totals, moved })
}

/// Old treatment, new treatment and amount of a line.
type Way = (Treatment, Treatment, Money);

/// Gives each allowance or charge the treatments that the lines of its old treatment have now.
fn followed(adjustments: &[Adjustment], ways: &[Way], what: &'static str) -> Result<Vec<Adjustment>, BadRetax> {
    let mut all = Vec::new();
    for adjustment in adjustments {
        let mut groups: Vec<(Treatment, Money)> = Vec::new();
        for &(_, to, amount) in ways.iter().filter(|(from, ..)| *from == adjustment.treatment) {
            match groups.iter_mut().find(|(treatment, _)| *treatment == to) {
                Some((_, sum)) => *sum += amount,
                None => groups.push((to, amount)),
            }
        }
        match groups.as_slice() {
            // A category without a rate never changes.
            [] if !adjustment.treatment.category().is_taxed() => all.push(adjustment.clone()),
            [] => return Err(BadRetax::NoLine(what)),
            &[(treatment, _)] => all.push(Adjustment { treatment, ..adjustment.clone() }),
            several => all.extend(parted(adjustment, several)?),
        }
    }
    Ok(all)
}

/// Distributes an allowance or charge over several treatments in proportion to the size of their amounts.
fn parted(adjustment: &Adjustment, groups: &[(Treatment, Money)]) -> Result<Vec<Adjustment>, NotMoney> {
    let wide = |m: Money| i128::from(m.minor());
    let mut weights: Vec<i128> = groups.iter().map(|&(_, sum)| wide(sum.abs())).collect();
    if weights.iter().all(|weight| *weight == 0) {
        weights.fill(1);
    }
    let whole: i128 = weights.iter().sum();
    let shares: Vec<i128> = weights.iter().map(|weight| weight * wide(adjustment.amount)).collect();
    let parts = split_by_shares(adjustment.amount, &shares, whole)?;
    let parts = groups.iter().zip(parts).filter(|(_, amount)| !amount.is_zero());
    Ok(parts.map(|(&(treatment, _), amount)| Adjustment { amount, treatment, ..adjustment.clone() }).collect())
}

//! Credit notes: they mirror an invoice line by line, and never credit more than the rest of it.
//!
//! Source: EN 16931-1, type code 381, BG-3 (the invoice that is credited); RULES: tax.

use alloc::vec::Vec;

use crate::document::{BadDocument, Document, Line, Totals};
use crate::money::split::split_by_shares;
use crate::money::{Money, NotMoney};
use crate::refusal::{Fault, Kind, Refusal};
use crate::tax::Basis;

/// Amounts of an invoice that are left to credit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Left {
    /// For each line, in the invoice's prices, after its share of allowances, charges and discounts on the whole document.
    pub lines: Vec<Money>,
    /// For the whole invoice, with tax and rounding.
    pub whole: Money,
}

/// The part of a line that is credited.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CreditLine {
    /// The line's position in the invoice, from 0.
    pub line: usize,
    /// Amount in the invoice's prices; `None` credits all that is left.
    pub amount: Option<Money>,
}

/// A credit note and the amounts that are left after it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Credit {
    /// The credit note's document; its amounts are what is given back.
    pub document: Document,
    /// Its sums.
    pub totals: Totals,
    /// How much of each line it credits: positions of the invoice and amounts in its prices.
    pub lines: Vec<(usize, Money)>,
    /// The amounts that can still be credited after it.
    pub left: Left,
}

/// Reason why a credit note is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadCredit {
    /// The invoice has no such line.
    #[error("the invoice has no line {}", .0 + 1)]
    NoSuchLine(usize),
    /// A line named twice.
    #[error("line {} is named twice; name it once with the whole amount", .0 + 1)]
    Twice(usize),
    /// More than is left of a line, or of the wrong sign.
    #[error("less than that is left to credit on line {}: credit at most what is left", .0 + 1)]
    TooMuch(usize),
    /// More than the rest of the whole invoice: its negative lines reduce that rest.
    #[error("less than that is left to credit of the whole invoice: credit its negative lines together with these")]
    TooMuchOfAll,
    /// A part of the invoice, although only all of it can be credited: a tax treatment has allowances or charges of the whole
    /// document and no line.
    #[error("this invoice can only be credited as a whole")]
    OnlyWhole,
    /// Nothing is credited.
    #[error("choose at least one line with something left to credit")]
    Nothing,
    /// The lines that are credited come to less than nothing.
    #[error("these lines come to less than zero: credit them together with others")]
    Negative,
    /// The credit note can't be summed up.
    #[error(transparent)]
    Document(#[from] BadDocument),
    /// An amount beyond what a document may hold.
    #[error(transparent)]
    Amount(#[from] NotMoney),
}

impl Refusal for BadCredit {
    fn kind(&self) -> Kind {
        match self {
            Self::TooMuch(_) | Self::TooMuchOfAll => Kind::Conflict,
            _ => Kind::Invalid,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::NoSuchLine(_) | Self::Twice(_) => "credit-line",
            Self::TooMuch(_) | Self::TooMuchOfAll => "credit-exceeds-invoice",
            Self::OnlyWhole => "credit-only-whole",
            Self::Nothing => "credit-nothing",
            Self::Negative => "credit-negative",
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

impl Left {
    /// The amounts that can be credited of an invoice without credit notes: all of it. Allowances, charges and
    /// discounts of the whole document are distributed over the lines of their treatment that are above zero, by
    /// largest remainder: a deposit that was deducted, or a line that was given back, keeps its amount.
    ///
    /// # Errors
    /// [`BadCredit::Document`] if the invoice can't be summed up.
    pub fn of(invoice: &Document) -> Result<Self, BadCredit> {
        Ok(shared(invoice, &invoice.totals()?)?.0)
    }

    /// The rest after an earlier credit note of these lines with the total `payable`.
    pub fn less(mut self, credited: &[(usize, Money)], payable: Money) -> Self {
        for &(at, amount) in credited {
            if let Some(line) = self.lines.get_mut(at) {
                *line = *line - amount;
            }
        }
        self.whole = self.whole - payable;
        self
    }

    /// Whether no line has anything left to credit.
    pub fn is_used_up(&self) -> bool {
        self.lines.iter().all(|line| line.is_zero())
    }
}

/// Splits the allowances, charges and discounts on the whole document over the lines; the second value tells whether every one
/// of them found a line.
fn shared(invoice: &Document, totals: &Totals) -> Result<(Left, bool), BadCredit> {
    let mut complete = true;
    let mut lines: Vec<Money> = totals.lines.iter().map(|l| l.entered).collect();
    for row in &totals.taxes {
        let of_it = |t| t == row.treatment;
        let all: Vec<usize> = (0..lines.len()).filter(|&at| of_it(invoice.lines[at].treatment)).collect();
        let sold: Vec<usize> = all.iter().copied().filter(|&at| lines[at] > Money::ZERO).collect();
        let own = if sold.is_empty() { all } else { sold };
        let taken = totals.allowance_items.iter().filter(|a| of_it(a.treatment)).map(|a| -a.amount);
        let put = invoice.charges.iter().filter(|c| of_it(c.treatment)).map(|c| c.amount);
        let change: Money = taken.chain(put).sum();
        let sum: Money = own.iter().map(|&at| lines[at]).sum();
        if change.is_zero() || sum.is_zero() {
            complete &= change.is_zero();
            continue;
        }
        let wide = |m: Money| i128::from(m.minor());
        let after = sum + change;
        let shares: Vec<i128> = own.iter().map(|&at| wide(lines[at]) * wide(after)).collect();
        for (at, share) in own.into_iter().zip(split_by_shares(after, &shares, wide(sum))?) {
            lines[at] = share;
        }
    }
    Ok((Left { lines, whole: totals.promised() }, complete))
}

/// An invoice of the remaining lines, without the invoice's own rounding; it has no lines if they are used up.
pub(super) fn remaining(invoice: &Document, left: &Left) -> Document {
    let open = left.lines.iter().zip(&invoice.lines).filter(|(amount, _)| !amount.is_zero());
    let lines = open.map(|(&amount, line)| Line::of_amount(amount, invoice.currency, line.treatment)).collect();
    Document::new(invoice.currency, invoice.prices, invoice.profile, lines)
}

/// Amount still owed of the invoice: the total of an invoice of the remaining lines.
fn kept(invoice: &Document, rest: &Left) -> Result<Money, BadCredit> {
    if rest.is_used_up() {
        return Ok(Money::ZERO);
    }
    let worth = remaining(invoice, rest).totals()?.promised();
    if worth.is_negative() { Err(BadCredit::TooMuchOfAll) } else { Ok((worth + invoice.rounding).max(Money::ZERO)) }
}

/// Maximum difference that rounding can make to a credit note, in minor units: tax is rounded in the invoice, in the
/// credit note and in the rest before and after it, each time by at most one unit for each amount that is rounded. The
/// invoice's own rounding is credited with the last credit note.
fn most_rounding(invoice: &Document, totals: &Totals) -> u64 {
    let rounded = match invoice.profile.basis {
        Basis::Category => totals.taxes.len(),
        Basis::Line => totals.lines.len() + totals.allowance_items.len() + invoice.charges.len(),
    };
    let rounded = u64::try_from(rounded).unwrap_or(u64::MAX);
    rounded.saturating_mul(4).saturating_add(invoice.rounding.minor().unsigned_abs())
}

/// Writes the credit note of these lines of an invoice, of which `left` is not credited yet.
///
/// Its prices are net or gross like those of the invoice, and a line that is credited as a whole is the invoice's own
/// line. The rest after it is exactly the total of an invoice of the remaining lines: the rounding amount of the credit
/// note (BT-114) corrects only the separate roundings of tax. So an invoice and all its credit notes sum to zero. If
/// all of an invoice is credited at once, the credit note is its mirror: the same lines, allowances, charges and
/// discounts.
///
/// # Errors
/// [`BadCredit`] names the line and what is wrong with it.
pub fn credit_note(invoice: &Document, left: &Left, wanted: &[CreditLine]) -> Result<Credit, BadCredit> {
    let of_invoice = invoice.totals()?;
    let mut named: Vec<usize> = Vec::new();
    let mut credited: Vec<(usize, Money)> = Vec::new();
    let mut lines = Vec::new();
    for &CreditLine { line: at, amount } in wanted {
        let (Some(&open), Some(line), Some(total)) =
            (left.lines.get(at), invoice.lines.get(at), of_invoice.lines.get(at))
        else {
            return Err(BadCredit::NoSuchLine(at));
        };
        if named.contains(&at) {
            return Err(BadCredit::Twice(at));
        }
        named.push(at);
        let amount = amount.unwrap_or(open);
        let same_way = amount.is_zero() || amount.is_negative() == open.is_negative();
        if !same_way || amount.minor().unsigned_abs() > open.minor().unsigned_abs() {
            return Err(BadCredit::TooMuch(at));
        }
        if !amount.is_zero() {
            lines.push(if amount == total.entered {
                line.clone()
            } else {
                Line::of_amount(amount, invoice.currency, line.treatment)
            });
            credited.push((at, amount));
        }
    }
    if credited.is_empty() {
        return Err(BadCredit::Nothing);
    }
    let (full, complete) = shared(invoice, &of_invoice)?;
    let rest = left.clone().less(&credited, Money::ZERO);
    if *left == full && rest.is_used_up() {
        let document = Document { prepaid: Money::ZERO, ..invoice.clone() };
        let totals = document.totals()?;
        return Ok(Credit { document, totals, lines: credited, left: Left { whole: Money::ZERO, ..rest } });
    }
    if !complete {
        return Err(BadCredit::OnlyWhole);
    }
    let mut document = Document::new(invoice.currency, invoice.prices, invoice.profile, lines);
    let promised = document.totals()?.promised();
    if promised.is_negative() {
        return Err(BadCredit::Negative);
    }
    let payable = (left.whole - kept(invoice, &rest)?).max(Money::ZERO);
    document.rounding = payable - promised;
    if document.rounding.minor().unsigned_abs() > most_rounding(invoice, &of_invoice) {
        return Err(BadCredit::TooMuchOfAll);
    }
    let totals = document.totals()?;
    let left = Left { whole: left.whole - payable, ..rest };
    Ok(Credit { document, totals, lines: credited, left })
}

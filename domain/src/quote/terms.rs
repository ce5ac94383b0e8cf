//! Totals of a choice of lines: the document that is signed, and the deposit on it.

use alloc::vec::Vec;

use crate::document::{Discount, DiscountSize, Document, Line as DocumentLine, Prices, Totals};
use crate::invoice::{BadDeposit, DepositSize, deposit};
use crate::money::{Currency, Money};
use crate::pricing::Line;
use crate::tax::{Profile, Treatment};

/// Terms that apply to all lines of a revision.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Terms {
    /// The currency of every amount.
    pub currency: Currency,
    /// Whether prices are without tax or with it.
    pub prices: Prices,
    /// Rounding of tax.
    pub profile: Profile,
    /// Discounts on the chosen lines, whichever those are.
    pub discounts: Vec<Discount>,
    /// The deposit that is asked for, if any.
    pub deposit: Option<DepositSize>,
}

/// Totals of a choice of lines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sum {
    /// The document of the lines taken, in their order.
    pub document: Document,
    /// Totals of the document.
    pub totals: Totals,
    /// The deposit, with tax; `None` if none is requested or nothing is to be paid.
    pub deposit: Option<Money>,
}

impl Terms {
    /// Computes the totals of the lines at the given indexes, each with its tax. An index of no line is skipped:
    /// [`select`](super::select) has refused it before.
    ///
    /// # Errors
    /// [`BadDeposit`] if the totals can't be computed. A deposit of a fixed amount never exceeds the total: if fewer
    /// lines are taken, the total is the deposit.
    pub fn sum(&self, lines: &[(Line, Treatment)], taken: &[usize]) -> Result<Sum, BadDeposit> {
        let chosen = taken.iter().filter_map(|at| lines.get(*at));
        let chosen = chosen.map(|(line, treatment)| self.line(line, *treatment)).collect();
        let mut document = Document::new(self.currency, self.prices, self.profile, chosen);
        document.discounts.clone_from(&self.discounts);
        let totals = document.totals()?;
        let deposit = self.deposit_on(&totals)?;
        Ok(Sum { document, totals, deposit })
    }

    fn line(&self, line: &Line, treatment: Treatment) -> DocumentLine {
        let mut made = DocumentLine::new(line.quantity, line.unit_price.major(self.currency), treatment);
        made.discount = line
            .discount_reason
            .as_ref()
            .map(|reason| Discount { size: DiscountSize::Amount(line.discount), reason: reason.clone() });
        made
    }

    fn deposit_on(&self, totals: &Totals) -> Result<Option<Money>, BadDeposit> {
        let whole = totals.promised();
        let size = match self.deposit {
            Some(DepositSize::Amount(amount)) => DepositSize::Amount(amount.min(whole)),
            Some(percent @ DepositSize::Percent(_)) => percent,
            None => return Ok(None),
        };
        if whole <= Money::ZERO {
            return Ok(None);
        }
        match deposit(totals, size, self.currency, self.profile) {
            Ok(document) => Ok(Some(document.totals()?.payable)),
            // A small percentage of very little is zero.
            Err(BadDeposit::Size) => Ok(None),
            Err(other) => Err(other),
        }
    }
}

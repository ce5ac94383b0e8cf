//! Deposits: an invoice of their own, with tax (EN 16931-1, type code 386).
//!
//! Source: Council Directive 2006/112/EC, articles 65 and 220(1), points 4 and 5: tax on a payment before the supply is
//! due when the payment is received, and an invoice must be issued for it.

use alloc::vec::Vec;

use crate::document::{BadDocument, CategoryTotal, Document, Line, Prices, Totals};
use crate::money::split::split_by_shares;
use crate::money::{Currency, Money, NotMoney, Percent, Rounding};
use crate::refusal::{Fault, Kind, Refusal};
use crate::tax::Profile;
use crate::word::words;

words! {
    /// Time at which the agreed deposit of a quote is asked for.
    pub enum DepositAsked("time to ask for a deposit") {
        /// Only when somebody in the studio asks for it.
        ByHand = "BY_HAND" "by hand",
        /// As soon as the customer has signed the quote.
        AtSigning = "AT_SIGNING" "at signing",
        /// As soon as a time for the work is booked.
        AtBooking = "AT_BOOKING" "at booking",
    }
}

/// Size of a deposit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DepositSize {
    /// An amount, with tax.
    Amount(Money),
    /// A percentage of the whole, with tax.
    Percent(Percent),
}

/// Reason why a deposit can't be asked for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadDeposit {
    /// Nothing, or more than the whole.
    #[error("a deposit must be more than zero and at most the whole price")]
    Size,
    /// The deposit's own document can't be summed up.
    #[error(transparent)]
    Document(#[from] BadDocument),
    /// An amount beyond what a document may hold.
    #[error(transparent)]
    Amount(#[from] NotMoney),
}

impl Refusal for BadDeposit {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        match self {
            Self::Size => "deposit-size",
            Self::Document(bad) => bad.code(),
            Self::Amount(bad) => bad.code(),
        }
    }

    fn faults(&self) -> Vec<Fault> {
        match self {
            Self::Document(bad) => bad.faults(),
            Self::Size | Self::Amount(_) => Vec::new(),
        }
    }
}

/// The document of a deposit on the work of `totals`. It has gross prices and one line for each tax treatment, in proportion
/// to the gross of that treatment, so that the deposit is taxed at the rates of the work. Its total is exactly the deposit.
///
/// # Errors
/// [`BadDeposit::Size`] if the deposit is zero, negative or more than the whole.
pub fn deposit(
    totals: &Totals,
    size: DepositSize,
    currency: Currency,
    profile: Profile,
) -> Result<Document, BadDeposit> {
    let whole = totals.promised();
    let amount = match size {
        DepositSize::Amount(amount) => amount,
        DepositSize::Percent(percent) => percent.of(whole, Rounding::HalfAwayFromZero)?,
    };
    if amount <= Money::ZERO || amount > whole || totals.gross <= Money::ZERO {
        return Err(BadDeposit::Size);
    }
    let gross = |row: &CategoryTotal| i128::from((row.taxable + row.tax).minor());
    let shares: Vec<i128> = totals.taxes.iter().map(|row| gross(row) * i128::from(amount.minor())).collect();
    let parts = split_by_shares(amount, &shares, i128::from(totals.gross.minor()))?;
    let lines = totals.taxes.iter().zip(parts).filter(|(_, part)| !part.is_zero());
    let lines = lines.map(|(row, part)| Line::of_amount(part, currency, row.treatment));
    Ok(Document::new(currency, Prices::Gross, profile, lines.collect()))
}

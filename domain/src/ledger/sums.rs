//! Totals of a ledger, and the equation between them.

use core::iter::Sum;
use core::ops::Add;

use crate::money::Money;

/// Totals of a customer's ledger, or of several ledgers together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Sums {
    /// All issued invoices.
    pub invoiced: Money,
    /// All credit notes.
    pub credited: Money,
    /// All payments received, without those that were undone.
    pub paid: Money,
    /// All refunds.
    pub refunded: Money,
    /// Unpaid amounts of invoices.
    pub open: Money,
    /// Written-off amounts; the customer owes them nevertheless.
    pub written_off: Money,
    /// Payments that no invoice uses.
    pub unused: Money,
}

impl Sums {
    /// Balance that the customer owes; below zero is what the shop owes them.
    pub fn owed(self) -> Money {
        self.open + self.written_off - self.unused
    }

    /// Whether the equation is true: invoices − credits = payments − refunds + the amount owed.
    pub fn hold(self) -> bool {
        self.invoiced - self.credited == self.paid - self.refunded + self.owed()
    }
}

impl Add for Sums {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            invoiced: self.invoiced + other.invoiced,
            credited: self.credited + other.credited,
            paid: self.paid + other.paid,
            refunded: self.refunded + other.refunded,
            open: self.open + other.open,
            written_off: self.written_off + other.written_off,
            unused: self.unused + other.unused,
        }
    }
}

impl Sum for Sums {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::default(), Add::add)
    }
}

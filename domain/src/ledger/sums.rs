//! Sums of a ledger, and the law that they keep.

use core::iter::Sum;
use core::ops::Add;

use crate::money::Money;

/// What a customer's ledger comes to, or several ledgers together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Sums {
    /// All issued invoices.
    pub invoiced: Money,
    /// All credit notes.
    pub credited: Money,
    /// All money that came in, without payments that were undone.
    pub paid: Money,
    /// All money that was given back.
    pub refunded: Money,
    /// What is open on invoices.
    pub open: Money,
    /// What is given up; the customer owes it nevertheless.
    pub written_off: Money,
    /// What the customer paid and no invoice uses.
    pub unused: Money,
}

impl Sums {
    /// What the customer owes on balance; below zero is what the shop owes them.
    pub fn owed(self) -> Money {
        self.open + self.written_off - self.unused
    }

    /// Whether the law holds: invoices − credits = payments − refunds + what is owed.
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

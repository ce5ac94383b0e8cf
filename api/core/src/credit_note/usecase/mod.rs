//! Use cases of credit notes.

mod create;
mod send;

use baywright_domain::money::Money;

pub use create::{Corrected, NewCredit, correct, create, creditable};
pub use send::send;

/// A line of an invoice with what is left of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Creditable {
    /// Its position in the invoice, from 0.
    pub line: usize,
    /// Its name.
    pub name: String,
    /// Its amount in the invoice's prices.
    pub amount: Money,
    /// What is left to credit of it, after its share of discounts and charges on the whole invoice.
    pub left: Money,
}

//! Values as kept documents hold them.
//!
//! What was written once, in a sealed document or a text of the database, must be read for ever: these types hold a value
//! to no rule that could become stricter later. Whatever somebody sends is read by the types of [`super::wire`] instead,
//! which do hold it to the rules of today. Both are written alike.

mod amount;
#[cfg(test)]
pub(crate) mod golden;
mod number;
mod size;
mod time;
mod word;

pub use amount::{Amount, said, said_less};
pub use number::Number;
pub use size::{AmountOrPercent, as_fields};
pub use time::{Day, Moment};
pub use word::{Named, Word};

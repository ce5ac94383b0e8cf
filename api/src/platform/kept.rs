//! Values as kept documents hold them.
//!
//! What was written once, in a sealed document or a text of the database, must be read for ever: these types hold a value
//! to no rule that could become stricter later. Whatever somebody sends is read by the types of `http/wire.rs` instead,
//! which do hold it to the rules of today. Both are written alike.

mod amount;
mod number;
mod time;
mod word;

pub use amount::{Amount, said, said_less};
pub use number::Number;
pub use time::{Day, Moment};
pub use word::{Named, Word};

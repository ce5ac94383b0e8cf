//! Values in stored documents.
//!
//! **Stored documents are read by types of their own.** A document that was written once, sealed or as a text of the
//! database, must be readable for as long as the studio keeps it. So the types of a feature's documents, in its `kept`
//! module, are made of these values, which check no rule that could become stricter later. Requests and answers have
//! other types, beside the feature's handlers and made of the values of `api/http/src/platform/wire.rs`, which check
//! today's rules and describe themselves. Both write a value in the same way.
//!
//! `tests/data/kept/` has a document of every form that was ever written. The tests beside the kept types read them, and no
//! file there is ever changed.

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

//! What is done to quotes.

mod signed;

pub use signed::{SignedLine, SignedQuote};

//! Setting up: founding a shop with its owner, the first one over HTTP with the code that the program printed. The route
//! stands with those of [`crate::access`], since it signs the owner in.

mod store;
pub mod usecase;

//! Setting up: creating a shop with its owner, the first one over HTTP with the code that the program printed. The
//! route is with those of [`crate::access`], since it signs the owner in.

mod store;
pub mod usecase;

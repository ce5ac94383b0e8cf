//! Agreements: everything that is agreed on a quote, which is its signed revision and the signed variations of it.
//!
//! Plans, bookings, jobs and invoices depend on it, so variations are stored here, below all of them. Use cases of a
//! variation need to know the work under way, so they are above those features, in [`crate::variation`].

pub mod kept;
mod store;
pub mod usecase;

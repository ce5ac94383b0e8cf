//! Agreements: what is agreed on a quote in all, the signed revision and the variations of it that were signed.
//!
//! Plans, bookings, jobs and invoices go by it, so variations are kept here, below all of them. What is done with a
//! variation needs to know the work under way, and so stands above them, in [`crate::variation`].

pub mod kept;
mod store;
pub mod usecase;

//! The customer's answer: a yes or a no to a quote or a variation, and what follows from it for booking and job.
//!
//! What was offered and how a yes is sealed is up to [`crate::quote`] and [`crate::variation`]; this feature stands above
//! those and the work. Its routes are the customer's pages in [`crate::signoff`], and the desk's notes in
//! [`crate::quote`].

pub mod usecase;

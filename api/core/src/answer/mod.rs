//! The customer's answer: accepting or declining a quote or a variation, with the consequences for booking and job.
//!
//! [`crate::quote`] and [`crate::variation`] decide what is offered and how an acceptance is sealed; this feature is
//! above those and the work. Its routes are the customer's pages in [`crate::signoff`], and the desk's notes in
//! [`crate::quote`].

pub mod usecase;

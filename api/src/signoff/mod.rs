//! Sign-offs: the customer's yes to a quote or a variation, sealed, and the links by which they give it.
//!
//! What was shown is a document in canonical JSON (RFC 8785) with its digest; the evidence of the yes is a second one,
//! which names the first by its digest. Neither ever changes: triggers on both engines see to that, and
//! [`usecase::verify_seals`] recomputes every digest.

mod pages;
mod store;
pub mod usecase;

pub use pages::routes;

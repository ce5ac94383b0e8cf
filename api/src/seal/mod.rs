//! Seals: what was sent, signed and issued is sealed by the digest of its document, and here every digest is made
//! again.
//!
//! Each feature seals what is its own; this one stands above them all and reads what they sealed. It has no routes:
//! `baywright verify` asks it.

pub mod usecase;

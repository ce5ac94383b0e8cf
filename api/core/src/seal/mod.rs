//! Seals: sent, signed and issued documents are sealed by their digests, and every digest is recomputed here.
//!
//! Each feature seals its own documents; this one is above them all and reads them. It has no routes: `baywright
//! verify` calls it.

pub mod usecase;

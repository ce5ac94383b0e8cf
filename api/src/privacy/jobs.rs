//! What is forgotten by the clock.

use super::usecase;
use crate::clockwork::Job;

/// Drops digests of customers who were erased long ago.
pub const FORGET: Job = Job { name: "privacy.forget-erased", every_minutes: 24 * 60, run: usecase::forget_old };

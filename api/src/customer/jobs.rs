//! What happens to customers by the clock.

use super::usecase;
use crate::clockwork::Job;

/// Drops digests of customers who were erased long ago. The name is from when another feature kept them: it stays, because
/// it is in the database.
pub const FORGET_ERASED: Job =
    Job { name: "privacy.forget-erased", every_minutes: 24 * 60, run: usecase::forget_erased };

/// Indexes customers again whose words were made by other rules.
pub const INDEX_ANEW: Job = Job { name: "customer.index-anew", every_minutes: 1, run: usecase::index_anew };

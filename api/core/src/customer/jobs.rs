//! Scheduled jobs of customers.

use super::usecase;
use crate::clockwork::Job;

/// Deletes digests of customers who were erased long ago. The job's name is from when another feature stored them: it
/// stays, because the database stores it.
pub const FORGET_ERASED: Job =
    Job { name: "privacy.forget-erased", every_minutes: 24 * 60, run: usecase::forget_erased };

/// Indexes customers again whose search words were made by other rules.
pub const INDEX_ANEW: Job = Job { name: "customer.index-anew", every_minutes: 1, run: usecase::index_anew };

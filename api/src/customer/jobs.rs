//! What happens to customers by the clock.

use super::usecase;
use crate::clockwork::Job;

/// Indexes customers anew whose words were made by other rules.
pub const INDEX_ANEW: Job = Job { name: "customer.index-anew", every_minutes: 1, run: usecase::index_anew };

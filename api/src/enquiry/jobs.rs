//! What happens to callers by the clock.

use super::usecase;
use crate::clockwork::Job;

/// Indexes callers again whose words were made by other rules.
pub const INDEX_ANEW: Job = Job { name: "enquiry.index-anew", every_minutes: 1, run: usecase::index_anew };

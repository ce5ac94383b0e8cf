//! Scheduled jobs of enquiries.

use super::usecase;
use crate::clockwork::Job;

/// Indexes callers again whose search words were made by other rules.
pub const INDEX_ANEW: Job = Job { name: "enquiry.index-anew", every_minutes: 1, run: usecase::index_anew };

//! Scheduled jobs of vehicles.

use super::usecase;
use crate::clockwork::Job;

/// Indexes vehicles again whose search words were made by other rules.
pub const INDEX_ANEW: Job = Job { name: "vehicle.index-anew", every_minutes: 1, run: usecase::index_anew };

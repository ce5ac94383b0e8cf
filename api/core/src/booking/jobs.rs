//! Scheduled jobs of bookings.

use super::usecase;
use crate::clockwork::Job;

/// Marks holds that have run out.
pub const LAPSE: Job = Job { name: "booking.lapse", every_minutes: 1, run: usecase::end_lapsed };

//! What happens to bookings by the clock.

use super::usecase;
use crate::clockwork::Job;

/// Writes down holds that have run out.
pub const LAPSE: Job = Job { name: "booking.lapse", every_minutes: 1, run: usecase::end_lapsed };

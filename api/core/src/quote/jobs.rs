//! What happens to quotes by the clock.

use super::usecase::lapse_due;
use crate::clockwork::Job;

/// Writes down that a quote which nobody signed in time has lapsed. It counts as lapsed from the moment on.
pub const LAPSE: Job = Job { name: "quote.lapse", every_minutes: 5, run: |tx| lapse_due(tx).map(drop) };

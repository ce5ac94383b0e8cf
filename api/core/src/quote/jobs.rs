//! Scheduled jobs of quotes.

use super::usecase::lapse_due;
use crate::clockwork::Job;

/// Marks a quote as lapsed if nobody signed it in time. It counts as lapsed from that time on.
pub const LAPSE: Job = Job { name: "quote.lapse", every_minutes: 5, run: |tx| lapse_due(tx).map(drop) };

//! Reschedulings: a new schedule of the diary's jobs. Nothing changes before one is accepted.
//!
//! open → accepted.

use crate::life::life;
use crate::word::words;

words! {
    /// State of a rescheduling.
    pub enum ReschedulingState("rescheduling state") {
        /// Computed, and nothing changed.
        Open = "OPEN" "open",
        /// The diary was changed to it.
        Accepted = "ACCEPTED" "accepted",
    }
}

words! {
    /// Moves of a rescheduling.
    pub enum ReschedulingMove("rescheduling move") {
        /// Change the diary to it.
        Accept = "ACCEPT" "accepted",
    }
}

life!(ReschedulingState, ReschedulingMove, "rescheduling", [(Open, Accept, Accepted)]);

impl ReschedulingState {
    fn hint(self, wanted: ReschedulingMove) -> &'static str {
        match (self, wanted) {
            (Self::Accepted, ReschedulingMove::Accept) => "; the diary already follows it",
            (Self::Open, ReschedulingMove::Accept) => "",
        }
    }
}

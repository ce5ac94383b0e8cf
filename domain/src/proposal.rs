//! Rescheduling proposals: a new schedule of the diary's jobs. Nothing changes before one is accepted.
//!
//! open → accepted.

use crate::life::life;
use crate::word::words;

words! {
    /// State of a proposal.
    pub enum ProposalState("proposal state") {
        /// Computed, and nothing changed.
        Open = "OPEN" "open",
        /// The diary was changed to it.
        Accepted = "ACCEPTED" "accepted",
    }
}

words! {
    /// Moves of a proposal.
    pub enum ProposalMove("proposal move") {
        /// Change the diary to it.
        Accept = "ACCEPT" "accepted",
    }
}

life!(ProposalState, ProposalMove, "proposal", [(Open, Accept, Accepted)]);

impl ProposalState {
    fn hint(self, wanted: ProposalMove) -> &'static str {
        match (self, wanted) {
            (Self::Accepted, ProposalMove::Accept) => "; the diary already follows it",
            (Self::Open, ProposalMove::Accept) => "",
        }
    }
}

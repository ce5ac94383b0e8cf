//! Proposals: how the diary could be with all its jobs placed again. Nothing changes before one is accepted.
//!
//! open → accepted.

use crate::life::life;
use crate::word::words;

words! {
    /// Where a proposal is.
    pub enum ProposalState("proposal state") {
        /// Thought out, and nothing changed.
        Open = "OPEN" "open",
        /// The diary was changed to it.
        Accepted = "ACCEPTED" "accepted",
    }
}

words! {
    /// What can happen to a proposal.
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

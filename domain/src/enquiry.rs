//! Enquiries: the first call, until it is quoted or closed.

use alloc::string::String;

use crate::life::life;
use crate::refusal::{Kind, Refusal, WrongState};
use crate::word::words;

words! {
    /// Where an enquiry is.
    pub enum EnquiryState("enquiry state") {
        /// Somebody has to answer.
        Open = "OPEN" "open",
        /// A quote was made from it.
        Quoted = "QUOTED" "quoted",
        /// Nothing more will come of it, or everything has.
        Closed = "CLOSED" "closed",
    }
}

words! {
    /// What can be done with an enquiry.
    pub enum EnquiryMove("enquiry move") {
        /// Make a quote from it.
        Quote = "QUOTE" "quoted",
        /// Close it with a reason.
        Close = "CLOSE" "closed",
    }
}

life!(
    EnquiryState,
    EnquiryMove,
    "customer's enquiry",
    [(Open, Quote, Quoted), (Open, Close, Closed), (Quoted, Close, Closed),]
);

words! {
    /// Why an enquiry was closed.
    pub enum CloseReason("reason for closing") {
        /// The customer signed.
        Won = "WON" "signed",
        /// The customer found it too dear.
        TooDear = "TOO_DEAR" "too dear",
        /// The customer couldn't wait that long.
        TooLate = "TOO_LATE" "too late",
        /// The studio doesn't do that.
        NotOffered = "NOT_OFFERED" "not offered",
        /// The customer didn't answer any more.
        NoAnswer = "NO_ANSWER" "no answer",
        /// It was no enquiry, or came twice.
        NoEnquiry = "NO_ENQUIRY" "no enquiry",
        /// Something else, which a note says.
        Other = "OTHER" "other",
    }
}

/// Why an enquiry isn't closed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EnquiryRefusal {
    /// Its state doesn't allow the move.
    #[error(transparent)]
    State(#[from] WrongState),
    /// "Other" needs a note.
    #[error("say in a note why the enquiry is closed, in at most 500 characters")]
    NoNote,
}

impl Refusal for EnquiryRefusal {
    fn kind(&self) -> Kind {
        match self {
            Self::State(_) => Kind::Conflict,
            Self::NoNote => Kind::Invalid,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::State(state) => state.code(),
            Self::NoNote => "no-note",
        }
    }
}

impl EnquiryState {
    fn hint(self, _wanted: EnquiryMove) -> &'static str {
        match self {
            Self::Closed => "; take the call down as a new one",
            Self::Open | Self::Quoted => "",
        }
    }

    /// Notes that a quote was made from it.
    ///
    /// # Errors
    /// [`WrongState`] where it was quoted or closed already.
    pub fn quote(self) -> Result<Self, WrongState> {
        self.go(EnquiryMove::Quote)
    }

    /// Closes it; returns the note without blanks around it, where there is one.
    ///
    /// # Errors
    /// [`EnquiryRefusal`] where it is closed already, or "other" comes without a note.
    pub fn close(self, reason: CloseReason, note: &str) -> Result<(Self, Option<String>), EnquiryRefusal> {
        let closed = self.go(EnquiryMove::Close)?;
        let note = note.trim();
        if note.chars().count() > 500 || (reason == CloseReason::Other && note.is_empty()) {
            return Err(EnquiryRefusal::NoNote);
        }
        Ok((closed, (!note.is_empty()).then(|| String::from(note))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_enquiry_is_closed_with_a_reason_and_other_needs_a_note() {
        let closed = EnquiryState::Open.close(CloseReason::TooDear, " ");
        assert_eq!(closed, Ok((EnquiryState::Closed, None)));
        assert_eq!(EnquiryState::Quoted.close(CloseReason::Other, " "), Err(EnquiryRefusal::NoNote));
        let noted = EnquiryState::Quoted.close(CloseReason::Other, " moved away ");
        assert_eq!(noted, Ok((EnquiryState::Closed, Some("moved away".into()))));
    }
}

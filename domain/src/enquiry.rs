//! Enquiries: the first call, until it is quoted or closed.

use alloc::string::String;
use alloc::vec::Vec;

use crate::life::life;
use crate::refusal::{Fault, Kind, Refusal, WrongState};
use crate::word::words;

words! {
    /// State of an enquiry.
    pub enum EnquiryState("enquiry state") {
        /// It has not been answered yet.
        Open = "OPEN" "open",
        /// A quote was made from it.
        Quoted = "QUOTED" "quoted",
        /// Nothing more will come of it, or everything is done.
        Closed = "CLOSED" "closed",
    }
}

words! {
    /// Moves of an enquiry.
    pub enum EnquiryMove("enquiry move") {
        /// Change its details.
        Change = "CHANGE" "changed",
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
    [
        (Open, Change, Open),
        (Open, Quote, Quoted),
        (Open, Close, Closed),
        (Quoted, Change, Quoted),
        (Quoted, Close, Closed),
    ]
);

words! {
    /// Channel by which the enquiry came.
    pub enum Channel("way of asking") {
        /// They called.
        Phone = "PHONE" "by phone",
        /// They came by.
        Visit = "VISIT" "at the studio",
        /// They wrote a mail.
        Mail = "MAIL" "by mail",
        /// They wrote a message on the telephone or the network.
        Message = "MESSAGE" "in a message",
        /// Any other way.
        Other = "OTHER" "in another way",
    }
}

/// Facts about the caller, as far as the rules need them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Asker {
    /// Whether the customer is known.
    pub known: bool,
    /// Whether a caller is named.
    pub named: bool,
    /// Whether the caller left an email address.
    pub mail: bool,
    /// Whether the caller left a telephone number.
    pub phone: bool,
    /// Whether the caller agreed to be written to.
    pub may_mail: bool,
    /// Whether the caller agreed to be called.
    pub may_phone: bool,
}

/// Reason why nobody could answer the caller.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Unanswerable {
    /// There is no customer and no caller.
    #[error("say who is asking: a customer, or a caller with a name")]
    Nobody,
    /// A caller without email address and telephone number.
    #[error("add an email address or a telephone number, so that somebody can answer")]
    NoReach,
    /// The caller agreed to be written to, but left no email address.
    #[error("the caller agreed to be written to: add their email address")]
    NoMail,
    /// The caller agreed to be called, but left no telephone number.
    #[error("the caller agreed to be called: add their telephone number")]
    NoPhone,
}

impl Refusal for Unanswerable {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "unanswerable-enquiry"
    }

    fn faults(&self) -> Vec<Fault> {
        let (pointer, code) = match self {
            Self::Nobody => ("/caller", "required"),
            Self::NoReach => ("/caller/phone", "no_reach"),
            Self::NoMail => ("/caller/email", "required"),
            Self::NoPhone => ("/caller/phone", "required"),
        };
        alloc::vec![Fault { pointer: String::from(pointer), code, detail: alloc::format!("{self}.") }]
    }
}

impl Asker {
    /// Succeeds if somebody can answer: the customer is known, or the caller left contact details. A consent to be
    /// contacted needs the corresponding address or number.
    ///
    /// # Errors
    /// [`Unanswerable`] points to what is missing.
    pub fn check(self) -> Result<(), Unanswerable> {
        match self {
            Self { known: false, named: false, .. } => Err(Unanswerable::Nobody),
            Self { named: false, .. } => Ok(()),
            Self { known: false, mail: false, phone: false, .. } => Err(Unanswerable::NoReach),
            Self { may_mail: true, mail: false, .. } => Err(Unanswerable::NoMail),
            Self { may_phone: true, phone: false, .. } => Err(Unanswerable::NoPhone),
            _ => Ok(()),
        }
    }
}

words! {
    /// Reason why an enquiry was closed.
    pub enum CloseReason("reason for closing") {
        /// The customer signed.
        Won = "WON" "signed",
        /// The customer found it too expensive.
        TooDear = "TOO_DEAR" "too expensive",
        /// The customer couldn't wait that long.
        TooLate = "TOO_LATE" "too late",
        /// The studio doesn't do that.
        NotOffered = "NOT_OFFERED" "not offered",
        /// The customer no longer answered.
        NoAnswer = "NO_ANSWER" "no answer",
        /// It was no enquiry, or came twice.
        NoEnquiry = "NO_ENQUIRY" "no enquiry",
        /// Another reason, which a note explains.
        Other = "OTHER" "other",
    }
}

/// Reason why a move of an enquiry is refused.
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
            Self::Closed => "; record the call as a new enquiry",
            Self::Open | Self::Quoted => "",
        }
    }

    /// Checks that the details may be changed.
    ///
    /// # Errors
    /// [`WrongState`] if it is closed.
    pub fn change(self) -> Result<Self, WrongState> {
        self.go(EnquiryMove::Change)
    }

    /// Notes that a quote was made from it.
    ///
    /// # Errors
    /// [`WrongState`] if it was quoted or closed already.
    pub fn quote(self) -> Result<Self, WrongState> {
        self.go(EnquiryMove::Quote)
    }

    /// Closes it; returns the note without blanks around it, if there is one.
    ///
    /// # Errors
    /// [`EnquiryRefusal`] if it is closed already, or "other" comes without a note.
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
    use alloc::string::ToString;

    use super::*;

    #[test]
    fn only_somebody_who_can_be_answered_asks() {
        let caller = Asker { named: true, phone: true, may_phone: true, ..Asker::default() };
        assert_eq!(caller.check(), Ok(()));
        assert_eq!(Asker { known: true, ..Asker::default() }.check(), Ok(()));
        assert_eq!(Asker { known: true, named: true, ..Asker::default() }.check(), Ok(()));
        assert_eq!(Asker::default().check(), Err(Unanswerable::Nobody));
        assert_eq!(Asker { phone: false, may_phone: false, ..caller }.check(), Err(Unanswerable::NoReach));
        assert_eq!(Asker { may_mail: true, ..caller }.check(), Err(Unanswerable::NoMail));
        assert_eq!(Asker { phone: false, mail: true, ..caller }.check(), Err(Unanswerable::NoPhone));
    }

    #[test]
    fn a_closed_enquiry_stays_as_it_is() {
        assert_eq!(EnquiryState::Quoted.change(), Ok(EnquiryState::Quoted));
        assert_eq!(
            EnquiryState::Closed.change().unwrap_err().to_string(),
            "the customer's enquiry is closed and can't be changed; record the call as a new enquiry"
        );
        assert!(EnquiryState::Closed.is_end());
    }

    #[test]
    fn an_enquiry_is_closed_with_a_reason_and_other_needs_a_note() {
        let closed = EnquiryState::Open.close(CloseReason::TooDear, " ");
        assert_eq!(closed, Ok((EnquiryState::Closed, None)));
        assert_eq!(EnquiryState::Quoted.close(CloseReason::Other, " "), Err(EnquiryRefusal::NoNote));
        let noted = EnquiryState::Quoted.close(CloseReason::Other, " moved away ");
        assert_eq!(noted, Ok((EnquiryState::Closed, Some("moved away".into()))));
    }
}

//! The customer's signature: its requirements, and the evidence that is stored.
//!
//! It is a simple electronic signature (Regulation (EU) No 910/2014, articles 3(10) and 25): a typed name and a clear
//! act of acceptance, bound to exactly what was shown by the digest of the sealed document.

mod strokes;
mod withdrawal;

use alloc::string::{String, ToString};
use alloc::vec::Vec;

use chrono::{DateTime, Utc};

use crate::id::{LinkId, PersonId};
use crate::legible::misleads;
use crate::pricing::{Conflict, Line};
use crate::quote::select;
use crate::refusal::{Fault, Kind, Refusal, told};
use crate::word::words;

pub use strokes::{BadStrokes, Strokes};
pub use withdrawal::{WithdrawalTerms, asks_early_start, has_words, withdrawal_over};

words! {
    /// Way in which the customer accepted.
    pub enum Method("way of signing") {
        /// Alone, on the page behind a link that was sent to them.
        Link = "LINK" "online",
        /// In the studio, on its screen.
        InPerson = "IN_PERSON" "in person",
        /// On the phone, recorded by somebody at the studio.
        Phone = "PHONE" "by phone",
    }
}

impl Method {
    /// Whether the customer was elsewhere, which makes the contract a distance contract.
    pub const fn is_at_a_distance(self) -> bool {
        matches!(self, Self::Link | Self::Phone)
    }
}

/// The link that was used for signing, with its way to the customer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LinkTrail {
    /// The link.
    pub link: LinkId,
    /// The address or number to which it was sent.
    pub contact: String,
    /// Time when it was sent.
    pub sent_at: DateTime<Utc>,
    /// Time when it was first opened.
    pub first_opened_at: Option<DateTime<Utc>>,
}

/// The evidence of a sign-off, which is stored for good.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Evidence {
    /// The sealed document, as canonical JSON (RFC 8785).
    pub document: String,
    /// SHA-256 of the document, 64 lower-case hex digits.
    pub digest: String,
    /// Indexes of the lines that were taken.
    pub choices: Vec<usize>,
    /// Declaration of consent that was shown.
    pub consent: String,
    /// The name as it was typed.
    pub typed_name: String,
    /// The drawn signature; `None` if there is none.
    pub strokes: Option<Strokes>,
    /// Way in which it was given.
    pub method: Method,
    /// Person who noted it, if it was given in person or by phone.
    pub noted_by: Option<PersonId>,
    /// Time of the sign-off.
    pub at: DateTime<Utc>,
    /// The network address of the request.
    pub address: String,
    /// User agent that the request states.
    pub agent: String,
    /// The link that was used for signing.
    pub link: Option<LinkTrail>,
    /// The express request that work starts within the withdrawal period (Directive 2011/83/EU); `None` if it was not
    /// asked for.
    pub early_start: Option<bool>,
}

/// The offer, a revision of a quote or a variation, when the customer answers.
#[derive(Debug, Clone, Copy)]
pub struct Offer<'a> {
    /// Whether it is the latest that was sent.
    pub current: bool,
    /// The digest of its sealed document.
    pub digest: &'a str,
    /// Its lines.
    pub lines: &'a [Line],
    /// Pairs of lines that exclude each other.
    pub conflicts: &'a [Conflict],
    /// Whether the shop asks for the express wish to start early.
    pub asks_early_start: bool,
}

/// The customer's answer.
#[derive(Debug, Clone, Copy)]
pub struct Acceptance<'a> {
    /// The digest of the document that the customer saw.
    pub digest: &'a str,
    /// Name as it was typed.
    pub typed_name: &'a str,
    /// Whether they ticked that they accept.
    pub intent: bool,
    /// Indexes of the optional lines that they ticked.
    pub ticked: &'a [usize],
    /// The drawn signature; `None` if there is none.
    pub strokes: Option<&'a Strokes>,
    /// Way in which it was given.
    pub method: Method,
    /// Person who noted it.
    pub noted_by: Option<&'a PersonId>,
    /// Agreement to an early start; `None` if they were not asked.
    pub early_start: Option<bool>,
}

/// Reason why nothing was signed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SignRefusal {
    /// Another revision, or another wording, applies now.
    #[error("this is no longer the current quote: open and sign the latest one")]
    Stale,
    /// Something on the form is missing or wrong.
    #[error("the quote isn't signed yet: {}", told(.0))]
    Form(Vec<Fault>),
}

impl Refusal for SignRefusal {
    fn kind(&self) -> Kind {
        match self {
            Self::Stale => Kind::Conflict,
            Self::Form(_) => Kind::Invalid,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::Stale => "quote-not-current",
            Self::Form(_) => "sign-off-incomplete",
        }
    }

    fn faults(&self) -> Vec<Fault> {
        if let Self::Form(faults) = self { faults.clone() } else { Vec::new() }
    }
}

/// The lines that an acceptance takes, by index and in order. Required: a typed name, a clear acceptance, a valid
/// choice of lines, the current offer, and by phone or in person somebody who records it. A drawing is never required
/// and never enough. Whether the offer is still valid is decided by its own rules: a revision of a quote expires
/// ([`RevisionState::sign`](crate::quote::RevisionState::sign)), a variation is open until it is answered
/// ([`VariationState::sign`](crate::variation::VariationState::sign)).
///
/// # Errors
/// [`SignRefusal`]; everything that is wrong with the form at once.
pub fn accept(offer: &Offer<'_>, answer: &Acceptance<'_>) -> Result<Vec<usize>, SignRefusal> {
    if !offer.current || offer.digest != answer.digest {
        return Err(SignRefusal::Stale);
    }
    let mut faults = Vec::new();
    let mut fault = |pointer: &str, code, detail: &str| {
        faults.push(Fault { pointer: pointer.to_string(), code, detail: detail.to_string() });
    };
    let name = answer.typed_name.trim();
    if !name.chars().any(char::is_alphabetic) {
        fault("/name", "missing", "type your full name");
    } else if name.chars().count() > 200 {
        fault("/name", "too_long", "type your name in at most 200 characters");
    } else if name.chars().any(misleads) {
        fault("/name", "unreadable", "type your name on one line, in ordinary letters");
    }
    if !answer.intent {
        fault("/intent", "missing", "tick that you accept the quote");
    }
    if answer.method != Method::Link && answer.noted_by.is_none() {
        fault("/noted_by", "missing", "say who at the studio recorded the customer's acceptance");
    }
    if offer.asks_early_start && answer.early_start.is_none() {
        fault("/early_start", "missing", "say whether we may start within the 14 days");
    }
    match select(offer.lines, offer.conflicts, answer.ticked) {
        Ok(lines) if faults.is_empty() => Ok(lines),
        Ok(_) => Err(SignRefusal::Form(faults)),
        Err(choice) => {
            faults.extend(choice.faults);
            Err(SignRefusal::Form(faults))
        }
    }
}

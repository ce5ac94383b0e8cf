//! Quotes: revisions that are frozen when they are sent, expire, and are signed once.
//!
//! draft → sent → signed · declined · lapsed · withdrawn · replaced. A revision can be edited while it is a draft; from
//! then on its lines and totals are frozen and a change is a new revision. A signed revision stays signed for good:
//! when a later one is signed too, the later one applies.

mod choose;
mod combine;
mod terms;

use alloc::collections::BTreeSet;
use alloc::string::String;
use alloc::vec::Vec;

use chrono::{DateTime, Utc};

use crate::life::life;
use crate::pricing::{Conflict, ConflictKind, Line};
use crate::refusal::{Fault, Kind, Refusal, WrongState, told};
use crate::word::words;

pub use choose::{TaxChoice, choose_prices, own_rate, own_tax, required_lines};
pub use combine::combinations;
pub use terms::{Sum, Terms};

words! {
    /// State of a revision.
    pub enum RevisionState("quote state") {
        /// Being edited; nobody outside has seen it.
        Draft = "DRAFT" "draft",
        /// Frozen and with the customer.
        Sent = "SENT" "sent",
        /// Accepted by the customer.
        Signed = "SIGNED" "signed",
        /// Declined by the customer.
        Declined = "DECLINED" "declined",
        /// Not signed in time.
        Lapsed = "LAPSED" "lapsed",
        /// Withdrawn by the shop.
        Withdrawn = "WITHDRAWN" "withdrawn",
        /// Replaced by a later revision.
        Replaced = "REPLACED" "replaced",
    }
}

words! {
    /// Moves of a revision.
    pub enum RevisionMove("quote move") {
        /// Freeze it and send it to the customer.
        Send = "SEND" "sent",
        /// Accept it.
        Sign = "SIGN" "signed",
        /// Turn it down.
        Decline = "DECLINE" "declined",
        /// Let it lapse.
        Lapse = "LAPSE" "lapsed",
        /// Take it back.
        Withdraw = "WITHDRAW" "withdrawn",
        /// Replace it with a later revision.
        Replace = "REPLACE" "replaced",
    }
}

life!(
    RevisionState,
    RevisionMove,
    "quote",
    [
        (Draft, Send, Sent),
        (Sent, Sign, Signed),
        (Sent, Decline, Declined),
        (Sent, Lapse, Lapsed),
        (Sent, Withdraw, Withdrawn),
        (Sent, Replace, Replaced),
    ]
);

/// Reason why a move of a revision is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum QuoteRefusal {
    /// Its state doesn't allow the move.
    #[error(transparent)]
    State(#[from] WrongState),
    /// It has expired.
    #[error("this quote was valid until {until} and has lapsed: make a new revision and send it")]
    Lapsed {
        /// Time when the quote expired.
        until: DateTime<Utc>,
    },
    /// Its expiry time is not in the future.
    #[error("a quote must be valid until some time after now: choose a later end")]
    ExpiresInThePast,
    /// It is still valid, so it can't lapse.
    #[error("this quote is valid until {until}, so it has not lapsed")]
    StillHolds {
        /// Time when the quote expires.
        until: DateTime<Utc>,
    },
    /// Another draft of the same quote is open.
    #[error("revision {0} of this quote is still a draft: finish that one")]
    DraftOpen(u32),
    /// The quote has no lines.
    #[error("a quote needs at least one line before it is sent")]
    Empty,
}

impl Refusal for QuoteRefusal {
    fn kind(&self) -> Kind {
        match self {
            Self::State(_) | Self::StillHolds { .. } | Self::DraftOpen(_) => Kind::Conflict,
            Self::Lapsed { .. } => Kind::Gone,
            Self::ExpiresInThePast | Self::Empty => Kind::Invalid,
        }
    }

    fn moment(&self) -> Option<DateTime<Utc>> {
        match self {
            Self::Lapsed { until } | Self::StillHolds { until } => Some(*until),
            _ => None,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::State(state) => state.code(),
            Self::Lapsed { .. } => "quote-lapsed",
            Self::ExpiresInThePast => "expires-in-the-past",
            Self::StillHolds { .. } => "quote-still-holds",
            Self::DraftOpen(_) => "draft-open",
            Self::Empty => "quote-empty",
        }
    }
}

impl RevisionState {
    fn hint(self, wanted: RevisionMove) -> &'static str {
        match (self, wanted) {
            (Self::Draft, RevisionMove::Sign | RevisionMove::Decline) => "; send it first",
            (Self::Sent | Self::Draft, _) => "",
            (Self::Lapsed | Self::Declined | Self::Withdrawn, _) => "; make a new revision",
            (Self::Replaced, _) => "; a later revision has replaced it",
            (Self::Signed, _) => "; a change after signing is a new revision, or a variation once the work has begun",
        }
    }

    /// Whether lines, discounts and terms may be changed: only in a draft.
    ///
    /// # Errors
    /// [`WrongState`] from the moment it was sent: its lines and totals are frozen.
    pub fn edit(self) -> Result<(), WrongState> {
        if self == Self::Draft {
            return Ok(());
        }
        let hint = "; its lines and totals are fixed, so make a new revision";
        Err(WrongState { record: "quote", state: self.label(), wanted: "edited", hint })
    }

    /// State at a given time: a sent revision counts as lapsed from `until` on, whether or not that has been stored
    /// yet.
    pub fn at(self, now: DateTime<Utc>, until: DateTime<Utc>) -> Self {
        if self == Self::Sent && now >= until { Self::Lapsed } else { self }
    }

    /// Sends a draft with an expiry time in the future.
    ///
    /// # Errors
    /// [`QuoteRefusal`] if it is no draft, has no lines, or the time is not in the future.
    pub fn send(self, lines: usize, now: DateTime<Utc>, until: DateTime<Utc>) -> Result<Self, QuoteRefusal> {
        let sent = self.go(RevisionMove::Send)?;
        match () {
            () if lines == 0 => Err(QuoteRefusal::Empty),
            () if until <= now => Err(QuoteRefusal::ExpiresInThePast),
            () => Ok(sent),
        }
    }

    /// Signs a revision that was sent and has not expired.
    ///
    /// # Errors
    /// [`QuoteRefusal`] if it isn't with the customer or has lapsed.
    pub fn sign(self, now: DateTime<Utc>, until: DateTime<Utc>) -> Result<Self, QuoteRefusal> {
        self.answer(RevisionMove::Sign, now, until)
    }

    /// Declines a revision that was sent and has not expired.
    ///
    /// # Errors
    /// [`QuoteRefusal`] if it isn't with the customer or has lapsed.
    pub fn decline(self, now: DateTime<Utc>, until: DateTime<Utc>) -> Result<Self, QuoteRefusal> {
        self.answer(RevisionMove::Decline, now, until)
    }

    fn answer(self, wanted: RevisionMove, now: DateTime<Utc>, until: DateTime<Utc>) -> Result<Self, QuoteRefusal> {
        if self.at(now, until) == Self::Lapsed {
            return Err(QuoteRefusal::Lapsed { until });
        }
        Ok(self.go(wanted)?)
    }

    /// Records that it has lapsed.
    ///
    /// # Errors
    /// [`QuoteRefusal`] if it isn't with the customer, or is still valid.
    pub fn lapse(self, now: DateTime<Utc>, until: DateTime<Utc>) -> Result<Self, QuoteRefusal> {
        let lapsed = self.go(RevisionMove::Lapse)?;
        if now < until { Err(QuoteRefusal::StillHolds { until }) } else { Ok(lapsed) }
    }

    /// Withdraws a revision that was sent.
    ///
    /// # Errors
    /// [`WrongState`] if it isn't with the customer.
    pub fn withdraw(self) -> Result<Self, WrongState> {
        self.go(RevisionMove::Withdraw)
    }

    /// Replaces it with a later revision.
    ///
    /// # Errors
    /// [`WrongState`] if it isn't with the customer.
    pub fn replace(self) -> Result<Self, WrongState> {
        self.go(RevisionMove::Replace)
    }
}

/// The number of the next revision of a quote, given number and state of those it has.
///
/// # Errors
/// [`QuoteRefusal::DraftOpen`] if one of them is still a draft.
pub fn next_revision(revisions: &[(u32, RevisionState)]) -> Result<u32, QuoteRefusal> {
    match revisions.iter().find(|(_, state)| *state == RevisionState::Draft) {
        Some((number, _)) => Err(QuoteRefusal::DraftOpen(*number)),
        None => Ok(revisions.iter().map(|(number, _)| number + 1).max().unwrap_or(1)),
    }
}

/// The revision that the customer has or has agreed to: the latest that was ever sent.
pub fn current_revision(revisions: &[(u32, RevisionState)]) -> Option<(u32, RevisionState)> {
    revisions.iter().filter(|(_, state)| *state != RevisionState::Draft).max_by_key(|(number, _)| *number).copied()
}

/// The revision that is agreed: the latest signed one.
pub fn agreed_revision(revisions: &[(u32, RevisionState)]) -> Option<u32> {
    let signed = revisions.iter().filter(|(_, state)| *state == RevisionState::Signed);
    signed.map(|(number, _)| *number).max()
}

/// Reason why the customer's ticks are no valid choice.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the choice can't be taken: {}", told(faults))]
pub struct BadChoice {
    /// The faults, with pointers such as `/choices/1`.
    pub faults: Vec<Fault>,
}

impl Refusal for BadChoice {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bad-choice"
    }

    fn faults(&self) -> Vec<Fault> {
        self.faults.clone()
    }
}

/// The lines that a choice takes, by index and in order: required ones always, optional ones if they are ticked. A tick
/// on a required line changes nothing, nor does a second tick on the same line.
///
/// # Errors
/// [`BadChoice`] if a tick names no line, two lines that are taken exclude each other, or nothing would be taken.
pub fn select(lines: &[Line], conflicts: &[Conflict], ticked: &[usize]) -> Result<Vec<usize>, BadChoice> {
    let mut faults = Vec::new();
    let fault = |pointer: String, code, detail: String| Fault { pointer, code, detail };
    for (at, line) in ticked.iter().enumerate() {
        if *line >= lines.len() {
            let detail = alloc::format!("the quote has no line {}: choose from its lines", line.saturating_add(1));
            faults.push(fault(alloc::format!("/choices/{at}"), "unknown", detail));
        }
    }
    let required = lines.iter().enumerate().filter(|(_, line)| line.required).map(|(at, _)| at);
    let taken: BTreeSet<usize> = required.chain(ticked.iter().copied().filter(|at| *at < lines.len())).collect();
    for Conflict { one, other, kind } in conflicts {
        if let (true, Some(first), Some(second)) =
            (taken.contains(one) && taken.contains(other), lines.get(*one), lines.get(*other))
        {
            let why = match kind {
                ConflictKind::Excluded => "exclude each other",
                ConflictKind::Overlap => "share work that would be charged twice",
            };
            let detail = alloc::format!("{} and {} {why}: tick one of them", first.name, second.name);
            faults.push(fault("/choices".into(), "conflict", detail));
        }
    }
    if taken.is_empty() && faults.is_empty() {
        faults.push(fault("/choices".into(), "missing", "tick at least one line".into()));
    }
    if faults.is_empty() { Ok(taken.into_iter().collect()) } else { Err(BadChoice { faults }) }
}

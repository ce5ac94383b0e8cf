//! Bookings: a car's place in a bay.
//!
//! held → booked → in the bay → ready → handed over; or cancelled · a no-show. A hold ends by itself and counts as
//! cancelled from then on. Mistakes can be undone: arrival, ready, hand-over, no-show and the cancellation of a
//! confirmed booking.

mod arrival;
mod overrun;
mod week;

use chrono::{DateTime, Utc};

use crate::life::life;
use crate::refusal::{Kind, Refusal, WrongState};
use crate::word::words;

pub use arrival::{Arrival, Occupant, arrival, entry};
pub use overrun::{BayHeld, InTheWay, LongerStay, OverrunRefusal};
pub use week::{InWeek, in_week};

words! {
    /// State of a booking.
    pub enum BookingState("booking state") {
        /// Kept free for a while, until the customer decides.
        Held = "HELD" "held",
        /// Agreed.
        Booked = "BOOKED" "booked",
        /// The car has arrived.
        InBay = "IN_BAY" "in the bay",
        /// The work is done.
        Ready = "READY" "ready",
        /// The car was handed over to its owner.
        HandedOver = "HANDED_OVER" "handed over",
        /// Cancelled, or a hold that has run out.
        Cancelled = "CANCELLED" "cancelled",
        /// The car didn't come.
        NoShow = "NO_SHOW" "a no-show",
    }
}

words! {
    /// Moves of a booking.
    pub enum BookingMove("booking move") {
        /// Confirm a held place.
        Book = "BOOK" "booked",
        /// Record the arrival of the car.
        Arrive = "ARRIVE" "taken into the bay",
        /// Declare the work done.
        MakeReady = "MAKE_READY" "made ready",
        /// Hand the car over.
        HandOver = "HAND_OVER" "handed over",
        /// Call it off.
        Cancel = "CANCEL" "cancelled",
        /// Note that the car didn't come.
        NoShow = "NO_SHOW" "recorded as a no-show",
        /// Let a hold run out.
        Lapse = "LAPSE" "lapsed",
        /// Move it to another place or time.
        Move = "MOVE" "moved",
        /// Hold the place for longer.
        HoldLonger = "HOLD_LONGER" "held for longer",
    }
}

life!(
    BookingState,
    BookingMove,
    "booking",
    [
        (Held, Book, Booked),
        (Held, Cancel, Cancelled),
        (Held, Lapse, Cancelled),
        (Held, Move, Held),
        (Held, HoldLonger, Held),
        (Booked, Arrive, InBay),
        (Booked, Cancel, Cancelled),
        (Booked, NoShow, NoShow),
        (Booked, Move, Booked),
        (InBay, MakeReady, Ready),
        (Ready, HandOver, HandedOver),
    ],
    undo [Arrive, MakeReady, HandOver, Cancel, NoShow]
);

/// Reason why a move of a booking is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BookingRefusal {
    /// Its state doesn't allow the move.
    #[error(transparent)]
    State(#[from] WrongState),
    /// The hold has run out.
    #[error("this time was held until {until} and is free again: choose a new time")]
    HoldLapsed {
        /// Time when the hold ran out.
        until: DateTime<Utc>,
    },
    /// The hold still runs.
    #[error("this time is held until {until}")]
    StillHeld {
        /// The moment until which it is held.
        until: DateTime<Utc>,
    },
    /// The car is not late yet.
    #[error("the car is expected at {start}: it can't be recorded as a no-show before then")]
    NotLateYet {
        /// Time when it is expected.
        start: DateTime<Utc>,
    },
}

impl Refusal for BookingRefusal {
    fn kind(&self) -> Kind {
        match self {
            Self::State(_) | Self::StillHeld { .. } | Self::NotLateYet { .. } => Kind::Conflict,
            Self::HoldLapsed { .. } => Kind::Gone,
        }
    }

    fn moment(&self) -> Option<DateTime<Utc>> {
        match self {
            Self::HoldLapsed { until } | Self::StillHeld { until } => Some(*until),
            Self::NotLateYet { start } => Some(*start),
            Self::State(_) => None,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::State(state) => state.code(),
            Self::HoldLapsed { .. } => "hold-lapsed",
            Self::StillHeld { .. } => "still-held",
            Self::NotLateYet { .. } => "not-late-yet",
        }
    }
}

impl BookingRefusal {
    /// The refusal of a move of a car that has come but is not in its bay yet: it says so, because the state alone says
    /// "in the bay".
    #[must_use]
    pub fn outside(self) -> Self {
        match self {
            Self::State(refused) if refused.state == BookingState::InBay.label() => {
                let again = refused.wanted == BookingMove::Arrive.label();
                let (wanted, hint) = if again {
                    ("recorded as arrived again", "; it moves into the bay when its first step starts")
                } else {
                    (refused.wanted, refused.hint)
                };
                Self::State(WrongState { record: "car", state: "here, but not in its bay yet,", wanted, hint })
            }
            other => other,
        }
    }
}

impl BookingState {
    fn hint(self, wanted: BookingMove) -> &'static str {
        match (self, wanted) {
            (Self::Held, BookingMove::Arrive | BookingMove::NoShow) => "; book it first",
            (Self::Booked, BookingMove::MakeReady | BookingMove::HandOver) => "; take the car in first",
            (Self::InBay, BookingMove::HandOver) => {
                "; declare it ready first, once each of its steps is finished or removed"
            }
            (Self::InBay | Self::Ready, BookingMove::Cancel) => "; remove the steps that won't be done",
            (Self::Cancelled | Self::NoShow, _) => "; undo that, or make a new booking",
            _ => "",
        }
    }

    /// State at a given time: a hold ends at `held_until`, whether or not that has been stored yet.
    pub fn at(self, now: DateTime<Utc>, held_until: Option<DateTime<Utc>>) -> Self {
        match held_until {
            Some(until) if self == Self::Held && now >= until => Self::Cancelled,
            _ => self,
        }
    }

    /// Whether the booking keeps its bay at a given time: while a hold lasts, and in every state up to the hand-over.
    pub fn keeps_bay(self, now: DateTime<Utc>, held_until: Option<DateTime<Utc>>) -> bool {
        matches!(self.at(now, held_until), Self::Held | Self::Booked | Self::InBay | Self::Ready)
    }

    /// Whether the car has come and was not given back.
    pub const fn has_come(self) -> bool {
        matches!(self, Self::InBay | Self::Ready)
    }

    /// Confirms a held place.
    ///
    /// # Errors
    /// [`BookingRefusal`] if it isn't held, or was held only until a moment that has passed.
    pub fn book(self, now: DateTime<Utc>, held_until: Option<DateTime<Utc>>) -> Result<Self, BookingRefusal> {
        self.check_hold(now, held_until)?;
        Ok(self.go(BookingMove::Book)?)
    }

    /// Allows a new place or time: only during a hold, before the car has come, or while it `waits` for its bay and no
    /// work on it has begun.
    ///
    /// # Errors
    /// [`BookingRefusal`] otherwise.
    pub fn relocate(
        self,
        now: DateTime<Utc>,
        held_until: Option<DateTime<Utc>>,
        waits: bool,
    ) -> Result<Self, BookingRefusal> {
        self.check_hold(now, held_until)?;
        if waits && self == Self::InBay {
            return Ok(self);
        }
        Ok(self.go(BookingMove::Move)?)
    }

    /// Allows a hold to last longer: only while it lasts.
    ///
    /// # Errors
    /// [`BookingRefusal`] if it isn't held, or was held only until a moment that has passed.
    pub fn hold_longer(self, now: DateTime<Utc>, held_until: Option<DateTime<Utc>>) -> Result<Self, BookingRefusal> {
        self.check_hold(now, held_until)?;
        Ok(self.go(BookingMove::HoldLonger)?)
    }

    /// The move that led to this state and can be undone, with the state before it; `was_agreed` says whether the
    /// booking was ever confirmed. The cancellation of a hold is not undone: its time was only kept free for a while,
    /// so a new booking does the same.
    pub fn last_move(self, was_agreed: bool) -> Option<(BookingMove, Self)> {
        let was = if was_agreed { Self::Booked } else { Self::Held };
        Self::ways_back()
            .find(|(now, done, before)| *now == self && (*done != BookingMove::Cancel || *before == was))
            .map(|(_, done, before)| (done, before))
            .filter(|(_, before)| *before != Self::Held)
    }

    fn check_hold(self, now: DateTime<Utc>, held_until: Option<DateTime<Utc>>) -> Result<(), BookingRefusal> {
        match held_until {
            Some(until) if self == Self::Held && now >= until => Err(BookingRefusal::HoldLapsed { until }),
            _ => Ok(()),
        }
    }

    /// Records that a hold has run out.
    ///
    /// # Errors
    /// [`BookingRefusal`] if it isn't held, or still is.
    pub fn lapse(self, now: DateTime<Utc>, held_until: DateTime<Utc>) -> Result<Self, BookingRefusal> {
        let lapsed = self.go(BookingMove::Lapse)?;
        if now < held_until { Err(BookingRefusal::StillHeld { until: held_until }) } else { Ok(lapsed) }
    }

    /// Records the arrival of the car.
    ///
    /// # Errors
    /// [`WrongState`] if it isn't booked.
    pub fn arrive(self) -> Result<Self, WrongState> {
        self.go(BookingMove::Arrive)
    }

    /// Declares the work done; the caller checks [`Job::ready`](crate::job::Job::ready) first.
    ///
    /// # Errors
    /// [`WrongState`] if the car isn't in the bay.
    pub fn make_ready(self) -> Result<Self, WrongState> {
        self.go(BookingMove::MakeReady)
    }

    /// Hands the car over.
    ///
    /// # Errors
    /// [`WrongState`] if it isn't ready.
    pub fn hand_over(self) -> Result<Self, WrongState> {
        self.go(BookingMove::HandOver)
    }

    /// Calls it off.
    ///
    /// # Errors
    /// [`WrongState`] once the car has come.
    pub fn cancel(self) -> Result<Self, WrongState> {
        self.go(BookingMove::Cancel)
    }

    /// Records a no-show.
    ///
    /// # Errors
    /// [`BookingRefusal`] if it isn't booked, or before its start.
    pub fn no_show(self, now: DateTime<Utc>, start: DateTime<Utc>) -> Result<Self, BookingRefusal> {
        let no_show = self.go(BookingMove::NoShow)?;
        if now < start { Err(BookingRefusal::NotLateYet { start }) } else { Ok(no_show) }
    }
}

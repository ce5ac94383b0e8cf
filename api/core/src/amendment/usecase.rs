//! Storing and reading amendments.

use baywright_domain::id::{BookingId, PersonId};
use baywright_domain::undo::AmendmentKind;

use super::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::ids;
use crate::platform::personal::{Held, Holder, Left};
use crate::platform::tx::Tx;

/// Maximum number of amendments of one booking that are listed, latest first.
pub const MOST: usize = 500;

/// A later correction.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Amendment {
    /// Its id.
    pub id: String,
    /// The booking that it belongs to.
    pub booking: BookingId,
    /// Code of the step that was corrected; `None` for the booking itself.
    pub step: Option<String>,
    /// Kind of correction.
    pub what: What,
    /// Person who did it; `None` for the program's own command.
    pub person: Option<PersonId>,
    /// Reason, if one was given; `None` once the customer is erased.
    pub reason: Option<String>,
    /// Time when it was done.
    pub at: UtcTime,
}

/// Kind of correction, with its details.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What {
    /// A move was undone.
    Undone {
        /// The word of the move, such as `ARRIVE`.
        what: String,
        /// Time when it had been made.
        made_at: UtcTime,
    },
    /// The times of a step were corrected.
    TimesCorrected,
    /// The drying or curing of a step was ended early.
    WaitEnded,
}

impl What {
    /// Kind of the amendment, as the database stores it.
    pub fn kind(&self) -> AmendmentKind {
        match self {
            Self::Undone { .. } => AmendmentKind::Undone,
            Self::TimesCorrected => AmendmentKind::TimesCorrected,
            Self::WaitEnded => AmendmentKind::WaitEnded,
        }
    }
}

/// Stores an amendment, made now by the signed-in person; the caller writes the log.
pub fn keep(tx: &mut Tx<'_>, booking: &BookingId, step: Option<&str>, what: What, reason: Option<&str>) -> Done<()> {
    let amendment = Amendment {
        id: ids::new(),
        booking: booking.clone(),
        step: step.map(str::to_owned),
        what,
        person: tx.actor.person().cloned(),
        reason: reason.map(str::to_owned),
        at: tx.now,
    };
    Ok(store::insert(tx, &amendment)?)
}

/// Corrections to a booking and its work, latest first; empty if the shop has no such booking.
pub fn of_booking(tx: &mut Tx<'_>, booking: &BookingId) -> Done<Vec<Amendment>> {
    Ok(store::of_booking(tx, booking, MOST)?)
}

/// Data that this feature holds about a customer. The kind and time of a correction stay; the reasons are deleted.
pub const HOLDER: Holder = Holder {
    feature: "amendment",
    held: &[Held::of_row("amendment", "booking_id", "booking")],
    forget: |tx, leaving| {
        store::blank(tx, &leaving.ids("booking"))?;
        Ok(Left::default())
    },
};

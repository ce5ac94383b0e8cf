//! One booking, with what can be done with it now.

use std::collections::BTreeMap;

use baywright_domain::booking::{BookingMove, BookingState};
use baywright_domain::id::BookingId;
use baywright_domain::money::Money;
use baywright_domain::undo;

use super::{Car, Names, is_for_work_only};
use crate::booking::usecase::{Attendance, Booking, Last};
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::{booking, job, plan, quote, shop};

/// A booking as a person looks at it.
#[derive(Debug, Clone)]
pub struct OneBooking {
    /// The car and its customer.
    pub car: Car,
    /// Number of the quote; empty for technicians.
    pub number: String,
    /// State of the booking now.
    pub state: BookingState,
    /// The booking. Its names, note, reason and deposit are in the other fields, as far as the caller may see them.
    pub booking: Booking,
    /// Pieces of work, by time.
    pub pieces: Vec<Attendance>,
    /// Names of the steps in its plan, by code.
    pub steps: BTreeMap<String, String>,
    /// Agreed deposit, with tax; `None` if there is none, and for technicians.
    pub deposit: Option<Money>,
    /// Note of the desk; empty for technicians.
    pub note: String,
    /// Reason why it was cancelled; `None` for technicians.
    pub reason: Option<String>,
    /// What the caller may do with it now.
    pub may: May,
    /// Names of bays and people.
    pub names: Names,
}

/// What can be done with a booking now, as far as its state says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct May {
    /// Confirm the held place.
    pub book: bool,
    /// Hold the place for longer.
    pub hold_longer: bool,
    /// Choose another place or time.
    pub relocate: bool,
    /// Record the arrival of the car.
    pub arrive: bool,
    /// Record that the car didn't come.
    pub no_show: bool,
    /// Cancel it.
    pub cancel: bool,
    /// Record that the deposit was received.
    pub note_deposit: bool,
    /// Undo the last move, and whether a reason is needed for that.
    pub undo: Option<(Last, bool)>,
}

/// Reads a booking.
///
/// # Errors
/// `NotFound` if the shop has no such booking.
pub fn one(tx: &mut Tx<'_>, id: &BookingId) -> Done<OneBooking> {
    let booking::usecase::Detailed { booking, mut pieces } = booking::usecase::detailed(tx, id)?;
    pieces.sort_by_key(|piece| (piece.when.from(), piece.place, piece.helps));
    let names = plan::usecase::step_names(tx, std::slice::from_ref(&booking.plan))?;
    let steps = names.into_iter().map(|((_, code), name)| (code, name)).collect();
    let at_desk = !is_for_work_only(tx);
    let number = if at_desk { quote::usecase::head(tx, &booking.quote)?.number } else { String::new() };
    Ok(OneBooking {
        car: Car::of(tx, &booking),
        number,
        state: booking.state_at(tx.now),
        pieces,
        steps,
        deposit: booking.deposit.filter(|_| at_desk),
        note: if at_desk { booking.note.clone() } else { String::new() },
        reason: booking.reason.clone().filter(|_| at_desk),
        may: may(tx, &booking, at_desk)?,
        names: Names::read(tx)?,
        booking: bare(booking),
    })
}

/// A booking without what only some may see.
fn bare(mut booking: Booking) -> Booking {
    booking.names.customer.clear();
    booking.note.clear();
    booking.reason = None;
    booking.deposit = None;
    booking
}

fn may(tx: &mut Tx<'_>, booking: &Booking, at_desk: bool) -> Done<May> {
    let state = booking.state_at(tx.now);
    let begun = state.has_come() && job::usecase::has_begun(tx, &booking.id)?;
    let waits = !booking.place.standing && !begun;
    let held_until = booking.hold_until.map(UtcTime::datetime);
    let start = UtcTime::from_minute(booking.place.starts).datetime();
    let free = shop::usecase::settings(tx)?.terms.undo;
    let now = tx.now.datetime();
    let needs_reason = |last: &Last| undo::reason(last.at.datetime(), now, free, None).is_err();
    Ok(May {
        book: at_desk && state.can(BookingMove::Book),
        hold_longer: at_desk && state.can(BookingMove::HoldLonger),
        relocate: at_desk && state.relocate(now, held_until, waits).is_ok(),
        arrive: state.can(BookingMove::Arrive),
        no_show: at_desk && state.no_show(now, start).is_ok(),
        cancel: at_desk && state.can(BookingMove::Cancel),
        note_deposit: at_desk && !state.is_end() && booking.deposit.is_some() && booking.deposit_received_at.is_none(),
        undo: booking.last_move().map(|last| (last, needs_reason(&last))),
    })
}

//! Undoing the last move of a booking: everything that the move changed is as it was before. The caller undoes the
//! consequences for the job.

use baywright_domain::booking::{BookingMove, BookingState};
use baywright_domain::id::BookingId;
use baywright_domain::schedule::Taken;
use baywright_domain::time::Interval;
use baywright_domain::undo::{self, UndoRefusal};
use serde_json::json;

use super::letter::{News, tell};
use super::store::{self, Change, Entry};
use super::{Attendance, Booking, Detailed, detailed, fit, lapse, of_quote, show};
use crate::amendment::usecase::{self as amendment, What};
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::{customer, people, shop};

/// A move that can be undone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Last {
    /// The move.
    pub what: BookingMove,
    /// The booking's state before it.
    pub before: BookingState,
    /// Time when it was made.
    pub at: UtcTime,
}

impl Booking {
    /// The move that led to the booking's state, if it can be undone.
    pub fn last_move(&self) -> Option<Last> {
        let (what, before) = self.state.last_move(self.booked_at.is_some())?;
        let at = match self.state {
            BookingState::InBay => self.arrived_at,
            BookingState::Ready => self.ready_at,
            BookingState::HandedOver => self.handed_over_at,
            _ => self.ended_at,
        };
        Some(Last { what, before, at: at? })
    }
}

/// Undoes the last move of a booking, and tells the customer if a mail had said otherwise.
///
/// # Errors
/// `Conflict` if there is nothing to undo, if the place was given to another car or the people to other work, or if the
/// quote has another booking by now; `Invalid` if it was done too long ago and no reason is given.
pub fn undo(tx: &mut Tx<'_>, before: &Booking, last: Last, reason: Option<&str>) -> Done<Detailed> {
    let free = shop::usecase::settings(tx)?.terms.undo;
    let reason = undo::reason(last.at.datetime(), tx.now.datetime(), free, reason)?;
    let state = before.state.undo(last.what, last.before)?;
    let mut change = Change { state, ..Change::of(before) };
    match last.what {
        BookingMove::Arrive => {
            change.arrived_at = None;
            store::begin_as_agreed(tx, &before.id)?;
        }
        BookingMove::MakeReady => change.ready_at = None,
        BookingMove::HandOver => {
            change.handed_over_at = None;
        }
        _ => {
            change.ended_at = None;
            change.reason = None;
            stands_again(tx, before)?;
        }
    }
    store::set(tx, before, &change)?;
    match last.what {
        BookingMove::Arrive => in_bay_again(tx, &before.id, Entry::Arrival)?,
        BookingMove::HandOver => comes_back(tx, before)?,
        _ => {}
    }
    let what = What::Undone { what: last.what.as_str().to_owned(), made_at: last.at };
    amendment::keep(tx, &before.id, None, what, reason.as_deref())?;
    let detail = json!({
        "undone": last.what.as_str(), "made_at": last.at.to_string(), "with_reason": reason.is_some(),
    });
    record::write(tx, "booking.undone", ("booking", before.id.as_str()), detail)?;
    if state == BookingState::Booked && last.what != BookingMove::Arrive {
        still_fits(tx, &before.id)?;
    }
    let now = detailed(tx, &before.id)?;
    // The customer was never told of the other moves that can be undone.
    if last.what == BookingMove::Cancel {
        tell(tx, &now.booking, News::Restored)?;
    }
    Ok(now)
}

/// While the booking was cancelled or a no-show, other work may have been signed.
fn still_fits(tx: &mut Tx<'_>, id: &BookingId) -> Done<()> {
    let booking = show(tx, id)?;
    if let Some(misfit) = fit::after_signing(tx, &booking)? {
        for sentence in &misfit.sentences {
            tx.warn("booking-no-longer-fits", "", sentence);
        }
    }
    Ok(())
}

/// Refuses the request because there is nothing to undo.
pub fn nothing_to_undo(booking: &Booking) -> UndoRefusal {
    UndoRefusal::Nothing { record: "booking", state: booking.state.label() }
}

/// Undoes a hand-over: the car has its bay again. Its work is done, so people who have other work by now keep that.
fn comes_back(tx: &mut Tx<'_>, before: &Booking) -> Done<()> {
    lapse::end_lapsed(tx)?;
    bay_is_free(tx, before)?;
    let pieces = store::attendance_of(tx, &before.id)?;
    let taken = store::people_taken(tx, before.place.starts, last_end(before, &pieces), Some(&before.id))?;
    let free: Vec<Attendance> = pieces.into_iter().filter(|piece| in_the_way(piece, &taken).is_none()).collect();
    // The placement still knows whether the car was in its bay. If another car is in the bay now, this one was driven
    // out before.
    if store::standing_in(tx, &before.place.bay)?.is_some() {
        store::stand(tx, &before.id, false)?;
    }
    store::take_again(tx, &before.id, &free).map_err(raced)
}

/// Moves a car that was waiting before out of its bay again, because the start of its work is undone. Its place begins
/// at the booked start.
pub fn leave_bay(tx: &mut Tx<'_>, booking: &Booking) -> Done<()> {
    store::set(tx, booking, &Change::of(booking))?;
    store::begin_as_agreed(tx, &booking.id)?;
    store::stand(tx, &booking.id, false)?;
    if let Some(first) = booking.place.stays.first() {
        store::bring_to(tx, &booking.id, &first.bay)?;
    }
    record::write(tx, "booking.left-bay", ("booking", booking.id.as_str()), json!({}))?;
    in_bay_again(tx, &booking.id, Entry::Start)
}

/// Undoes that a ready car was driven out of the bay for this one: it is in its bay again, unless it was handed over or
/// worked on since, or another car is there now.
fn in_bay_again(tx: &mut Tx<'_>, id: &BookingId, on: Entry) -> Done<()> {
    let Some(other) = store::driven_out(tx, id, on)? else { return Ok(()) };
    store::keep_driven_out(tx, id, on, None)?;
    let other = show(tx, &other)?;
    if other.state != BookingState::Ready || store::standing_in(tx, &other.place.bay)?.is_some() {
        return Ok(());
    }
    store::set(tx, &other, &Change::of(&other))?;
    store::stand(tx, &other.id, true).map_err(raced)?;
    record::write(tx, "booking.in-bay-again", ("booking", other.id.as_str()), json!({}))
}

/// Undoes a no-show or a cancellation made by mistake: the booking has its bay and its people again.
fn stands_again(tx: &mut Tx<'_>, before: &Booking) -> Done<()> {
    lapse::end_lapsed(tx)?;
    customer::usecase::standing(tx, &before.customer)?;
    if let Some(other) = of_quote(tx, &before.quote)? {
        let detail = format!(
            "This work now has another booking, from {}. Keep that one, or cancel it first.",
            shop::usecase::settings(tx)?.wall(other.place.starts)
        );
        return Err(Refused::conflict("undo-first", detail).into());
    }
    bay_is_free(tx, before)?;
    let pieces = store::attendance_of(tx, &before.id)?;
    let taken = store::people_taken(tx, before.place.starts, last_end(before, &pieces), Some(&before.id))?;
    if let Some((piece, other)) = pieces.iter().find_map(|piece| Some((piece, in_the_way(piece, &taken)?))) {
        let who = people::usecase::show(tx, &piece.person)?.details.name;
        return Err(given_away(tx, &format!("{who} has other work in this time now"), other)?.into());
    }
    store::take_again(tx, &before.id, &pieces).map_err(raced)
}

/// Refuses the request if another car has the bay in the booking's time, or the car itself is in a bay for another
/// booking then.
fn bay_is_free(tx: &mut Tx<'_>, before: &Booking) -> Done<()> {
    let place = &before.place;
    let stay = (place.starts, place.finishes);
    if let Some(other) = store::car_taken(tx, &before.vehicle, stay, Some(&before.id))?.first() {
        return Err(given_away(tx, "The car itself has another booking in this time now", other)?.into());
    }
    let taken = store::bays_taken(tx, place.starts, place.finishes, Some(&before.id))?;
    let mut stays = place.stays.iter();
    let other = stays.find_map(|stay| Taken::first_of(&taken, stay.bay.as_str(), Interval::new(stay.from, stay.to)?));
    let Some(other) = other else { return Ok(()) };
    Err(given_away(tx, "The bay has another booking in this time now", other)?.into())
}

/// Pieces may lie after the end of the placement if an overrun was recorded.
fn last_end(booking: &Booking, pieces: &[Attendance]) -> baywright_domain::time::Minute {
    pieces.iter().map(|piece| piece.when.to()).fold(booking.place.finishes, Ord::max)
}

fn in_the_way<'t>(piece: &Attendance, taken: &'t [Taken]) -> Option<&'t Taken> {
    Taken::first_of(taken, piece.person.as_str(), piece.when)
}

/// The booking that took the time, with the next step.
fn given_away(tx: &mut Tx<'_>, what: &str, other: &Taken) -> Done<Refused> {
    let settings = shop::usecase::settings(tx)?;
    let car = show(tx, &BookingId::new(other.booking.clone()))?.car();
    let (from, to) = (settings.wall(other.when.from()), settings.wall(other.when.to()));
    let detail = format!("{what}: {car}, from {from} to {to}. Move or cancel booking {} first.", other.booking);
    Ok(Refused::conflict("undo-first", detail))
}

fn raced(error: DbError) -> Fail {
    if error.is_taken() {
        let detail = "Someone else took this time just now. Read the day's bookings again.";
        Refused::conflict("slot-taken", detail).into()
    } else {
        error.into()
    }
}

//! The moves of a booking. The rules decide whether each is allowed; this module stores it, with its consequences.

use baywright_domain::booking::BookingState;
use baywright_domain::id::{BayId, BookingId, QuoteId};
use baywright_domain::plan::Hands;
use baywright_domain::schedule::stays::Visit;
use baywright_domain::time::{Minute, Minutes};
use serde_json::{Value, json};

use super::letter::{News, tell};
use super::place::{self, NewBooking, Wish};
use super::store::{self, Change};
use super::week::movable_of;
use super::{Booking, Detailed, detailed, lapse, promise, show};
use crate::plan;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::shop;

/// Confirms a held place and tells the customer.
pub fn book(tx: &mut Tx<'_>, id: &BookingId, seen: Seen) -> Done<Detailed> {
    let booking = current(tx, id, seen)?;
    let held_until = booking.hold_until.map(UtcTime::datetime);
    let state = booking.state.book(tx.now.datetime(), held_until).map_err(|no| booking.refused(no))?;
    let change = Change { state, hold_until: None, booked_at: Some(tx.now), ..Change::of(&booking) };
    store::set(tx, &booking, &change)?;
    store::settle(tx, id)?;
    let agreed = told(tx, "booking.booked", id, json!({}))?;
    tell(tx, &agreed.booking, News::Booked)?;
    Ok(agreed)
}

/// Holds a place for longer: for as long as the shop's settings say, from now on.
pub fn hold_longer(tx: &mut Tx<'_>, id: &BookingId, seen: Seen) -> Done<Detailed> {
    let booking = current(tx, id, seen)?;
    let held_until = booking.hold_until.map(UtcTime::datetime);
    let state = booking.state.hold_longer(tx.now.datetime(), held_until).map_err(|no| booking.refused(no))?;
    let until = tx.now.plus_minutes(i64::from(shop::usecase::settings(tx)?.terms.hold.get()));
    store::set(tx, &booking, &Change { state, hold_until: Some(until), ..Change::of(&booking) })?;
    store::hold(tx, id, until)?;
    told(tx, "booking.held-longer", id, json!({ "until": until.to_string() }))
}

/// The new place of a booking.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Destination {
    /// The bay.
    pub bay: BayId,
    /// Time when the car takes it.
    pub start: Minute,
    /// Whether the car may change bays even if one bay has everything that its work needs.
    pub may_move: bool,
    /// Number of people who do the work; as many as before if none is said.
    pub hands: Option<Hands>,
}

/// Moves a booking to another place or time, and tells the customer if it was confirmed and a time that they know
/// changes. A move to the place that it already has, with the same people, changes nothing. The work is planned by the
/// quote's latest plan, for as many people as before unless another number is given.
///
/// A car that has come and is waiting for its bay can be moved to another one. Jobs are above bookings, so the caller
/// says whether work on it has `begun`.
pub fn relocate(tx: &mut Tx<'_>, id: &BookingId, seen: Seen, to: &Destination, begun: bool) -> Done<Detailed> {
    lapse::end_lapsed(tx)?;
    let booking = current(tx, id, seen)?;
    let waits = !booking.place.standing && !begun;
    let held_until = booking.hold_until.map(UtcTime::datetime);
    let state = booking.state.relocate(tx.now.datetime(), held_until, waits).map_err(|no| booking.refused(no))?;
    let hands = to.hands.unwrap_or(booking.hands);
    if state == BookingState::InBay && hands != booking.hands {
        let detail = "The car is here and its job was made for another number of people. Leave this field out.";
        return Err(Refused::field("/hands", "car_is_here", detail).into());
    }
    let plan = plan::usecase::of_quote(tx, &booking.quote)?.with(hands)?;
    let settings = shop::usecase::settings(tx)?;
    place::in_time(tx, &settings, &plan, to.start)?;
    place::soon_enough(tx, &settings, to.start)?;
    let wish = if state == BookingState::Held { Wish::Hold } else { Wish::Book };
    let (quote, hands) = (booking.quote.clone(), plan.hands);
    let Destination { bay, start, may_move, .. } = to.clone();
    let new = NewBooking { quote, bay, start, may_move, wish, hands, note: String::new() };
    let (visit, open) = place::find(tx, &settings, &plan, &new, Some(id))?;
    let margin = promise::margin(tx, &settings, &plan, &visit, &open)?;
    if plan.id == booking.plan && stays(tx, &booking, hands, &visit, margin)? {
        return detailed(tx, id);
    }
    store::release(tx, id)?;
    place::take(tx, id, &visit, settings.terms.moving.minutes, margin, booking.hold_until, &new)?;
    store::set(tx, &booking, &Change { state, hands, plan: plan.id, fits: true, ..Change::of(&booking) })?;
    let moved = told(tx, "booking.moved", id, place::told(&new, hands, &visit, margin))?;
    let (before, after) = (&booking.place, &moved.booking.place);
    match state {
        BookingState::Booked if (before.starts, before.promised) != (after.starts, after.promised) => {
            tell(tx, &moved.booking, News::Moved)?;
        }
        // The customer has brought the car and expects it back at the promised time.
        BookingState::InBay if after.promised > before.promised => {
            tell(tx, &moved.booking, News::Later)?;
        }
        _ => {}
    }
    Ok(moved)
}

/// Whether a booking has that very place already, for work that still fits.
fn stays(tx: &mut Tx<'_>, booking: &Booking, hands: Hands, visit: &Visit, margin: Minutes) -> Done<bool> {
    let same = booking.fits && hands == booking.hands && booking.place.promised == visit.finish + margin;
    Ok(same && movable_of(tx, booking.clone())?.visit == *visit)
}

/// Cancels it, with a reason, and tells the customer if it was confirmed.
pub fn cancel(tx: &mut Tx<'_>, id: &BookingId, seen: Seen, reason: &str) -> Done<Detailed> {
    let booking = current(tx, id, seen)?;
    let state = booking.state.cancel().map_err(|refused| booking.refused(refused))?;
    let change = Change {
        state,
        hold_until: None,
        ended_at: Some(tx.now),
        reason: Some(reason.to_owned()),
        ..Change::of(&booking)
    };
    store::set(tx, &booking, &change)?;
    store::release(tx, id)?;
    let ended = told(tx, "booking.cancelled", id, json!({}))?;
    if booking.state == BookingState::Booked {
        tell(tx, &ended.booking, News::Cancelled)?;
    }
    Ok(ended)
}

/// Records a no-show.
pub fn no_show(tx: &mut Tx<'_>, id: &BookingId, seen: Seen) -> Done<Detailed> {
    let booking = current(tx, id, seen)?;
    let start = UtcTime::from_minute(booking.place.starts).datetime();
    let state = booking.state.no_show(tx.now.datetime(), start).map_err(|refused| booking.refused(refused))?;
    store::set(tx, &booking, &Change { state, ended_at: Some(tx.now), ..Change::of(&booking) })?;
    store::release(tx, id)?;
    told(tx, "booking.no-show", id, json!({}))
}

/// Notes on the booking of a quote that its deposit invoice is paid, or no longer is.
pub fn deposit_paid(tx: &mut Tx<'_>, quote: &QuoteId, paid: bool) -> Done<()> {
    let Some(booking) = store::standing(tx, quote)?.filter(|booking| booking.deposit.is_some()) else { return Ok(()) };
    if booking.deposit_received_at.is_some() == paid {
        return Ok(());
    }
    let change = Change { deposit_received_at: paid.then_some(tx.now), ..Change::of(&booking) };
    store::set(tx, &booking, &change)?;
    let action = if paid { "booking.deposit-received" } else { "booking.deposit-undone" };
    record::write(tx, action, ("booking", booking.id.as_str()), json!({}))
}

/// Records that the deposit was received.
pub fn deposit_received(tx: &mut Tx<'_>, id: &BookingId, seen: Seen) -> Done<Detailed> {
    let booking = current(tx, id, seen)?;
    if booking.deposit.is_none() {
        return Err(Refused::conflict("no-deposit", "No deposit was agreed for this booking.").into());
    }
    if booking.deposit_received_at.is_some() {
        return Err(Refused::conflict("deposit-received", "The deposit is already recorded as received.").into());
    }
    let change = Change { deposit_received_at: Some(tx.now), ..Change::of(&booking) };
    store::set(tx, &booking, &change)?;
    told(tx, "booking.deposit-received", id, json!({}))
}

/// Declares the work done; the caller has checked the job's steps before.
pub fn make_ready(tx: &mut Tx<'_>, id: &BookingId, seen: Seen) -> Done<Detailed> {
    let booking = current(tx, id, seen)?;
    let state = booking.state.make_ready()?;
    store::set(tx, &booking, &Change { state, ready_at: Some(tx.now), ..Change::of(&booking) })?;
    told(tx, "booking.ready", id, json!({}))
}

/// Hands the car over; its bay and the people are free from then on.
pub fn hand_over(tx: &mut Tx<'_>, id: &BookingId, seen: Seen) -> Done<Detailed> {
    let booking = current(tx, id, seen)?;
    let state = booking.state.hand_over().map_err(|refused| booking.refused(refused))?;
    store::set(tx, &booking, &Change { state, handed_over_at: Some(tx.now), ..Change::of(&booking) })?;
    store::release(tx, id)?;
    told(tx, "booking.handed-over", id, json!({}))
}

pub(super) fn current(tx: &mut Tx<'_>, id: &BookingId, seen: Seen) -> Done<Booking> {
    let booking = show(tx, id)?;
    seen.check(booking.version)?;
    Ok(booking)
}

pub(super) fn told(tx: &mut Tx<'_>, action: &str, id: &BookingId, detail: Value) -> Done<Detailed> {
    record::write(tx, action, ("booking", id.as_str()), detail)?;
    detailed(tx, id)
}

//! Arrival of a car: the bay that it takes, and what somebody must confirm first.

use baywright_domain::booking::{Arrival, BookingState, Occupant, arrival, entry};
use baywright_domain::calendar::{ZoneRules, day_in_words};
use baywright_domain::id::{BayId, BookingId};
use baywright_domain::time::Minute;
use serde_json::json;

use super::moves::{current, told};
use super::store::{self, Change, Entry};
use super::{Booking, Detailed, fit, lapse, place, show};
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::kept::Amount;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::{plan, shop};

/// Records the arrival. A car that comes early has its bay from now on, if nobody else has the bay in between;
/// otherwise it waits outside the bay until its time.
///
/// # Errors
/// `Conflict` if another car stands in the bay at the car's time, if the car itself is here for another booking, or if
/// other work was signed since it was booked. A car that comes on another day than booked, or for a bay whose last car
/// is ready, needs a confirmation.
pub fn arrive(tx: &mut Tx<'_>, id: &BookingId, seen: Seen) -> Done<Detailed> {
    lapse::end_lapsed(tx)?;
    let booking = current(tx, id, seen)?;
    let state = booking.state.arrive().map_err(|refused| booking.refused(refused))?;
    fit::must_fit(tx, &booking)?;
    let agreed = plan::usecase::of_quote(tx, &booking.quote)?;
    place::warn_to_wait(tx, &agreed)?;
    here_once(tx, &booking)?;
    on_its_day(tx, &booking)?;
    deposit_paid(tx, &booking);
    let (now, place) = (tx.now.minute(), &booking.place);
    let others = now < place.starts && is_taken_before(tx, &booking, now)?;
    let came = free_bay(tx, &booking, &place.bay, Entry::Arrival, place.starts, others)?;
    store::set(tx, &booking, &Change { state, arrived_at: Some(tx.now), ..Change::of(&booking) })?;
    if let Arrival::Stands { from } = came {
        stand(tx, &booking, from)?;
    } else {
        warn_to_keep_outside(tx, &booking)?;
    }
    told(tx, "booking.arrived", id, json!({}))
}

/// Moves a car into the bay in which work on it begins: one that was waiting for its first bay, or one that changes
/// bays. The bay is its own from now on, if nobody else has it in between; otherwise the desk is warned of the bookings
/// that are in the way.
///
/// # Errors
/// `Conflict` if another car is in the bay.
pub fn enter_bay(tx: &mut Tx<'_>, booking: &Booking, bay: &BayId) -> Done<()> {
    let place = &booking.place;
    if place.standing && place.bay == *bay {
        return Ok(());
    }
    let now = tx.now.minute();
    free_bay(tx, booking, bay, Entry::Start, now, false)?;
    store::set(tx, booking, &Change::of(booking))?;
    if !place.standing && place.bay == *bay {
        let others = now < place.starts && is_taken_before(tx, booking, now)?;
        if others {
            warn_of_others(tx, booking, bay, (now, place.starts))?;
        }
        stand(tx, booking, entry(now, place.starts, others))?;
    } else {
        // The time of its stays remains as agreed: only a diary that is asked while the car is there early counts it.
        let ahead = place.stays.iter().find(|stay| stay.bay == *bay && stay.to > now).map_or(now, |stay| stay.from);
        if now < ahead {
            warn_of_others(tx, booking, bay, (now, ahead))?;
        }
        store::bring_to(tx, &booking.id, bay).map_err(raced)?;
        store::stand(tx, &booking.id, true).map_err(raced)?;
    }
    record::write(tx, "booking.entered-bay", ("booking", booking.id.as_str()), json!({ "bay": bay.as_str() }))
}

/// Moves a car back to the bay from which the start of a step had brought it, because that start is undone.
pub fn return_to_bay(tx: &mut Tx<'_>, booking: &Booking, bay: &BayId) -> Done<()> {
    if booking.place.bay == *bay {
        return Ok(());
    }
    store::set(tx, booking, &Change::of(booking))?;
    store::bring_to(tx, &booking.id, bay).map_err(raced)?;
    record::write(tx, "booking.entered-bay", ("booking", booking.id.as_str()), json!({ "bay": bay.as_str() }))
}

/// Warns that the car is here but has no bay yet.
fn warn_to_keep_outside(tx: &mut Tx<'_>, booking: &Booking) -> Done<()> {
    let settings = shop::usecase::settings(tx)?;
    let bay = shop::usecase::show_bay(tx, &booking.place.bay)?.details.name;
    let detail = format!(
        "The car is here, but not in its bay yet: {bay} is in use or booked for another car before {}. Keep the car \
         outside; it moves into the bay when its first step starts.",
        settings.wall(booking.place.starts)
    );
    tx.warn("waits-outside-bay", "", detail);
    Ok(())
}

/// Warns of work for which the agreed deposit was not recorded as received.
fn deposit_paid(tx: &mut Tx<'_>, booking: &Booking) {
    if let (Some(deposit), None) = (booking.deposit, booking.deposit_received_at) {
        let detail = format!(
            "The agreed deposit of {} is not recorded as received. Ask for it before the work begins, or record it: \
             POST /v1/bookings/{}/deposit.",
            Amount::of(deposit, tx.studio.currency),
            booking.id
        );
        tx.warn("deposit-unpaid", "", detail);
    }
}

/// Stores that the car is in its bay, which it has from that minute on, earlier than booked.
fn stand(tx: &mut Tx<'_>, booking: &Booking, from: Minute) -> Done<()> {
    let place = &booking.place;
    if from < place.starts && place.finishes.get() - from.get() <= store::LONGEST {
        store::begin(tx, &booking.id, from)?;
    }
    store::stand(tx, &booking.id, true).map_err(raced)
}

/// Names the bookings of cars that are still to come and have the bay between now and the time of the car that takes it
/// now.
fn warn_of_others(tx: &mut Tx<'_>, booking: &Booking, bay: &BayId, (now, starts): (Minute, Minute)) -> Done<()> {
    let settings = shop::usecase::settings(tx)?;
    let name = shop::usecase::show_bay(tx, bay)?.details.name;
    for taken in store::bays_taken(tx, now, starts, Some(&booking.id))? {
        if taken.owner != bay.as_str() {
            continue;
        }
        let other = show(tx, &BookingId::new(taken.booking))?;
        if other.state.has_come() {
            continue;
        }
        let detail = format!(
            "Move booking {} to another bay or time: {name} is booked for {} from {} to {}, and this car is in it now.",
            other.id,
            other.car(),
            settings.wall(taken.when.from()),
            settings.wall(taken.when.to())
        );
        tx.warn("bay-booked-before", "", &detail);
    }
    Ok(())
}

/// What happens to a car that comes to the bay now for a place that begins at `starts`. A ready car counts as gone from
/// the bay if a person confirmed that it was driven out; its booking is kept with the move, so that an undo brings it
/// back.
fn free_bay(tx: &mut Tx<'_>, booking: &Booking, bay: &BayId, on: Entry, starts: Minute, others: bool) -> Done<Arrival> {
    let now = tx.now.minute();
    let there = store::standing_in(tx, bay)?.filter(|other| *other != booking.id);
    let Some(other) = there.map(|other| show(tx, &other)).transpose()? else {
        return Ok(arrival(now, starts, Occupant::None, others));
    };
    let occupant = if other.state == BookingState::Ready { Occupant::Ready } else { Occupant::InWork };
    let bay = shop::usecase::show_bay(tx, bay)?.details.name;
    let car = other.car();
    match arrival(now, starts, occupant, others) {
        Arrival::Occupied => {
            let detail = format!(
                "{bay} is occupied by {car}, and the work on it is not finished. Finish that work and hand the car \
                 over first, or move this booking to another bay."
            );
            Err(Refused::conflict("bay-occupied", detail).into())
        }
        Arrival::AskFirst => {
            let detail = format!(
                "{car} is ready but was not handed over, so by the records it is still in {bay}. Confirm that it was \
                 driven out."
            );
            tx.must_confirm("bay-not-cleared", &detail)?;
            store::set(tx, &other, &Change::of(&other))?;
            store::stand(tx, &other.id, false)?;
            store::keep_driven_out(tx, &booking.id, on, Some(&other.id))?;
            record::write(tx, "booking.left-bay", ("booking", other.id.as_str()), json!({}))?;
            Ok(arrival(now, starts, Occupant::None, others))
        }
        free => Ok(free),
    }
}

/// Whether another car has the bay, or another booking has this car, between now and the booking's start.
fn is_taken_before(tx: &mut Tx<'_>, booking: &Booking, now: Minute) -> Done<bool> {
    let (place, except) = (&booking.place, Some(&booking.id));
    let bay = store::bays_taken(tx, now, place.starts, except)?.iter().any(|other| other.owner == place.bay.as_str());
    Ok(bay || !store::car_taken(tx, &booking.vehicle, (now, place.starts), except)?.is_empty())
}

/// Refuses a car that is here already for other work.
fn here_once(tx: &mut Tx<'_>, booking: &Booking) -> Done<()> {
    let Some(other) = store::here(tx, &booking.vehicle, &booking.id)? else { return Ok(()) };
    let detail = format!(
        "This car is already here for booking {other}. Hand it over for that booking first, then take it in for this \
         one."
    );
    Err(Refused::conflict("car-is-here", detail).into())
}

/// Asks for a confirmation if the car comes on another day, and warns if the diary keeps no time for it.
fn on_its_day(tx: &mut Tx<'_>, booking: &Booking) -> Done<()> {
    let settings = shop::usecase::settings(tx)?;
    let (today, place) = (tx.today()?, &booking.place);
    if settings.zone.to_local(place.starts).date() != today {
        let detail = format!(
            "This booking is for {}, and today is {}. Check that it is the right booking, and confirm that the car came \
             on another day.",
            settings.wall(place.starts),
            day_in_words(today)
        );
        tx.must_confirm("arrival-on-another-day", &detail)?;
    }
    if tx.now.minute() >= place.finishes {
        let detail = format!(
            "The bay was booked for this car only until {}. Ask for a new plan of the next days in which this car \
             stays longer: POST /v1/reschedulings with this booking in overruns.",
            settings.wall(place.finishes)
        );
        tx.warn("booked-time-has-passed", "", &detail);
    }
    Ok(())
}

fn raced(error: DbError) -> Fail {
    if error.is_taken() {
        Refused::conflict(
            "bay-occupied",
            "Another car was taken into this bay just now. Read the day's bookings again.",
        )
        .into()
    } else {
        error.into()
    }
}

//! Cars that stay in their bay longer than planned, because of an overrun or of more work that was agreed.

use baywright_domain::booking::{BookingState, InTheWay, LongerStay, OverrunRefusal};
use baywright_domain::id::BookingId;
use baywright_domain::plan::Hands;
use baywright_domain::schedule::stays::Visit;
use baywright_domain::schedule::{Bay, Taken, Technician};
use baywright_domain::time::Minute;
use serde_json::json;

use super::diary::{self, AHEAD_DAYS, Book, Others};
use super::fit::note_fit;
use super::store::{self, Change};
use super::week::{Movable, Overrun, movable_of};
use super::{Booking, lapse, promise, show};
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::shop;

/// Books the longer stay of an overrunning car, and the time of the people who do its last step; returns the booking
/// with its longer place. `at` is the index of the overrun in the request.
pub(super) fn prolong(
    tx: &mut Tx<'_>,
    book: &Book,
    at: usize,
    overrun: &Overrun,
    bays: &mut [Bay],
    people: &mut [Technician],
) -> Done<(Booking, Visit)> {
    let booking = show(tx, &overrun.booking).map_err(|_| {
        Refused::field(format!("/overruns/{at}/booking_id"), "unknown", "The shop has no such booking.")
    })?;
    let refused = |refusal: OverrunRefusal| Fail::from(refusal).repointed(|pointer| format!("/overruns/{at}{pointer}"));
    let (booked, known) = (booking.place.finishes, book.horizon.span().to());
    let longer = LongerStay::new(booking.state, booked, overrun.finish, tx.now.minute(), known).map_err(refused)?;
    let Movable { booking, mut visit, .. } = movable_of(tx, booking)?;
    if longer.book(bays, people, &mut visit).is_err() {
        return Err(refused(OverrunRefusal::BayTaken(in_the_way(tx, book, visit.last_bay(), longer)?)));
    }
    Ok((booking, visit))
}

/// The obstacle to the longer stay of an overrunning car in that bay.
fn in_the_way(tx: &mut Tx<'_>, book: &Book, bay: &str, longer: LongerStay) -> Done<InTheWay> {
    let Some(taken) = Taken::first_of(&book.bays, bay, longer.rest()) else {
        return Ok(InTheWay::Overrun);
    };
    let other = show(tx, &BookingId::new(taken.booking.clone()))?;
    let car = other.car();
    Ok(match other.state {
        BookingState::InBay | BookingState::Ready => InTheWay::Here { car },
        _ => InTheWay::ToCome { car },
    })
}

/// Stores what a customer has just signed for a car in its bay. The time by which they were told it will be ready is
/// its promise now, and its bay and people are kept until the work is expected to be done, if they are free until then
/// and that is not later than the promise. Returns the booking as it is then: it `fits` if its bay is kept for long
/// enough. `expected` is `None` if no time for the work was found, and `told` if they were told no time.
pub fn agree_longer(
    tx: &mut Tx<'_>,
    booking: &Booking,
    expected: Option<Minute>,
    told: Option<Minute>,
) -> Done<Booking> {
    let before = &booking.place;
    let promised = told.map_or(before.promised, |told| told.max(before.promised));
    let longer = match expected {
        Some(expected) if before.finishes < expected && expected <= promised => kept_until(tx, booking, expected)?,
        _ => None,
    };
    let fits = longer.is_some() || expected.is_some_and(|expected| expected <= before.finishes);
    if longer.is_none() && promised == before.promised {
        note_fit(tx, &booking.id, fits)?;
        return show(tx, &booking.id);
    }
    let visit = match longer {
        Some(visit) => visit,
        None => movable_of(tx, booking.clone())?.visit,
    };
    let margin = promise::between(visit.finish, promised);
    store::take(tx, &booking.id, &visit, before.move_minutes, margin, None)?;
    store::set(tx, booking, &Change { fits, ..Change::of(booking) })?;
    let moment = |at: Minute| UtcTime::from_minute(at).to_string();
    let detail = json!({ "finish": moment(visit.finish), "promised": moment(promised), "fits": fits });
    record::write(tx, "booking.agreed-longer", ("booking", booking.id.as_str()), detail)?;
    show(tx, &booking.id)
}

/// The longer place of a car in its bay, with its people as for an overrun; `None` if another car has the bay by then,
/// or this car another bay.
fn kept_until(tx: &mut Tx<'_>, booking: &Booking, finish: Minute) -> Done<Option<Visit>> {
    lapse::end_lapsed(tx)?;
    let (now, place) = (tx.now.minute(), &booking.place);
    let settings = shop::usecase::settings(tx)?;
    let book = diary::open(tx, &settings, now, AHEAD_DAYS, Hands::One, Some(&booking.vehicle), None)?;
    let known = book.horizon.span().to();
    let Ok(longer) = LongerStay::new(booking.state, place.finishes, finish, now, known) else { return Ok(None) };
    if finish.get() - place.starts.get() > store::LONGEST {
        return Ok(None);
    }
    let mut visit = movable_of(tx, booking.clone())?.visit;
    let (mut bays, mut people) = (book.bay_time(Others::Count), book.people_time(Others::Count));
    let free = longer.book(&mut bays, &mut people, &mut visit).is_ok();
    Ok(free.then_some(visit))
}

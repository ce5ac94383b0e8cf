//! Cars that stay in their bay longer than planned.

use baywright_domain::booking::{BookingState, InTheWay, LongerStay, OverrunRefusal};
use baywright_domain::id::BookingId;
use baywright_domain::schedule::stays::Visit;
use baywright_domain::schedule::{Bay, Taken, Technician};

use super::diary::Book;
use super::week::{Movable, Overrun, movable_of};
use super::{Booking, show};
use crate::platform::fail::{Done, Fail};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;

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

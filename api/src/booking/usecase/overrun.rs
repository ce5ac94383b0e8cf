//! Cars that stay in their bay longer than was thought.

use baywright_domain::booking::BookingState;
use baywright_domain::id::BookingId;
use baywright_domain::schedule::{Bay, Placement, Technician};
use baywright_domain::time::{Interval, IntervalSet};

use super::diary::Book;
use super::store::Taken;
use super::week::{Overrun, movable_of};
use super::{Booking, show};
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;

/// Books the rest of an overrunning car's stay, and the time of whoever does its last step: all of their working time
/// until it is done. Of two at that step both are booked while both are at work and free; in the
/// search each is busy for as long as they are in.
pub(super) fn prolong(
    tx: &mut Tx<'_>,
    book: &Book,
    at: usize,
    overrun: &Overrun,
    bays: &mut [Bay],
    people: &mut [Technician],
) -> Done<(Booking, Placement)> {
    let fault = |code: &str, detail: &str| Refused::field(format!("/overruns/{at}/finish"), code, detail.to_owned());
    let booking = show(tx, &overrun.booking).map_err(|_| {
        Refused::field(format!("/overruns/{at}/booking_id"), "unknown", "The shop has no such booking.")
    })?;
    if booking.state != BookingState::InBay {
        return Err(fault("not_in_bay", "Only a car that is in its bay can overrun. Move this booking instead.").into());
    }
    let after = booking.place.finishes.max(tx.now.minute());
    if overrun.finish <= after || overrun.finish > book.horizon.span().to() {
        return Err(fault(
            "not_later",
            "Give a finish that is later than the agreed one and within the days of the proposal.",
        )
        .into());
    }
    let rest: IntervalSet = Interval::new(booking.place.finishes, overrun.finish).into_iter().collect();
    let mut open = IntervalSet::EMPTY;
    for bay in bays.iter_mut().filter(|bay| bay.code == booking.place.bay.as_str()) {
        if !bay.held.intersection(&rest).is_empty() {
            return Err(fault("bay_taken", &in_the_way(tx, book, &booking, &rest)?).into());
        }
        bay.held = bay.held.union(&rest);
        open = bay.open.clone();
    }
    let mut movable = movable_of(tx, booking)?;
    let worked = movable.placement.steps.iter_mut().filter(|step| !step.pieces.is_empty());
    if let Some(last) = worked.last() {
        let begun = last.pieces.last().map_or(after, |piece| piece.to());
        let rest: IntervalSet = Interval::new(begun.max(tx.now.minute()), overrun.finish).into_iter().collect();
        let (leads, helps) = (last.leads().map(str::to_owned), last.helps().map(str::to_owned));
        let at_it = |person: &&mut Technician| [&leads, &helps].into_iter().flatten().any(|code| *code == person.code);
        let free = people
            .iter_mut()
            .filter(at_it)
            .fold(rest.intersection(&open), |free, person| free.intersection(&person.working).difference(&person.busy));
        for person in people.iter_mut().filter(at_it) {
            // Whose colleague is away or elsewhere goes on alone.
            let own = rest.intersection(&open).intersection(&person.working);
            person.busy = person.busy.union(&own);
        }
        last.pieces.extend(free.iter().copied());
    }
    movable.placement.finish = overrun.finish;
    Ok((movable.booking, movable.placement))
}

/// What keeps the bay of an overrunning car, and what to do about it.
fn in_the_way(tx: &mut Tx<'_>, book: &Book, booking: &Booking, rest: &IntervalSet) -> Done<String> {
    let keeps = |other: &&Taken| {
        other.owner == booking.place.bay.as_str()
            && other.booking != booking.id.as_str()
            && !rest.intersection(&IntervalSet::from_iter([other.when])).is_empty()
    };
    let first = book.bays.iter().find(keeps).map(|other| BookingId::new(other.booking.clone()));
    let Some(other) = first.map(|other| show(tx, &other)).transpose()? else {
        return Ok("Another car that overruns has the bay then. Give one of them an earlier finish.".to_owned());
    };
    let car = other.car();
    Ok(match other.state {
        BookingState::InBay | BookingState::Ready => {
            format!(
                "The bay is also booked for {car}, which is already here. Hand that car over first, or give an earlier \
                 finish."
            )
        }
        _ => format!(
            "Move or cancel the booking of {car} first: it has the bay then, and a proposal can't move it. Its time is \
             only held, or has begun, it is booked for two pairs of hands, its car has another booking in these days, \
             or it ends after the days of the proposal."
        ),
    })
}

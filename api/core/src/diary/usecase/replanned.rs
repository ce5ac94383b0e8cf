//! A rescheduling beside the diary as it is.

use std::collections::BTreeMap;

use baywright_domain::booking::BookingState;
use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::id::{BookingId, QuoteId, ReschedulingId};
use baywright_domain::rescheduling::{ReschedulingMove, ReschedulingState};
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};

use super::offered::place_of;
use super::{Car, Names, pieces_of};
use crate::booking::usecase::Booking;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::rescheduling::kept::RescheduledTimeForm;
use crate::rescheduling::usecase::{Rescheduling, show};
use crate::{booking, shop};

/// A rescheduling with the names in it.
#[derive(Debug, Clone)]
pub struct Replanned {
    /// Id of the rescheduling.
    pub id: ReschedulingId,
    /// Its version.
    pub version: i64,
    /// Whether it can still be accepted.
    pub is_open: bool,
    /// Cars that get another place or a first one, by their new start.
    pub changed: Vec<ReplannedCar>,
    /// Cars that keep their places.
    pub kept: Vec<ReplannedCar>,
    /// Cars whose bookings no rescheduling moves, each with whether its booking can no longer be kept.
    pub unmoved: Vec<(Car, bool)>,
    /// Cars that stay longer in their bay, each with its new finish.
    pub longer: Vec<(Car, Minute)>,
    /// Number of customers whose times change, who get a mail when it is accepted.
    pub promises: usize,
    /// Whether no better schedule with as few moved promises is possible.
    pub proven: bool,
    /// The days of the places that change, from the first minute to the last; `None` if none does.
    pub span: Option<Interval>,
    /// Time in these days when each bay is open, by the ids of bays in use.
    pub open: BTreeMap<String, IntervalSet>,
    /// Names of bays.
    pub names: Names,
}

/// A car with its place before and after.
#[derive(Debug, Clone)]
pub struct ReplannedCar {
    /// The car.
    pub car: Car,
    /// Its place when the rescheduling was made; `None` if it had none.
    pub before: Option<PlaceSeen>,
    /// Its new place.
    pub after: PlaceSeen,
    /// Whether its customer was told other times, and gets a mail.
    pub promise_moves: bool,
    /// Reason why it has another place.
    pub because: Option<String>,
}

/// A place with the time of the work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlaceSeen {
    /// Id of the bay.
    pub bay: String,
    /// Time from start to finish.
    pub when: Interval,
    /// Time of the work; empty if it is no longer known.
    pub work: IntervalSet,
}

/// Reads a rescheduling.
///
/// # Errors
/// `NotFound` if the shop has no such rescheduling.
pub fn replanned(tx: &mut Tx<'_>, id: &ReschedulingId) -> Done<Replanned> {
    let Rescheduling { version, state, week, .. } = show(tx, id)?;
    let booked = week.jobs.iter().filter_map(|job| job.booking_id.clone());
    let others = week.unmoved.iter().map(|one| one.booking_id.clone());
    let longer = week.overruns.iter().map(|one| one.booking_id.clone());
    let ids: Vec<BookingId> = booked.chain(others).chain(longer).map(BookingId::new).collect();
    let bookings: BTreeMap<BookingId, Booking> =
        booking::usecase::of_ids(tx, &ids)?.into_iter().map(|booking| (booking.id.clone(), booking)).collect();
    let pieces = booking::usecase::pieces_of(tx, &ids)?;
    let (mut changed, mut kept) = (Vec::new(), Vec::new());
    for job in &week.jobs {
        let booking = job.booking_id.as_ref().map(|id| BookingId::new(id.as_str()));
        let car = match booking.as_ref().and_then(|id| bookings.get(id)) {
            Some(booking) => Car::of(tx, booking),
            None => place_of(tx, &QuoteId::new(job.quote_id.as_str()))?.0,
        };
        let placement = job.placement()?;
        let work_after: IntervalSet = placement.steps.iter().flat_map(|step| step.pieces.iter().copied()).collect();
        let Some(after) = seen(&job.after, work_after) else { continue };
        // Once it is accepted, the booking's pieces of work are those of its new place.
        let is_open = state == ReschedulingState::Open;
        let work_before: IntervalSet = match &booking {
            Some(id) if is_open => pieces_of(&pieces, id).map(|piece| piece.when).collect(),
            _ => IntervalSet::EMPTY,
        };
        let before = job.before.as_ref().and_then(|before| seen(before, work_before));
        let moves = before.as_ref().is_none_or(|before| (&before.bay, before.when) != (&after.bay, after.when));
        let one = ReplannedCar { car, before, after, promise_moves: job.promise_moves, because: job.because.clone() };
        if moves { changed.push(one) } else { kept.push(one) }
    }
    changed.sort_by_key(|one| one.after.when.from());
    let zone = Zone::named(&tx.studio.zone)?;
    let span = span(&zone, &changed);
    let mut open = BTreeMap::new();
    if let Some(span) = span {
        let all = shop::usecase::bays(tx)?;
        let bays = shop::usecase::open_bays(tx, &all, &zone, span)?;
        open.extend(bays.into_iter().map(|bay| (bay.code, bay.open)));
    }
    let known = |id: &str| bookings.get(&BookingId::new(id)).map(|booking| Car::of(tx, booking));
    let unmoved = week.unmoved.iter().filter_map(|one| Some((known(&one.booking_id)?, one.broken))).collect();
    let longer =
        week.overruns.iter().filter_map(|one| Some((known(&one.booking_id)?, one.finish.0.minute()))).collect();
    Ok(Replanned {
        id: id.clone(),
        version,
        is_open: state.can(ReschedulingMove::Accept),
        changed,
        kept,
        unmoved,
        longer,
        promises: week.moves(),
        proven: week.proven,
        span,
        open,
        names: Names::read(tx)?,
    })
}

fn seen(time: &RescheduledTimeForm, work: IntervalSet) -> Option<PlaceSeen> {
    let when = Interval::new(time.start.0.minute(), time.finish.0.minute())?;
    Some(PlaceSeen { bay: time.bay_id.clone(), when, work: work.clip(when) })
}

/// The whole days of all places of these cars, before and after.
fn span(zone: &Zone, changed: &[ReplannedCar]) -> Option<Interval> {
    let places = || changed.iter().flat_map(|one| one.before.iter().chain([&one.after])).map(|place| place.when);
    let day = |at: Minute| zone.day(zone.to_local(at).date());
    let (first, last) = (places().map(Interval::from).min()?, places().map(Interval::to).max()?);
    Interval::new(day(first)?.from(), day(last)?.to())
}

/// The cars that are in their bays or wait for them, and are not ready, by start.
pub fn cars_here(tx: &mut Tx<'_>) -> Done<Vec<Car>> {
    let now = tx.now.minute();
    let Some(period) = Interval::new(now, now + Minutes::new(1)) else { return Ok(Vec::new()) };
    let here = booking::usecase::seen_in(tx, period)?;
    let here = here.iter().filter(|booking| booking.state == BookingState::InBay);
    Ok(here.map(|booking| Car::of(tx, booking)).collect())
}

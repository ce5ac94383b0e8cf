//! The diary of several days without its confirmed bookings, so that all can be placed again, and the change of many
//! bookings at once.

use std::collections::BTreeSet;
use std::num::NonZeroU32;

use baywright_domain::booking::{BookingState, InWeek, in_week};
use baywright_domain::id::{BookingId, QuoteId, VehicleId};
use baywright_domain::plan::Hands;
use baywright_domain::schedule::stays::{Moving, Stay, StepOrder, Visit};
use baywright_domain::schedule::{Diary, Horizon, PlacedStep, Placement, Plan, still_good};
use baywright_domain::time::{IntervalSet, Minute, Minutes};
use serde_json::json;

use super::diary::{self, Book, Others};
use super::letter::{News, tell};
use super::overrun::prolong;
use super::place::{NewBooking, Wish, not_booked_yet, take, told};
use super::store::{self, Change, NewRow};
use super::{Attendance, Booking, detailed, lapse, promise, show};
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::refusal::{Refused, Why};
use crate::platform::tx::Tx;
use crate::platform::{ids, record};
use crate::shop::settings::Settings;
use crate::{plan, shop};

/// Days that a rescheduling plans if its request doesn't say how many.
pub const USUAL_DAYS: u32 = 14;

/// Maximum number of days that a rescheduling plans.
pub const MOST_DAYS: u32 = 60;

/// A confirmed booking that may move, with the current plan of its work.
#[derive(Debug, Clone)]
pub struct Movable {
    /// The booking.
    pub booking: Booking,
    /// Its place before the change.
    pub visit: Visit,
    /// The plan of the work now, in its own order.
    pub plan: Plan,
    /// The work now, in the order that the place follows.
    pub order: StepOrder,
    /// The work for which the place was made, in the order that it follows; the visit's steps refer to this one.
    pub made_for: StepOrder,
}

impl Movable {
    /// Its place before the change, as in one bay.
    pub fn placement(&self) -> Placement {
        self.visit.placement()
    }

    /// Moves that its place has, and their minutes.
    fn moving(&self) -> Moving {
        let stays = u32::try_from(self.visit.stays.len()).ok().and_then(NonZeroU32::new);
        let max_stays = stays.unwrap_or(Moving::OFF.max_stays);
        Moving { max_stays, minutes: self.booking.place.move_minutes }
    }
}

/// A car that stays in its bay longer than planned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Overrun {
    /// The booking of the car that is in the bay.
    pub booking: BookingId,
    /// Time when it will be done.
    pub finish: Minute,
}

/// A confirmed booking that does not move.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unmoved {
    /// The booking.
    pub booking: BookingId,
    /// Whether its work can no longer be done there: somebody is away, the bay is closed, or other work was signed.
    pub broken: bool,
}

/// The shop's time over a period, without the bookings that may move; all others count as booked.
#[derive(Debug)]
pub struct WeekBook {
    /// The diary.
    pub diary: Diary,
    /// Bookings that may move.
    pub movable: Vec<Movable>,
    /// Confirmed bookings that keep their places: for two people, of a car with several bookings or that changes bays,
    /// in another order than the plan's own, or with a start that is no slot.
    pub unmoved: Vec<Unmoved>,
    /// The places of overrunning cars, longer than before.
    pub longer: Vec<(Booking, Visit)>,
}

/// Change of the diary: the new place of one booking.
#[derive(Debug, Clone)]
pub struct Move {
    /// Id of the booking.
    pub booking: BookingId,
    /// The booking as it was when the change was computed.
    pub version: i64,
    /// The new place.
    pub placement: Placement,
    /// Whether the customer is told.
    pub tell: bool,
}

/// Time when the last of a car's other bookings within a stretch is over.
pub fn last_finish_of_car(tx: &mut Tx<'_>, car: &VehicleId, stretch: (Minute, Minute)) -> Done<Option<Minute>> {
    Ok(store::car_taken(tx, car, stretch, None)?.iter().map(|taken| taken.when.to()).max())
}

/// Reads the shop's diary for `days` days from now on. Bookings of `cars`, for which other work is to be placed too,
/// keep their places, as do those of a car that has several or that changes bays: the search doesn't know that a car is
/// in only one bay at a time, and moves none.
///
/// # Errors
/// `Invalid` if an overrunning car is not in a bay, or its finish is not later than it was.
pub fn week_book(tx: &mut Tx<'_>, days: u32, overruns: &[Overrun], cars: &[VehicleId]) -> Done<WeekBook> {
    let settings = shop::usecase::settings(tx)?;
    let mut book = diary::open(tx, &settings, tx.now.minute(), days, Hands::One, None, None)?;
    let span = book.horizon.span();
    let (mut movable, mut unmoved) = (Vec::new(), Vec::new());
    for (booking, what) in each_in_week(store::within(tx, span)?, cars, book.horizon) {
        match what {
            InWeek::Moves => movable.push(movable_of(tx, booking)?),
            InWeek::Stays => unmoved.push(movable_of(tx, booking)?),
            InWeek::Fixed => (),
        }
    }
    let unmoved = unmoved_of(&book, &unmoved)?;
    let free: BTreeSet<&str> = movable.iter().map(|one| one.booking.id.as_str()).collect();
    book.bays.retain(|taken| !free.contains(taken.booking.as_str()));
    book.people.retain(|taken| !free.contains(taken.booking.as_str()));
    let (mut bays, mut people) = (book.bay_time(Others::Count), book.people_time(Others::Count));
    let mut longer: Vec<(Booking, Visit)> = Vec::new();
    for (at, overrun) in overruns.iter().enumerate() {
        if longer.iter().any(|(booking, _)| booking.id == overrun.booking) {
            let detail =
                "This booking is listed twice. List it once, with the time at which its work will be finished.";
            return Err(Refused::field(format!("/overruns/{at}/booking_id"), "twice", detail).into());
        }
        longer.push(prolong(tx, &book, at, overrun, &mut bays, &mut people)?);
    }
    Ok(WeekBook { diary: Diary::new(book.horizon, &bays, &people)?, movable, unmoved, longer })
}

/// What happens to each of the bookings of those days when they are scheduled again, together with other work for
/// `cars`.
pub(super) fn each_in_week(bookings: Vec<Booking>, cars: &[VehicleId], horizon: Horizon) -> Vec<(Booking, InWeek)> {
    let mut seen: Vec<VehicleId> = cars.to_vec();
    let mut shared: BTreeSet<VehicleId> = cars.iter().cloned().collect();
    for booking in bookings.iter().filter(|booking| booking.state != BookingState::HandedOver) {
        if seen.contains(&booking.vehicle) {
            shared.insert(booking.vehicle.clone());
        }
        seen.push(booking.vehicle.clone());
    }
    let what = |booking: Booking| {
        let place = &booking.place;
        let is_plain = !shared.contains(&booking.vehicle) && place.stays.len() == 1 && place.order == 0;
        let what = in_week(booking.state, booking.hands, (place.starts, place.finishes), is_plain, horizon);
        (booking, what)
    };
    bookings.into_iter().map(what).collect()
}

/// Ids of the bookings that a rescheduling of [`MOST_DAYS`] days can move.
pub(super) fn can_move(tx: &mut Tx<'_>, settings: &Settings) -> Done<BTreeSet<BookingId>> {
    let horizon = diary::horizon(settings, tx.now.minute(), MOST_DAYS)?;
    let each = each_in_week(store::within(tx, horizon.span())?, &[], horizon).into_iter();
    Ok(each.filter(|(_, what)| *what == InWeek::Moves).map(|(booking, _)| booking.id).collect())
}

/// The confirmed bookings that keep their places although something prevents them.
fn unmoved_of(book: &Book, bookings: &[Movable]) -> Done<Vec<Unmoved>> {
    let (bays, people) = (book.bay_time(Others::Ignored), book.people_time(Others::Ignored));
    let places = bookings.iter().map(|one| (&one.order, one.moving(), &one.visit));
    let good = still_good(book.horizon.span(), &bays, &people, places)?;
    let unmoved = bookings.iter().zip(good);
    Ok(unmoved.map(|(one, good)| Unmoved { booking: one.booking.id.clone(), broken: !good }).collect())
}

pub(super) fn movable_of(tx: &mut Tx<'_>, booking: Booking) -> Done<Movable> {
    let latest = plan::usecase::of_quote(tx, &booking.quote)?;
    let order = booking.ordered_work(&latest)?.step_order()?;
    // Pieces refer to the steps of the plan that the booking was made for, which may be an earlier one.
    let made_for = if latest.id == booking.plan {
        order.clone()
    } else {
        let before = plan::usecase::show(tx, &booking.plan)?;
        booking.ordered_work(&before)?.step_order()?
    };
    let plan = latest.with(booking.hands)?.work()?.to_schedule()?;
    let pieces = store::attendance_of(tx, &booking.id)?;
    let steps = (0_u32..).zip(made_for.plan().steps());
    let steps = steps.map(|(place, step)| placed(&step.code, place, &pieces)).collect();
    let place = &booking.place;
    let stays = place.stays.iter().map(|stay| Stay { bay: stay.bay.to_string(), from: stay.from, to: stay.to });
    let visit =
        Visit { order: place.order, start: place.starts, finish: place.finishes, stays: stays.collect(), steps };
    Ok(Movable { booking, visit, plan, order, made_for })
}

fn placed(code: &str, place: u32, pieces: &[Attendance]) -> PlacedStep {
    let helps = pieces.iter().find(|piece| piece.place == place && piece.helps).map(|piece| piece.person.as_str());
    let mine: Vec<&Attendance> = pieces.iter().filter(|piece| piece.place == place && !piece.helps).collect();
    PlacedStep {
        code: code.to_owned(),
        technician: mine.first().map(|piece| PlacedStep::technician_of(piece.person.as_str(), helps)),
        pieces: mine.iter().map(|piece| piece.when).collect(),
    }
}

/// Moves many bookings and takes new places at once, as computed from the diary. Bookings that would keep their place
/// and people are left alone.
///
/// # Errors
/// `Conflict` if a booking changed since, or the place of one is no longer free.
pub fn change_week(
    tx: &mut Tx<'_>,
    moves: &[Move],
    new: &[(QuoteId, Placement)],
    overruns: &[Overrun],
    days: u32,
) -> Done<Vec<BookingId>> {
    lapse::end_lapsed(tx)?;
    for (quote, _) in new {
        not_booked_yet(tx, quote)?;
    }
    let mut cars = Vec::with_capacity(new.len());
    for (quote, _) in new {
        cars.push(plan::usecase::of_quote(tx, quote)?.vehicle);
    }
    let mut book = week_book(tx, days, overruns, &cars).map_err(|fail| match fail {
        // Something has changed since the rescheduling was computed.
        Fail::Refused(refused) if refused.why() == Why::Invalid => outdated(),
        other => other,
    })?;
    let stays = |one: &&Move| {
        book.movable.iter().any(|known| known.booking.id == one.booking && known.placement() == one.placement)
    };
    let moves: Vec<&Move> = moves.iter().filter(|one| !stays(one)).collect();
    for one in &moves {
        if show(tx, &one.booking)?.version != one.version {
            return Err(outdated());
        }
    }
    let unmoved = book.movable.iter().filter(|one| !moves.iter().any(|moved| moved.booking == one.booking.id));
    for one in unmoved {
        book.diary.book(&one.placement());
    }
    for one in &moves {
        let of = book.movable.iter().find(|known| known.booking.id == one.booking).ok_or_else(outdated)?;
        check(&mut book.diary, &of.plan, &one.placement)?;
    }
    for (quote, placement) in new {
        let plan = plan::usecase::of_quote(tx, quote)?.work()?.to_schedule()?;
        check(&mut book.diary, &plan, placement)?;
    }
    // All bookings free their time before any takes new time, so that two can change places.
    for one in &moves {
        store::release(tx, &one.booking)?;
    }
    let settings = shop::usecase::settings(tx)?;
    for (booking, visit) in &book.longer {
        let margin = promise::longer(tx, &settings, &booking.place, visit)?;
        store::take(tx, &booking.id, visit, booking.place.move_minutes, margin, None).map_err(raced)?;
        store::set(tx, booking, &Change { fits: true, ..Change::of(booking) })?;
        let detail = json!({ "finish": UtcTime::from_minute(visit.finish).to_string() });
        record::write(tx, "booking.overran", ("booking", booking.id.as_str()), detail)?;
        let later = show(tx, &booking.id)?;
        // Within the margin of the promise, nothing changes for the customer.
        if later.place.promised > booking.place.promised {
            tell(tx, &later, News::Later)?;
        }
    }
    for one in &moves {
        relocate(tx, one)?;
    }
    new.iter().map(|(quote, placement)| agree(tx, quote, placement)).collect()
}

/// Checks a placement against the diary and stores it.
fn check(diary: &mut Diary, plan: &Plan, placement: &Placement) -> Done<()> {
    diary.check(plan, placement).map_err(|_| outdated())?;
    diary.book(placement);
    Ok(())
}

fn relocate(tx: &mut Tx<'_>, one: &Move) -> Done<()> {
    let booking = show(tx, &one.booking)?;
    let plan = plan::usecase::of_quote(tx, &booking.quote)?;
    let visit = Visit::from(one.placement.clone());
    // A customer who is not told keeps the earlier promise.
    let margin = if one.tell {
        let settings = shop::usecase::settings(tx)?;
        promise::margin(tx, &settings, &plan, &visit, &IntervalSet::EMPTY)?
    } else {
        promise::rest(&booking.place, &visit)
    };
    store::take(tx, &booking.id, &visit, Minutes::ZERO, margin, None).map_err(raced)?;
    store::set(tx, &booking, &Change { plan: plan.id, fits: true, ..Change::of(&booking) })?;
    let place = wish(&booking.quote, &one.placement);
    record::write(tx, "booking.moved", ("booking", booking.id.as_str()), told(&place, Hands::One, &visit, margin))?;
    if one.tell {
        let moved = detailed(tx, &booking.id)?;
        tell(tx, &moved.booking, News::Moved)?;
    }
    Ok(())
}

fn agree(tx: &mut Tx<'_>, quote: &QuoteId, placement: &Placement) -> Done<BookingId> {
    let plan = plan::usecase::of_quote(tx, quote)?;
    let id: BookingId = ids::new();
    let row =
        NewRow { id: &id, plan: &plan, state: BookingState::Booked, hands: Hands::One, hold_until: None, note: "" };
    store::insert(tx, &row).map_err(raced)?;
    let place = wish(quote, placement);
    let settings = shop::usecase::settings(tx)?;
    let visit = Visit::from(placement.clone());
    let margin = promise::margin(tx, &settings, &plan, &visit, &IntervalSet::EMPTY)?;
    take(tx, &id, &visit, Minutes::ZERO, margin, None, &place)?;
    record::write(tx, "booking.booked", ("booking", id.as_str()), told(&place, Hands::One, &visit, margin))?;
    let made = detailed(tx, &id)?;
    tell(tx, &made.booking, News::Booked)?;
    Ok(id)
}

fn wish(quote: &QuoteId, placement: &Placement) -> NewBooking {
    NewBooking {
        quote: quote.clone(),
        bay: placement.bay.clone().into(),
        start: placement.start,
        may_move: false,
        wish: Wish::Book,
        hands: Hands::One,
        note: String::new(),
    }
}

fn raced(error: DbError) -> Fail {
    if error.is_taken() { outdated() } else { error.into() }
}

fn outdated() -> Fail {
    let detail = "The diary has changed since this rescheduling was made. Make a new rescheduling.";
    Refused::conflict("rescheduling-outdated", detail).into()
}

//! The diary of several days without its confirmed bookings, so that all can be placed again, and the change of many
//! bookings at once.

use std::collections::BTreeSet;
use std::num::NonZeroU32;

use baywright_domain::booking::{BookingState, InWeek, in_week};
use baywright_domain::id::{BookingId, QuoteId, VehicleId};
use baywright_domain::plan::{Hands, WorkPlan};
use baywright_domain::schedule::stays::{Moving, Stay, StepOrder, Visit};
use baywright_domain::schedule::{Bay, Diary, Horizon, PlacedStep, still_good, with_pairs};
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
    /// Its place before the change, which names the order of the plan of the work now.
    pub visit: Visit,
    /// The work now, in the order that the place follows.
    pub order: StepOrder,
    /// Moves that its car may make for the work now: at least those that its place has.
    pub moving: Moving,
    /// The work for which the place was made, in the order that it follows; the visit's steps refer to this one.
    pub made_for: StepOrder,
}

/// Moves that a place has, and their minutes.
fn moves_of(booking: &Booking) -> Moving {
    let stays = u32::try_from(booking.place.stays.len()).ok().and_then(NonZeroU32::new);
    let max_stays = stays.unwrap_or(Moving::OFF.max_stays);
    Moving { max_stays, minutes: booking.place.move_minutes }
}

/// Moves that a booking's car may make when its days are scheduled again: as many as the shop allows for its work, or as
/// its place has. A place with moves keeps their minutes, so that it stays possible as it is.
fn widened(has: Moving, allowed: Moving) -> Moving {
    let minutes = if has.allows_moves() { has.minutes } else { allowed.minutes };
    Moving { max_stays: has.max_stays.max(allowed.max_stays), minutes }
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
    /// Confirmed bookings that keep their places: of a car with several bookings, or with a start that is no slot.
    pub unmoved: Vec<Unmoved>,
    /// The places of overrunning cars, longer than before.
    pub longer: Vec<(Booking, Visit)>,
    /// The shop's bays.
    bays: Vec<Bay>,
    /// Moves that the shop allows.
    allowed: Moving,
}

impl WeekBook {
    /// Moves that a car may make for this work.
    pub fn moving(&self, work: &WorkPlan) -> Moving {
        work.moves_needed(&self.bays, self.allowed)
    }
}

/// Change of the diary: the new place of one booking.
#[derive(Debug, Clone)]
pub struct Move {
    /// Id of the booking.
    pub booking: BookingId,
    /// The booking as it was when the change was computed.
    pub version: i64,
    /// The new place; its order is that of the booking.
    pub visit: Visit,
    /// Whether the customer is told.
    pub tell: bool,
}

/// Time when the last of a car's other bookings within a stretch is over.
pub fn last_finish_of_car(tx: &mut Tx<'_>, car: &VehicleId, stretch: (Minute, Minute)) -> Done<Option<Minute>> {
    Ok(store::car_taken(tx, car, stretch, None)?.iter().map(|taken| taken.when.to()).max())
}

/// Reads the shop's diary for `days` days from now on. Bookings of `cars`, for which other work is to be placed too,
/// keep their places, as do those of a car that has several: the search doesn't know that a car is in only one bay at a
/// time. If some work is for two people, the diary knows the pairs of people.
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
            InWeek::Moves => {
                let (mut one, work) = with_work(tx, booking)?;
                one.moving = widened(one.moving, book.moving(&settings, &work, false));
                movable.push(one);
            }
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
    let takes_two = movable.iter().any(|one| one.order.plan().takes_two());
    let technicians = if takes_two { with_pairs(&people) } else { people };
    let diary = Diary::new(book.horizon, &bays, &technicians)?;
    Ok(WeekBook { diary, movable, unmoved, longer, bays, allowed: settings.terms.moving })
}

/// What happens to each of the bookings of those days when they are scheduled again, together with other work for
/// `cars`.
fn each_in_week(bookings: Vec<Booking>, cars: &[VehicleId], horizon: Horizon) -> Vec<(Booking, InWeek)> {
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
        let is_alone = !shared.contains(&booking.vehicle);
        let what = in_week(booking.state, (place.starts, place.finishes), is_alone, horizon);
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
    let places = bookings.iter().map(|one| (&one.order, one.moving, &one.visit));
    let good = still_good(book.horizon.span(), &bays, &people, places)?;
    let unmoved = bookings.iter().zip(good);
    Ok(unmoved.map(|(one, good)| Unmoved { booking: one.booking.id.clone(), broken: !good }).collect())
}

pub(super) fn movable_of(tx: &mut Tx<'_>, booking: Booking) -> Done<Movable> {
    Ok(with_work(tx, booking)?.0)
}

/// The booking with its place, and the work now, in the order that the place follows.
fn with_work(tx: &mut Tx<'_>, booking: Booking) -> Done<(Movable, WorkPlan)> {
    let latest = plan::usecase::of_quote(tx, &booking.quote)?;
    let work = booking.ordered_work(&latest)?;
    let order = work.step_order()?;
    // The orders of another plan than the one that was booked are not known: its own one is followed.
    let which = if latest.id == booking.plan { booking.place.order } else { 0 };
    // Pieces refer to the steps of the plan that the booking was made for, which may be an earlier one.
    let made_for = if latest.id == booking.plan {
        order.clone()
    } else {
        let before = plan::usecase::show(tx, &booking.plan)?;
        booking.ordered_work(&before)?.step_order()?
    };
    let pieces = store::attendance_of(tx, &booking.id)?;
    let steps = (0_u32..).zip(made_for.plan().steps());
    let steps = steps.map(|(place, step)| placed(&step.code, place, &pieces)).collect();
    let place = &booking.place;
    let stays = place.stays.iter().map(|stay| Stay { bay: stay.bay.to_string(), from: stay.from, to: stay.to });
    let visit = Visit { order: which, start: place.starts, finish: place.finishes, stays: stays.collect(), steps };
    let moving = moves_of(&booking);
    Ok((Movable { booking, visit, order, moving, made_for }, work))
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
    new: &[(QuoteId, Visit)],
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
    let stays =
        |one: &&Move| book.movable.iter().any(|known| known.booking.id == one.booking && known.visit == one.visit);
    let moves: Vec<&Move> = moves.iter().filter(|one| !stays(one)).collect();
    for one in &moves {
        if show(tx, &one.booking)?.version != one.version {
            return Err(outdated());
        }
    }
    let unmoved = book.movable.iter().filter(|one| !moves.iter().any(|moved| moved.booking == one.booking.id));
    for one in unmoved {
        book.diary.book_visit(&one.visit);
    }
    for one in &moves {
        let of = book.movable.iter().find(|known| known.booking.id == one.booking).ok_or_else(outdated)?;
        check(&mut book.diary, &of.order, of.moving, &one.visit)?;
    }
    for (quote, visit) in new {
        let work = plan::usecase::of_quote(tx, quote)?.work()?.in_order(visit.order);
        let moving = book.moving(&work);
        check(&mut book.diary, &work.step_order()?, moving, visit)?;
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
        let of = book.movable.iter().find(|known| known.booking.id == one.booking).ok_or_else(outdated)?;
        relocate(tx, one, of.moving.minutes)?;
    }
    new.iter().map(|(quote, visit)| agree(tx, quote, visit, book.allowed.minutes)).collect()
}

/// Checks a visit against the diary and books it there.
fn check(diary: &mut Diary, order: &StepOrder, moving: Moving, visit: &Visit) -> Done<()> {
    diary.check_visit(order, moving, visit).map_err(|_| outdated())?;
    diary.book_visit(visit);
    Ok(())
}

fn relocate(tx: &mut Tx<'_>, one: &Move, move_minutes: Minutes) -> Done<()> {
    let booking = show(tx, &one.booking)?;
    let plan = plan::usecase::of_quote(tx, &booking.quote)?.with(booking.hands)?;
    let visit = &one.visit;
    // A customer who is not told keeps the earlier promise.
    let margin = if one.tell {
        let settings = shop::usecase::settings(tx)?;
        promise::margin(tx, &settings, &plan, visit, &IntervalSet::EMPTY)?
    } else {
        promise::rest(&booking.place, visit)
    };
    store::take(tx, &booking.id, visit, move_minutes, margin, None).map_err(raced)?;
    store::set(tx, &booking, &Change { plan: plan.id, fits: true, ..Change::of(&booking) })?;
    let place = wish(&booking.quote, visit, booking.hands);
    record::write(tx, "booking.moved", ("booking", booking.id.as_str()), told(&place, booking.hands, visit, margin))?;
    if one.tell {
        let moved = detailed(tx, &booking.id)?;
        tell(tx, &moved.booking, News::Moved)?;
    }
    Ok(())
}

fn agree(tx: &mut Tx<'_>, quote: &QuoteId, visit: &Visit, move_minutes: Minutes) -> Done<BookingId> {
    let plan = plan::usecase::of_quote(tx, quote)?;
    let id: BookingId = ids::new();
    let row =
        NewRow { id: &id, plan: &plan, state: BookingState::Booked, hands: Hands::One, hold_until: None, note: "" };
    store::insert(tx, &row).map_err(raced)?;
    let place = wish(quote, visit, Hands::One);
    let settings = shop::usecase::settings(tx)?;
    let margin = promise::margin(tx, &settings, &plan, visit, &IntervalSet::EMPTY)?;
    take(tx, &id, visit, move_minutes, margin, None, &place)?;
    record::write(tx, "booking.booked", ("booking", id.as_str()), told(&place, Hands::One, visit, margin))?;
    let made = detailed(tx, &id)?;
    tell(tx, &made.booking, News::Booked)?;
    Ok(id)
}

fn wish(quote: &QuoteId, visit: &Visit, hands: Hands) -> NewBooking {
    NewBooking {
        quote: quote.clone(),
        bay: visit.placement().bay.into(),
        start: visit.start,
        may_move: false,
        wish: Wish::Book,
        hands,
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

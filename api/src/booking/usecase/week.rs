//! The diary of many days with its agreed bookings taken out, for whoever places them anew, and the change of many
//! bookings at once.

use std::collections::BTreeSet;

use baywright_domain::booking::BookingState;
use baywright_domain::id::{BookingId, QuoteId};
use baywright_domain::plan::Hands;
use baywright_domain::schedule::{Bay, Diary, Horizon, PlacedStep, Placement, Plan, Technician, with_pairs};
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};
use serde_json::json;

use super::diary::{self, Book, Others};
use super::letter::{News, tell};
use super::place::{NewBooking, Wish, not_booked_yet, take, told};
use super::store::{self, Change, NewRow, Taken};
use super::{Attendance, Booking, detailed, lapse, promise, show};
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::problem::Problem;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};
use crate::{plan, shop};

/// An agreed booking that may move, with the plan that its work has now.
#[derive(Debug, Clone)]
pub struct Movable {
    /// The booking.
    pub booking: Booking,
    /// Its place as it was agreed.
    pub placement: Placement,
    /// What its work needs.
    pub plan: Plan,
}

/// A car that stays in its bay longer than was thought.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Overrun {
    /// The booking of the car that is in the bay.
    pub booking: BookingId,
    /// When it will be done.
    pub finish: Minute,
}

/// An agreed booking that does not move.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Staying {
    /// The booking.
    pub booking: BookingId,
    /// Whether its work can't be done there any more: somebody is away, the bay is closed, or other work was signed.
    pub broken: bool,
}

/// The shop's time over a stretch: what may move taken out, all else booked.
#[derive(Debug)]
pub struct WeekBook {
    /// The diary.
    pub diary: Diary,
    /// What may move.
    pub movable: Vec<Movable>,
    /// Agreed bookings for two pairs of hands: they stay where they are.
    pub staying: Vec<Staying>,
    /// The places of cars that overrun, longer than before.
    pub longer: Vec<(Booking, Placement)>,
}

/// A change of the diary: where a booking goes.
#[derive(Debug, Clone)]
pub struct Move {
    /// Which booking.
    pub booking: BookingId,
    /// As it was when the change was thought out.
    pub version: i64,
    /// Where it goes.
    pub placement: Placement,
    /// Whether the customer is told.
    pub tell: bool,
}

/// Reads the shop's time from now on, for so many days.
///
/// # Errors
/// 422 where an overrunning car is not in a bay, or its finish is not later than it was.
pub fn week_book(tx: &mut Tx<'_>, days: u32, overruns: &[Overrun]) -> Done<WeekBook> {
    let settings = shop::usecase::settings(tx)?;
    let mut book = diary::open(tx, &settings, tx.now.minute(), days, Hands::One, None)?;
    let span = book.horizon.span();
    let (mut movable, mut staying) = (Vec::new(), Vec::new());
    for booking in store::within(tx, span)? {
        let inside = booking.place.starts >= span.from() && booking.place.finishes <= span.to();
        match booking.hands {
            _ if booking.state != BookingState::Booked || !inside => (),
            Hands::One => movable.push(movable_of(tx, booking)?),
            Hands::Two => staying.push(movable_of(tx, booking)?),
        }
    }
    let staying = still_good(&book, &staying)?;
    let free: BTreeSet<&str> = movable.iter().map(|one| one.booking.id.as_str()).collect();
    book.bays.retain(|taken| !free.contains(taken.booking.as_str()));
    book.people.retain(|taken| !free.contains(taken.booking.as_str()));
    let (mut bays, mut people) = book.time(Others::Count);
    let mut longer: Vec<(Booking, Placement)> = Vec::new();
    for (at, overrun) in overruns.iter().enumerate() {
        if longer.iter().any(|(booking, _)| booking.id == overrun.booking) {
            let detail = "This car is named twice. Say once when it will be done.";
            return Err(Problem::field(format!("/overruns/{at}/booking_id"), "twice", detail).into());
        }
        longer.push(prolong(tx, &book, at, overrun, &mut bays, &mut people)?);
    }
    Ok(WeekBook { diary: Diary::new(book.horizon, &bays, &people)?, movable, staying, longer })
}

/// Which of the bookings for two keep every rule that the walls of the database don't.
fn still_good(book: &Book, bookings: &[Movable]) -> Done<Vec<Staying>> {
    let span = book.horizon.span();
    // A start was a slot when it was agreed; slots may be others by now.
    let horizon = Horizon::new(span.from(), span.to(), Minutes::new(1))?;
    let (bays, people) = book.time(Others::Gone);
    let empty = Diary::new(horizon, &bays, &with_pairs(&people))?;
    let staying = bookings.iter().map(|one| Staying {
        booking: one.booking.id.clone(),
        broken: empty.check(&one.plan, &one.placement).is_err(),
    });
    Ok(staying.collect())
}

fn movable_of(tx: &mut Tx<'_>, booking: Booking) -> Done<Movable> {
    let latest = plan::usecase::of_quote(tx, &booking.quote)?;
    let plan = latest.work()?.with(booking.hands).to_schedule()?;
    // Pieces are known by their place in the plan that the booking was made for, which may be an earlier one.
    let made_for = if latest.id == booking.plan { latest } else { plan::usecase::show(tx, &booking.plan)? }
        .work()?
        .to_schedule()?;
    let pieces = store::attendance_of(tx, &booking.id)?;
    let steps = (0_u32..).zip(made_for.steps()).map(|(place, step)| placed(&step.code, place, &pieces)).collect();
    let place = &booking.place;
    let placement = Placement { bay: place.bay.to_string(), start: place.starts, finish: place.finishes, steps };
    Ok(Movable { booking, placement, plan })
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

/// Books the rest of an overrunning car's stay, and the time of whoever does its last step: all of their working time
/// until it is done. Of two at that step both are booked while both are at work and free; in the
/// search each is busy for as long as they are in.
fn prolong(
    tx: &mut Tx<'_>,
    book: &Book,
    at: usize,
    overrun: &Overrun,
    bays: &mut [Bay],
    people: &mut [Technician],
) -> Done<(Booking, Placement)> {
    let fault = |code: &str, detail: &str| Problem::field(format!("/overruns/{at}/finish"), code, detail.to_owned());
    let booking = show(tx, &overrun.booking).map_err(|_| {
        Problem::field(format!("/overruns/{at}/booking_id"), "unknown", "The studio has no such booking.")
    })?;
    if booking.state != BookingState::InBay {
        return Err(fault("not_in_bay", "Only a car that is in its bay can overrun; move the booking instead.").into());
    }
    let after = booking.place.finishes.max(tx.now.minute());
    if overrun.finish <= after || overrun.finish > book.horizon.span().to() {
        return Err(
            fault("not_later", "Give a finish later than the one agreed, and within the time looked at.").into()
        );
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
        return Ok("Another car that overruns has the bay then. Give an earlier finish to one of them.".to_owned());
    };
    let car = other.car();
    Ok(match other.state {
        BookingState::InBay | BookingState::Ready => {
            format!(
                "The bay is also that of {car}, which is here already. Hand that car over first, or give an earlier finish."
            )
        }
        _ => format!(
            "The bay is that of {car} then, and a proposal can't move it: it is held a place, is due by now, is \
             booked for two pairs of hands, or stays beyond the time looked at. Move or cancel that booking first."
        ),
    })
}

/// Moves many bookings and takes new places in one go, as it was thought out from the diary. What would stay as it is,
/// with the same people, is left alone.
///
/// # Errors
/// 409 where a booking changed since, or the place of one is no longer free.
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
    let mut book = week_book(tx, days, overruns).map_err(|fail| match fail {
        // What was right when it was asked is so no longer.
        Fail::Problem(problem) if problem.status().as_u16() == 422 => outdated(),
        other => other,
    })?;
    let stays = |one: &&Move| {
        book.movable.iter().any(|known| known.booking.id == one.booking && known.placement == one.placement)
    };
    let moves: Vec<&Move> = moves.iter().filter(|one| !stays(one)).collect();
    for one in &moves {
        if show(tx, &one.booking)?.version != one.version {
            return Err(outdated());
        }
    }
    let staying = book.movable.iter().filter(|one| !moves.iter().any(|moved| moved.booking == one.booking.id));
    for one in staying {
        book.diary.book(&one.placement);
    }
    for one in &moves {
        let of = book.movable.iter().find(|known| known.booking.id == one.booking).ok_or_else(outdated)?;
        check(&mut book.diary, &of.plan, &one.placement)?;
    }
    for (quote, placement) in new {
        let plan = plan::usecase::of_quote(tx, quote)?.work()?.to_schedule()?;
        check(&mut book.diary, &plan, placement)?;
    }
    // All give their time free before any takes another, so that two can change places.
    for one in &moves {
        store::release(tx, &one.booking)?;
    }
    for (booking, placement) in &book.longer {
        store::take(tx, &booking.id, placement, promise::rest(&booking.place, placement), None).map_err(raced)?;
        store::set(tx, booking, &Change::of(booking))?;
        let detail = json!({ "finish": UtcTime::from_minute(placement.finish).to_string() });
        record::write(tx, "booking.overran", ("booking", booking.id.as_str()), detail)?;
        let later = show(tx, &booking.id)?;
        // Within the margin of what was promised nothing is new to the customer.
        if later.place.promised > booking.place.promised {
            tell(tx, &later, News::Later)?;
        }
    }
    for one in &moves {
        relocate(tx, one)?;
    }
    new.iter().map(|(quote, placement)| agree(tx, quote, placement)).collect()
}

/// Checks a placement against the diary and books it there.
fn check(diary: &mut Diary, plan: &Plan, placement: &Placement) -> Done<()> {
    diary.check(plan, placement).map_err(|_| outdated())?;
    diary.book(placement);
    Ok(())
}

fn relocate(tx: &mut Tx<'_>, one: &Move) -> Done<()> {
    let booking = show(tx, &one.booking)?;
    let plan = plan::usecase::of_quote(tx, &booking.quote)?;
    // Who isn't told of it was promised what they were promised before.
    let margin = if one.tell {
        promise::margin(tx, &plan, &one.placement, &IntervalSet::EMPTY)?
    } else {
        promise::rest(&booking.place, &one.placement)
    };
    store::take(tx, &booking.id, &one.placement, margin, None).map_err(raced)?;
    store::set(tx, &booking, &Change { plan: plan.id, ..Change::of(&booking) })?;
    let place = wish(&booking.quote, &one.placement);
    record::write(
        tx,
        "booking.moved",
        ("booking", booking.id.as_str()),
        told(&place, Hands::One, &one.placement, margin),
    )?;
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
    let margin = promise::margin(tx, &plan, placement, &IntervalSet::EMPTY)?;
    take(tx, &id, placement, margin, None, &place)?;
    record::write(tx, "booking.booked", ("booking", id.as_str()), told(&place, Hands::One, placement, margin))?;
    let made = detailed(tx, &id)?;
    tell(tx, &made.booking, News::Booked)?;
    Ok(id)
}

fn wish(quote: &QuoteId, placement: &Placement) -> NewBooking {
    NewBooking {
        quote: quote.clone(),
        bay: placement.bay.clone().into(),
        start: placement.start,
        wish: Wish::Book,
        hands: Hands::One,
        note: String::new(),
    }
}

fn raced(error: DbError) -> Fail {
    if error.is_taken() { outdated() } else { error.into() }
}

fn outdated() -> Fail {
    let detail = "The diary has changed since this was thought out. Make a new proposal from what it says now.";
    Problem::conflict("proposal-outdated", detail).into()
}

/// How many days a stretch has, the last one counted whole.
pub fn days_until(from: Minute, until: Minute) -> u32 {
    let minutes = until.get().saturating_sub(from.get()).max(1);
    let days = (minutes - 1) / i64::from(Minutes::new(1440).get()) + 1;
    u32::try_from(days).unwrap_or(u32::MAX)
}

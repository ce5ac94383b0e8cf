//! Bookings that a change of the shop breaks: other hours, a closure, an absence, a person who leaves, a bay without a
//! feature it had. The change is made all the same, and its answer names them.
//!
//! The domain's [`obstacles`] say for each booking what prevents it. They are computed before and after the change, and
//! the new ones are reported. So one rule covers all changes: hours, closures, people and bays.

use std::collections::BTreeSet;

use baywright_domain::booking::BookingState;
use baywright_domain::id::BookingId;
use baywright_domain::schedule::{Obstacle, obstacles};
use baywright_domain::time::{Interval, Minute};

use super::store;
use super::timetable::timetable;
use super::week::{MOST_DAYS, Movable, USUAL_DAYS, can_move, movable_of};
use crate::menu::usecase::StepNames;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::shop::settings::Settings;
use crate::{menu, people, shop};

/// Maximum number of bookings that are named; the others are only counted.
const NAMED: usize = 20;

/// Days of a rescheduling after the last booking that it is asked to move, so that there is room to move it to.
const ROOM_DAYS: u32 = 7;

/// Makes a change of the shop, and warns of every booking that was possible before and is not afterwards; `pointer` is
/// the part of the request's body that the warnings refer to. Each warning says what can be done, since a rescheduling
/// can't move every booking.
pub fn warn_of_broken<T>(tx: &mut Tx<'_>, pointer: &str, change: impl FnOnce(&mut Tx<'_>) -> Done<T>) -> Done<T> {
    let Some(ahead) = ahead(tx)? else { return change(tx) };
    let before = found(tx, &ahead)?;
    let done = change(tx)?;
    let after = found(tx, &ahead)?;
    let mut broken: Vec<Broken<'_>> = Vec::new();
    for ((of, before), after) in ahead.bookings.iter().zip(&before).zip(&after) {
        let new: Vec<&Obstacle> = after.iter().filter(|obstacle| !before.contains(obstacle)).collect();
        if !new.is_empty() {
            broken.push(Broken { of, obstacles: new });
        }
    }
    if broken.is_empty() {
        return Ok(done);
    }
    let settings = shop::usecase::settings(tx)?;
    let can_move = can_move(tx, &settings)?;
    for sentence in sentences(tx, &settings, &broken, &can_move)? {
        tx.warn("booking-broken", pointer, sentence);
    }
    let moves = broken.iter().map(|one| &one.of.booking).filter(|booking| can_move.contains(&booking.id));
    if let Some(last) = moves.map(|booking| booking.place.finishes).max() {
        let days = (ahead.span.from().days_until(last) + ROOM_DAYS).clamp(USUAL_DAYS, MOST_DAYS);
        let detail = format!(
            "These bookings stay as they are until somebody moves them. Ask for a new plan of the next {days} days, which \
             moves all of them but those that are to be moved by hand, and as few promised times as possible: POST \
             /v1/rescheduling-previews with days {days} shows it, POST /v1/reschedulings saves it."
        );
        tx.warn("rescheduling-advised", pointer, detail);
    }
    Ok(done)
}

/// Warns of every booking that begins before `until` and still can't be kept after a rescheduling was accepted.
pub fn warn_of_still_broken(tx: &mut Tx<'_>, until: Minute) -> Done<()> {
    let Some(ahead) = ahead(tx)? else { return Ok(()) };
    let found = found(tx, &ahead)?;
    let mut broken: Vec<Broken<'_>> = Vec::new();
    for (of, obstacles) in ahead.bookings.iter().zip(&found) {
        if of.booking.place.starts < until && (!obstacles.is_empty() || !of.booking.fits) {
            broken.push(Broken { of, obstacles: obstacles.iter().collect() });
        }
    }
    if broken.is_empty() {
        return Ok(());
    }
    let settings = shop::usecase::settings(tx)?;
    let can_move = can_move(tx, &settings)?;
    for sentence in sentences(tx, &settings, &broken, &can_move)? {
        tx.warn("booking-still-broken", "", sentence);
    }
    Ok(())
}

/// A booking that can't be kept, and why; no obstacle if only other work was signed for it.
struct Broken<'a> {
    of: &'a Movable,
    obstacles: Vec<&'a Obstacle>,
}

impl Broken<'_> {
    /// What to do if a rescheduling doesn't move it; `None` if one can.
    fn by_hand(&self, can_move: &BTreeSet<BookingId>) -> Option<&'static str> {
        let booking = &self.of.booking;
        match booking.state {
            BookingState::InBay => Some(
                "Its car is here, so a rescheduling does not move it: let somebody else do this work, or ask for one in \
                 which the car stays longer (overruns).",
            ),
            _ if can_move.contains(&booking.id) => None,
            BookingState::Held => {
                Some("Its time is only held, so a rescheduling does not move it: move this booking by hand.")
            }
            _ => Some(
                "A rescheduling can't move it, because its car has another booking, or it begins or ends at a time that \
                 no rescheduling plans: move this booking by hand.",
            ),
        }
    }
}

/// A text about each of these bookings; if they are too many, the last one counts those that are not named.
fn sentences(
    tx: &mut Tx<'_>,
    settings: &Settings,
    broken: &[Broken<'_>],
    can_move: &BTreeSet<BookingId>,
) -> Done<Vec<String>> {
    let names = Names::read(tx)?;
    let text = |one: &Broken<'_>| {
        let sentence = names.sentence(settings, one.of, &one.obstacles);
        match one.by_hand(can_move) {
            Some(what) => format!("{sentence} {what}"),
            None => sentence,
        }
    };
    let mut all: Vec<String> = broken.iter().take(NAMED).map(text).collect();
    let rest = broken.get(NAMED..).unwrap_or_default();
    if !rest.is_empty() {
        let by_hand = rest.iter().filter(|one| one.by_hand(can_move).is_some()).count();
        let count = rest.len();
        all.push(format!(
            "{count} more bookings can't be kept as they are. A rescheduling does not move {by_hand} of them."
        ));
    }
    Ok(all)
}

/// Bookings that are not over.
struct Ahead {
    bookings: Vec<Movable>,
    span: Interval,
}

fn ahead(tx: &mut Tx<'_>) -> Done<Option<Ahead>> {
    let now = tx.now.minute();
    let Some(span) = store::last_finish(tx)?.and_then(|last| Interval::new(now, last)) else { return Ok(None) };
    let mut bookings = Vec::new();
    for booking in store::within(tx, span)? {
        // No more work is done on a car that is ready.
        if !matches!(booking.state, BookingState::Ready | BookingState::HandedOver) {
            bookings.push(movable_of(tx, booking)?);
        }
    }
    Ok((!bookings.is_empty()).then_some(Ahead { bookings, span }))
}

/// The obstacles of each booking, in order.
fn found(tx: &mut Tx<'_>, ahead: &Ahead) -> Done<Vec<Vec<Obstacle>>> {
    let now: Minute = ahead.span.from();
    let shop = timetable(tx, now, ahead.span.to())?;
    let of = |one: &Movable| obstacles(&shop.bays, &shop.technicians, &one.made_for, &one.visit, now);
    Ok(ahead.bookings.iter().map(of).collect())
}

/// Names that the sentences use.
struct Names {
    bays: Vec<shop::usecase::Bay>,
    people: Vec<people::usecase::Person>,
    steps: StepNames,
}

impl Names {
    fn read(tx: &mut Tx<'_>) -> Done<Self> {
        let (bays, people) = (shop::usecase::bays(tx)?, people::usecase::everyone(tx)?);
        Ok(Self { bays, people, steps: menu::usecase::step_names(tx)? })
    }

    fn sentence(&self, settings: &Settings, of: &Movable, obstacles: &[&Obstacle]) -> String {
        let mut reasons: Vec<String> = obstacles.iter().map(|obstacle| self.reason(of, obstacle)).collect();
        if reasons.is_empty() {
            reasons.push("the customer has signed other work since".to_owned());
        }
        let (booking, start) = (&of.booking, settings.wall(of.booking.place.starts));
        format!(
            "{} of {}, booked for {start}, can't be kept: {}. Booking {}.",
            booking.car(),
            booking.names.customer,
            reasons.join("; "),
            booking.id
        )
    }

    fn reason(&self, of: &Movable, obstacle: &Obstacle) -> String {
        let place = &of.booking.place;
        let bays = self.bays.iter().filter(|bay| place.has(&bay.id)).map(|bay| bay.details.name.as_str());
        let bays: Vec<&str> = bays.collect();
        let bay = if bays.is_empty() { "the bay".to_owned() } else { bays.join(" or ") };
        obstacle.of_agreed(&bay, |person| self.person(person), |step| self.steps.of(step))
    }

    fn person(&self, id: &str) -> &str {
        let person = self.people.iter().find(|person| person.id.as_str() == id);
        person.map_or("somebody", |person| person.details.name.as_str())
    }
}

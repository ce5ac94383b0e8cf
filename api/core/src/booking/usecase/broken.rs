//! Bookings that a change of the shop breaks: other hours, a closure, an absence, a person who leaves, a bay without a
//! feature it had. The change is made all the same, and its answer names them.
//!
//! The domain's [`obstacles`] say for each booking what prevents it. They are computed before and after the change, and
//! the new ones are reported. So one rule covers all changes: hours, closures, people and bays.

use baywright_domain::booking::BookingState;
use baywright_domain::schedule::{Obstacle, obstacles};
use baywright_domain::time::{Interval, Minute};

use super::store;
use super::timetable::timetable;
use super::week::{Movable, movable_of};
use crate::menu::usecase::StepNames;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::shop::settings::Settings;
use crate::{menu, people, shop};

/// Maximum number of bookings that are named; the others are only counted.
const NAMED: usize = 20;

/// Makes a change of the shop, and warns of every booking that was possible before and is not afterwards; `pointer` is
/// the part of the request's body that the warnings refer to.
pub fn warn_of_broken<T>(tx: &mut Tx<'_>, pointer: &str, change: impl FnOnce(&mut Tx<'_>) -> Done<T>) -> Done<T> {
    let Some(ahead) = ahead(tx)? else { return change(tx) };
    let before = found(tx, &ahead)?;
    let done = change(tx)?;
    let settings = shop::usecase::settings(tx)?;
    let names = Names::read(tx)?;
    let after = found(tx, &ahead)?;
    let mut broken = 0;
    for ((of, before), after) in ahead.bookings.iter().zip(&before).zip(&after) {
        let new: Vec<&Obstacle> = after.iter().filter(|obstacle| !before.contains(obstacle)).collect();
        if new.is_empty() {
            continue;
        }
        broken += 1;
        if broken <= NAMED {
            tx.warn("booking-broken", pointer, names.sentence(&settings, of, &new));
        }
    }
    if broken > NAMED {
        tx.warn("booking-broken", pointer, format!("{} more bookings can't be kept as they are.", broken - NAMED));
    }
    if broken > 0 {
        let detail = "These bookings stay as they are until somebody moves them. Ask for a new plan of the next days, \
                      which moves them and as few promised times as possible: POST /v1/rescheduling-previews shows it, \
                      POST /v1/reschedulings saves it.";
        tx.warn("rescheduling-advised", pointer, detail);
    }
    Ok(done)
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
    let of = |one: &Movable| obstacles(&shop.bays, &shop.technicians, &one.made_for, &one.placement, now);
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
        let reasons: Vec<String> = obstacles.iter().map(|obstacle| self.reason(of, obstacle)).collect();
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
        let bay = self.bays.iter().find(|bay| bay.id == of.booking.place.bay);
        let bay = bay.map_or("the bay", |bay| bay.details.name.as_str());
        obstacle.of_agreed(bay, |person| self.person(person), |step| self.steps.of(step))
    }

    fn person(&self, id: &str) -> &str {
        let person = self.people.iter().find(|person| person.id.as_str() == id);
        person.map_or("somebody", |person| person.details.name.as_str())
    }
}

//! The booked cars that have not come yet, with the shop's time that is left without them, for suppositions.

use std::collections::BTreeSet;

use baywright_domain::booking::{BookingState, InWeek};
use baywright_domain::plan::Hands;
use baywright_domain::schedule::stays::Visit;
use baywright_domain::time::{Interval, IntervalSet};
use baywright_domain::what_if::{BookedCar, ShopTime};

use super::Booking;
use super::broken::ROOM_DAYS;
use super::diary::{self, Book, Others};
use super::overrun::prolong;
use super::place::not_before;
use super::store;
use super::week::{MOST_DAYS, Overrun, USUAL_DAYS, each_in_week, movable_of};
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::shop::settings::Settings;
use crate::{plan, shop};

/// Maximum number of cars that a supposition looks at.
const MOST_CARS: usize = 500;

/// The booked cars of some days.
#[derive(Debug)]
pub struct BookedDays {
    /// The shop's time without these cars.
    pub time: ShopTime,
    /// The cars, by their starts, each with its booking.
    pub cars: Vec<(Booking, BookedCar)>,
    /// The shop's time if a car in its bay stays longer, and that car's longer place; `None` if none is said to.
    pub longer: Option<(ShopTime, (Booking, Visit))>,
}

/// Reads the cars whose places lie within `days` days from now on; if that is not given, as many as it takes to the last
/// booking, and some more. `overrun` is a car in its bay that is supposed to stay longer.
///
/// # Errors
/// `Invalid` if there are too many cars, or the overrunning one can't stay for that long.
pub fn booked_days(tx: &mut Tx<'_>, days: Option<u32>, overrun: Option<&Overrun>) -> Done<BookedDays> {
    let settings = shop::usecase::settings(tx)?;
    let now = tx.now.minute();
    let last = store::last_finish(tx)?.into_iter().chain(overrun.map(|overrun| overrun.finish)).max();
    let usual = last.map_or(USUAL_DAYS, |last| now.days_until(last).saturating_add(ROOM_DAYS));
    let days = days.unwrap_or_else(|| usual.clamp(USUAL_DAYS, MOST_DAYS));
    let mut book = diary::open(tx, &settings, now, days, Hands::One, None, None)?;
    let each = each_in_week(store::within(tx, book.horizon.span())?, &[], book.horizon);
    let (fixed, open): (Vec<_>, Vec<_>) = each.into_iter().partition(|(_, what)| *what == InWeek::Fixed);
    if open.len() > MOST_CARS {
        let detail = format!("There are more than {MOST_CARS} bookings in those days. Choose fewer days.");
        return Err(Refused::field("/days", "too_many", detail).into());
    }
    let ids: BTreeSet<&str> = open.iter().map(|(booking, _)| booking.id.as_str()).collect();
    book.bays.retain(|taken| !ids.contains(taken.booking.as_str()));
    book.people.retain(|taken| !ids.contains(taken.booking.as_str()));
    let time =
        ShopTime { horizon: book.horizon, bays: book.bay_time(Others::Count), people: book.people_time(Others::Count) };
    let longer = overrun.map(|overrun| longer(tx, &book, &time, overrun)).transpose()?;
    let mut cars = Vec::with_capacity(open.len());
    for (booking, what) in open {
        let elsewhere = fixed.iter().map(|(other, _)| other);
        let elsewhere = elsewhere.filter(|other| other.vehicle == booking.vehicle);
        let elsewhere = elsewhere.filter(|other| other.state != BookingState::HandedOver);
        let taken: IntervalSet =
            elsewhere.filter_map(|other| Interval::new(other.place.starts, other.place.finishes)).collect();
        let car = car_of(tx, &settings, &book, &booking, taken, what == InWeek::Moves)?;
        cars.push((booking, car));
    }
    Ok(BookedDays { time, cars, longer })
}

/// The shop's time if the car stays longer, and its longer place.
fn longer(tx: &mut Tx<'_>, book: &Book, time: &ShopTime, overrun: &Overrun) -> Done<(ShopTime, (Booking, Visit))> {
    let mut longer = time.clone();
    let place = prolong(tx, book, 0, overrun, &mut longer.bays, &mut longer.people)?;
    Ok((longer, place))
}

fn car_of(
    tx: &mut Tx<'_>,
    settings: &Settings,
    book: &Book,
    booking: &Booking,
    elsewhere: IntervalSet,
    in_week: bool,
) -> Done<BookedCar> {
    let movable = movable_of(tx, booking.clone())?;
    let plan = plan::usecase::of_quote(tx, &booking.quote)?.with(booking.hands)?;
    let work = plan.work()?;
    let from = book.horizon.span().from();
    Ok(BookedCar {
        code: booking.id.to_string(),
        car: booking.vehicle.to_string(),
        elsewhere,
        orders: work.step_orders()?,
        plan: movable.plan,
        made_for: movable.made_for,
        moving: book.moving(settings, &work, movable.visit.stays.len() > 1),
        visit: movable.visit,
        from: not_before(tx, &plan)?.map_or(from, |first| first.max(from)),
        in_week,
    })
}

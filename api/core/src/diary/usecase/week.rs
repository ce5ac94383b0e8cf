//! A week of the shop, from Monday to Sunday.

use std::collections::BTreeMap;

use baywright_domain::booking::BookingState;
use baywright_domain::calendar::{Dates, Zone, ZoneRules};
use baywright_domain::id::{BayId, BookingId, PersonId};
use baywright_domain::time::{Interval, IntervalSet};
use baywright_domain::visit::{StretchKind, stretches};
use chrono::{Datelike, Days, NaiveDate};

use super::{Car, Names, is_for_work_only, pieces_of};
use crate::booking::usecase::{Attendance, Booking};
use crate::people::usecase::Absence;
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::shop::usecase::Closure;
use crate::{booking, people, shop};

/// Number of days in a week.
const WEEK: u64 = 7;

/// What a week is limited to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Filter {
    /// Limits it to one bay and the cars in it.
    pub bay: Option<BayId>,
    /// Limits it to the cars on which that person works.
    pub person: Option<PersonId>,
}

/// A day of the week that exists in the shop's time zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Day {
    /// The date.
    pub date: NaiveDate,
    /// The day from midnight to midnight.
    pub when: Interval,
}

/// A stretch of a bay's week.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stretch {
    /// What it is for.
    pub kind: StretchKind,
    /// Time within the week.
    pub when: Interval,
    /// Booking whose car is in the bay; `None` for closed time.
    pub booking: Option<BookingId>,
}

/// A bay in the week.
#[derive(Debug, Clone)]
pub struct BayWeek {
    /// Id of the bay.
    pub id: BayId,
    /// Its name.
    pub name: String,
    /// Time when it is open.
    pub open: IntervalSet,
    /// Its stretches; closed time comes first, so that what cures through the night is drawn above it.
    pub stretches: Vec<Stretch>,
}

/// A car in the week.
#[derive(Debug, Clone)]
pub struct WeekCar {
    /// The car.
    pub car: Car,
    /// Current state of its booking.
    pub state: BookingState,
    /// Whether its place fits the work that is agreed.
    pub fits: bool,
    /// Whether it is in its bay now.
    pub standing: bool,
    /// The bays that it is in, one after another.
    pub stays: Vec<(BayId, Interval)>,
    /// Time of the work on it.
    pub work: IntervalSet,
    /// Names of the people who work on it.
    pub people: Vec<String>,
}

/// A week at the shop.
#[derive(Debug, Clone)]
pub struct Week {
    /// The days, from Monday on.
    pub days: Vec<Day>,
    /// Monday of the week before.
    pub before: NaiveDate,
    /// Monday of the week after.
    pub after: NaiveDate,
    /// The week from its first to its last minute.
    pub span: Interval,
    /// Bays in use, and other bays with a car in them.
    pub bays: Vec<BayWeek>,
    /// Cars in these bays, by start.
    pub cars: Vec<WeekCar>,
    /// Closures of these days.
    pub closures: Vec<Closure>,
    /// Absences of these days; empty for technicians.
    pub absences: Vec<Absence>,
    /// Names of bays and people.
    pub names: Names,
}

/// The week that a date is in; `None` means the current one in the shop's time zone.
///
/// # Errors
/// `Invalid` if the calendar ends there.
pub fn week(tx: &mut Tx<'_>, from: Option<NaiveDate>, filter: &Filter) -> Done<Week> {
    let zone = Zone::named(&tx.studio.zone)?;
    let date = match from {
        Some(date) => date,
        None => tx.today()?,
    };
    let days = days(&zone, date);
    let span = days.first().zip(days.last()).and_then(|(first, last)| Interval::new(first.when.from(), last.when.to()));
    let span = span.ok_or_else(|| {
        Refused::field("?from", "no_such_day", "Choose another day: this week is not in the calendar.")
    })?;
    let bookings = booking::usecase::seen_in(tx, span)?;
    let ids: Vec<BookingId> = bookings.iter().map(|booking| booking.id.clone()).collect();
    let pieces = booking::usecase::pieces_of(tx, &ids)?;
    let names = Names::read(tx)?;
    let wanted = |booking: &&Booking| {
        filter.bay.as_ref().is_none_or(|bay| booking.has_bay_in(bay, span))
            && filter
                .person
                .as_ref()
                .is_none_or(|who| pieces_of(&pieces, &booking.id).any(|piece| piece.person == *who))
    };
    let bookings: Vec<Booking> = bookings.iter().filter(wanted).cloned().collect();
    let all = shop::usecase::bays(tx)?;
    let open = shop::usecase::open_bays(tx, &all, &zone, span)?;
    let open: BTreeMap<String, IntervalSet> = open.into_iter().map(|bay| (bay.code, bay.open)).collect();
    let first = days.first().map_or(date, |day| day.date);
    let dates = Dates::through(first, days.last().map_or(date, |day| day.date))?;
    let before = first.checked_sub_days(Days::new(WEEK)).unwrap_or(first);
    let after = first.checked_add_days(Days::new(WEEK)).unwrap_or(first);
    let bays = all.into_iter().filter(|bay| filter.bay.as_ref().is_none_or(|only| *only == bay.id));
    let bays = bays.filter_map(|bay| bay_week(span, (bay.id, bay.details.name), &open, &bookings, &pieces)).collect();
    let cars = bookings.iter().map(|booking| week_car(tx, booking, &pieces, &names)).collect();
    let closures = shop::usecase::closures_within(tx, dates)?;
    let absences = if is_for_work_only(tx) { Vec::new() } else { people::usecase::absences_on_days(tx, dates)? };
    Ok(Week { days, before, after, span, bays, cars, closures, absences, names })
}

/// The days of the week that a date is in.
fn days(zone: &Zone, date: NaiveDate) -> Vec<Day> {
    let back = u64::from(date.weekday().num_days_from_monday());
    let monday = date.checked_sub_days(Days::new(back)).unwrap_or(date);
    let dates = (0..WEEK).filter_map(|day| monday.checked_add_days(Days::new(day)));
    dates.filter_map(|date| zone.day(date).map(|when| Day { date, when })).collect()
}

fn bay_week(
    span: Interval,
    (id, name): (BayId, String),
    open: &BTreeMap<String, IntervalSet>,
    bookings: &[Booking],
    pieces: &[(BookingId, Attendance)],
) -> Option<BayWeek> {
    let hours = open.get(id.as_str()).cloned();
    let whole: IntervalSet = [span].into_iter().collect();
    let closed = hours.as_ref().map_or_else(|| whole.clone(), |hours| whole.difference(hours));
    let closed = closed.iter().map(|when| Stretch { kind: StretchKind::Closed, when: *when, booking: None });
    let mut all: Vec<Stretch> = closed.collect();
    let mut used = hours.is_some();
    for booking in bookings {
        let work: IntervalSet = pieces_of(pieces, &booking.id).map(|piece| piece.when).collect();
        let held = booking.state == BookingState::Held;
        let stays = booking.place.stays.iter().filter(|stay| stay.bay == id);
        let stays = stays.filter_map(|stay| Interval::new(stay.from, stay.to)?.intersection(span));
        for stay in stays {
            used = true;
            let parts = stretches(stay, held, &work).into_iter();
            all.extend(parts.map(|(kind, when)| Stretch { kind, when, booking: Some(booking.id.clone()) }));
        }
    }
    used.then(|| BayWeek { id, name, open: hours.unwrap_or(IntervalSet::EMPTY), stretches: all })
}

fn week_car(tx: &Tx<'_>, booking: &Booking, pieces: &[(BookingId, Attendance)], names: &Names) -> WeekCar {
    let mut people: Vec<String> = Vec::new();
    for piece in pieces_of(pieces, &booking.id) {
        let name = names.person(piece.person.as_str());
        if !people.iter().any(|known| known == name) {
            people.push(name.to_owned());
        }
    }
    let stays = booking.place.stays.iter();
    WeekCar {
        car: Car::of(tx, booking),
        state: booking.state_at(tx.now),
        fits: booking.fits,
        standing: booking.place.standing,
        stays: stays.filter_map(|stay| Some((stay.bay.clone(), Interval::new(stay.from, stay.to)?))).collect(),
        work: pieces_of(pieces, &booking.id).map(|piece| piece.when).collect(),
        people,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_week_begins_on_monday_and_its_days_follow_the_clock() {
        let zone = Zone::named("Europe/Dublin").unwrap();
        let sunday = NaiveDate::from_ymd_opt(2026, 3, 29).unwrap();
        let days = days(&zone, sunday);
        assert_eq!((days.len(), days[0].date.to_string()), (7, "2026-03-23".to_owned()));
        // The clock is put forward on that Sunday.
        assert_eq!(days[6].when.length().get(), 23 * 60);
        assert!(super::days(&zone, NaiveDate::MAX).len() < 7);
    }
}

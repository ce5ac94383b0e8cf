//! A week as its page shows it: the picture, and the same facts as tables.

use baywright_core::diary::usecase::{BayWeek, Day, Week, WeekCar};
use baywright_core::people::usecase::Absence;
use baywright_core::shop::usecase::Closure;
use baywright_core::visit::usecase::Head;
use baywright_domain::booking::BookingState;
use baywright_domain::calendar::{Absence as Away, Dates, day_in_words};
use baywright_domain::id::BookingId;
use baywright_domain::time::IntervalSet;
use baywright_domain::visit::StretchKind;

use super::HERE;
use super::clock::Clock;
use super::picture::{Bar, BarKind, Lane, Picture, Scene, letter};
use super::shown::{CarShown, listed, state, stay_in_words};

/// A car in the table.
pub(super) struct CarRow {
    /// The letter that ties it to the picture.
    pub(super) key: String,
    pub(super) car: CarShown,
    /// Class and words of its state.
    pub(super) state: (&'static str, &'static str),
    /// What somebody should know about it; empty for nothing.
    pub(super) note: &'static str,
    /// Each bay with its time.
    pub(super) stays: Vec<String>,
    /// The people who work on it.
    pub(super) people: String,
    /// The promise to its customer.
    pub(super) promised: String,
}

/// The opening hours of a day.
pub(super) struct DayRow {
    pub(super) day: String,
    /// Hours of all bays, or of each if they differ.
    pub(super) hours: String,
}

/// Work that has no time yet.
pub(super) struct ToBook {
    pub(super) title: String,
    pub(super) note: String,
    pub(super) address: String,
}

/// The picture of a week.
pub(super) fn picture(week: &Week, clock: &Clock, title: &str) -> Picture {
    let key = |booking: &BookingId| {
        let place = week.cars.iter().position(|one| one.car.booking.as_ref() == Some(booking));
        place.map_or_else(|| (String::new(), String::new()), |at| (letter(at), week.cars[at].car.vehicle.clone()))
    };
    let lanes: Vec<Lane> = week.bays.iter().map(|bay| lane(bay, key)).collect();
    let marks = week.days.iter().map(|day| (day.when.from(), day.date.format("%a %-d").to_string()));
    Picture::of(&Scene {
        id: "week",
        title: title.to_owned(),
        about: "Each bay is a row. The table below says the same.",
        span: week.span,
        marks: marks.collect(),
        lanes: &lanes,
        now: Some((clock.now(), clock.time(clock.now()))),
    })
}

fn lane(bay: &BayWeek, key: impl Fn(&BookingId) -> (String, String)) -> Lane {
    let bars = bay.stretches.iter().map(|stretch| {
        let (letter, words) = stretch.booking.as_ref().map(&key).unwrap_or_default();
        let kind = match stretch.kind {
            StretchKind::Work => BarKind::Work,
            StretchKind::Wait => BarKind::Wait,
            StretchKind::Hold => BarKind::Held,
            StretchKind::Closed => BarKind::Closed,
        };
        let words = if kind == BarKind::Wait { String::new() } else { words };
        Bar { kind, when: stretch.when, letter, words }
    });
    Lane { name: bay.name.clone(), note: String::new(), bars: bars.collect() }
}

/// The cars of a week.
pub(super) fn cars(week: &Week, clock: &Clock) -> Vec<CarRow> {
    week.cars.iter().enumerate().map(|(at, one)| car(week, clock, letter(at), one)).collect()
}

fn car(week: &Week, clock: &Clock, key: String, one: &WeekCar) -> CarRow {
    let held = one.state == BookingState::Held;
    let stays = one.stays.iter().map(|(bay, when)| {
        format!("{}: {}", week.names.bay(bay.as_str()), stay_in_words(clock, *when, held, &one.work))
    });
    let note = match one.state {
        BookingState::InBay | BookingState::Ready if !one.standing => "It is not in its bay.",
        BookingState::Held | BookingState::Booked if !one.fits => "Its time no longer fits the work that was signed.",
        _ => "",
    };
    CarRow {
        key,
        car: CarShown::of(&one.car),
        state: state(one.state),
        note,
        stays: stays.collect(),
        people: listed(&one.people),
        promised: one.car.promised.map(|at| clock.moment(at)).unwrap_or_default(),
    }
}

/// The hours of each day.
pub(super) fn hours(week: &Week, clock: &Clock) -> Vec<DayRow> {
    let of_day = |open: &IntervalSet, day| {
        let hours: Vec<String> = open.clip(day).iter().map(|one| clock.hours(*one)).collect();
        if hours.is_empty() { "closed".to_owned() } else { listed(&hours) }
    };
    let row = |day: &Day| {
        let each: Vec<(&str, String)> =
            week.bays.iter().map(|bay| (bay.name.as_str(), of_day(&bay.open, day.when))).collect();
        let same = each.windows(2).all(|two| two[0].1 == two[1].1);
        let hours = match each.first() {
            None => "no bay".to_owned(),
            Some((_, hours)) if same => hours.clone(),
            Some(_) => each.iter().map(|(bay, hours)| format!("{bay} {hours}")).collect::<Vec<_>>().join("; "),
        };
        DayRow { day: day_in_words(day.date), hours }
    };
    week.days.iter().map(row).collect()
}

/// Days in words: `Tue 3 March 2026`, or from the first to the last.
pub(super) fn days(dates: Dates) -> String {
    let (first, last) = (day_in_words(dates.from()), day_in_words(dates.last()));
    if first == last { first } else { format!("{first} to {last}") }
}

/// When somebody is away.
pub(super) fn away(clock: &Clock, absence: &Absence) -> String {
    match absence.details.away {
        Away::Days(dates) => days(dates),
        Away::Hours(hours) => clock.stretch(hours),
    }
}

/// Closures and absences of the week, a sentence each.
pub(super) fn notices(week: &Week, clock: &Clock) -> Vec<String> {
    let closed = |closure: &Closure| {
        let what = closure.details.bay.as_ref().map_or("The studio", |bay| week.names.bay(bay.as_str()));
        format!("{what} is closed: {}. {}", days(closure.details.dates), closure.details.reason)
    };
    let absent = |absence: &Absence| {
        format!("{} is away: {}.", week.names.person(absence.person.as_str()), away(clock, absence))
    };
    week.closures.iter().map(closed).chain(week.absences.iter().map(absent)).collect()
}

/// Work that has no time yet.
pub(super) fn to_book(heads: Vec<Head>) -> Vec<ToBook> {
    let one = |head: Head| ToBook {
        address: format!("{HERE}/book/{}", head.quote),
        note: format!("{}, {}", head.customer_name, head.number),
        title: if head.vehicle_name.is_empty() { "A car".to_owned() } else { head.vehicle_name },
    };
    heads.into_iter().map(one).collect()
}

//! The picture of the bays on a day.

use std::collections::BTreeMap;

use baywright_core::today::usecase::{BayDay, Stretch, Today};
use baywright_domain::id::BookingId;
use baywright_domain::time::{Interval, Minute};
use baywright_domain::visit::StretchKind;

use crate::platform::Wall;
use crate::platform::picture::{Bar, BarKind, Lane, Picture, Scene, letter};

/// Minutes of an hour.
const HOUR: i64 = 60;

/// The letters that tie the cars of a day to their rows in the table.
pub(super) fn letters(day: &Today) -> BTreeMap<BookingId, String> {
    day.cars.iter().enumerate().map(|(place, car)| (car.booking.clone(), letter(place))).collect()
}

/// The bays on a day; the table of cars says the same.
pub(super) fn picture(day: &Today, wall: &Wall) -> Picture {
    let letters = letters(day);
    let names: BTreeMap<&BookingId, &str> =
        day.cars.iter().map(|car| (&car.booking, car.vehicle_name.as_str())).collect();
    let lane = |bay: &BayDay| {
        let bars = bay.stretches.iter().map(|stretch| bar(stretch, &letters, &names));
        let late = late_bars(day, bay);
        let mut bars: Vec<Bar> = bars.chain(late).collect();
        // Closed time lies under everything else.
        bars.sort_by_key(|bar| bar.kind);
        Lane { name: bay.name.clone(), note: String::new(), bars }
    };
    let lanes: Vec<Lane> = day.bays.iter().map(lane).collect();
    let span = span(day, wall);
    Picture::of(&Scene {
        id: "day",
        title: format!("The bays from {}", wall.stretch(span)),
        about: "The table below says the same: each letter is one car.",
        span,
        marks: wall.hours(span),
        lanes: &lanes,
        now: Some((wall.now(), wall.time(wall.now()))),
    })
}

fn bar(stretch: &Stretch, letters: &BTreeMap<BookingId, String>, names: &BTreeMap<&BookingId, &str>) -> Bar {
    let kind = match stretch.kind {
        StretchKind::Work => BarKind::Work,
        StretchKind::Wait => BarKind::Wait,
        StretchKind::Hold => BarKind::Held,
        StretchKind::Closed => BarKind::Closed,
    };
    let car = stretch.booking.as_ref();
    Bar {
        kind,
        when: stretch.when,
        letter: car.and_then(|car| letters.get(car)).cloned().unwrap_or_default(),
        words: car.and_then(|car| names.get(car)).copied().unwrap_or_default().to_owned(),
    }
}

/// The time for which cars will stay in a bay longer than the diary keeps it for them.
fn late_bars<'d>(day: &'d Today, bay: &'d BayDay) -> impl Iterator<Item = Bar> + 'd {
    day.jobs.iter().filter_map(move |job| {
        let last = bay.stretches.iter().rfind(|stretch| stretch.booking.as_ref() == Some(&job.booking))?;
        // Only the bay in which the car ends its stay.
        let when = Interval::new(job.forecast.finish, job.forecast.expected?)?;
        (last.when.to() == job.forecast.finish).then(|| Bar {
            kind: BarKind::Over,
            when,
            letter: String::new(),
            words: String::new(),
        })
    })
}

/// The time that the picture shows: from an hour before the first thing on the day to an hour after the last one, in full
/// hours. A car that only dries through the night does not stretch it.
fn span(day: &Today, wall: &Wall) -> Interval {
    let whole = day.day;
    let busy = |bay: &BayDay| -> Vec<Interval> {
        let closed = bay.stretches.iter().filter(|stretch| stretch.kind == StretchKind::Closed);
        let open = closed
            .fold(vec![whole], |open, closed| open.into_iter().flat_map(|part| without(part, closed.when)).collect());
        let used = bay.stretches.iter().filter(|stretch| matches!(stretch.kind, StretchKind::Work | StretchKind::Hold));
        open.into_iter().chain(used.map(|stretch| stretch.when)).collect()
    };
    let all: Vec<Interval> = day.bays.iter().flat_map(busy).collect();
    let now = whole.contains(wall.now()).then(|| wall.now());
    let first = all.iter().map(|one| one.from()).min();
    let last = all.iter().map(|one| one.to()).max();
    let (Some(first), Some(last)) = (first, last) else { return whole };
    let first = now.map_or(first, |now| first.min(now));
    let last = now.map_or(last, |now| last.max(now));
    // Offsets of zones are whole quarters of an hour, so hours are counted from midnight on the wall.
    let since = |at: Minute| at.get() - whole.from().get();
    let from = (since(first) - HOUR / 2).div_euclid(HOUR) * HOUR;
    let to = ((since(last) + HOUR / 2 + HOUR - 1).div_euclid(HOUR)) * HOUR;
    let at = |since: i64| Minute::new(whole.from().get() + since);
    Interval::new(at(from), at(to)).and_then(|span| span.intersection(whole)).unwrap_or(whole)
}

/// The parts of a stretch outside another one.
fn without(part: Interval, hole: Interval) -> Vec<Interval> {
    let before = Interval::new(part.from(), part.to().min(hole.from()));
    let after = Interval::new(part.from().max(hole.to()), part.to());
    before.into_iter().chain(after).collect()
}

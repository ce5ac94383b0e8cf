//! A new plan of the next days as its page shows it: two pictures, and what moves as a table.

use baywright_core::diary::usecase::{PlaceSeen, Replanned, ReplannedCar};
use baywright_domain::id::BayId;
use baywright_domain::time::{Interval, IntervalSet, Minute};
use baywright_domain::visit::{StretchKind, stretches};

use super::clock::Clock;
use super::picture::{Bar, BarKind, Lane, Picture, Scene, letter};
use super::shown::CarShown;

/// Number of days up to which each is labelled with its weekday.
const LABELLED_IN_FULL: usize = 8;

/// A car that gets another place.
pub(super) struct MovedRow {
    /// The letter that ties it to the pictures.
    pub(super) key: String,
    pub(super) car: CarShown,
    pub(super) begins: String,
    pub(super) bay: String,
    pub(super) ready: String,
    /// Class and words of the promise.
    pub(super) promise: (&'static str, &'static str),
    pub(super) because: String,
}

/// The cars that get another place.
pub(super) fn rows(plan: &Replanned, clock: &Clock) -> Vec<MovedRow> {
    plan.changed.iter().enumerate().map(|(at, one)| row(plan, clock, letter(at), one)).collect()
}

fn row(plan: &Replanned, clock: &Clock, key: String, one: &ReplannedCar) -> MovedRow {
    let instead = |after: String, before: Option<String>| match before {
        Some(before) if before == after => format!("{after}, as before"),
        Some(before) => format!("{after}, not {before}"),
        None => after,
    };
    let of = |say: &dyn Fn(&PlaceSeen) -> String| instead(say(&one.after), one.before.as_ref().map(say));
    let promise = match (&one.before, one.promise_moves) {
        (None, _) => ("", "new"),
        (Some(_), true) => ("late", "moves"),
        (Some(_), false) => ("done", "kept"),
    };
    MovedRow {
        key,
        car: CarShown::of(&one.car),
        begins: of(&|place| clock.moment(place.when.from())),
        bay: of(&|place| plan.names.bay(&place.bay).to_owned()),
        ready: of(&|place| clock.moment(place.when.to())),
        promise,
        because: one.because.clone().unwrap_or_default(),
    }
}

/// The pictures of the days before and after; `None` if no place changes.
pub(super) fn pictures(plan: &Replanned, clock: &Clock) -> Option<(Picture, Picture)> {
    let span = plan.span?;
    let marks = marks(clock, span);
    let before = lanes(plan, span, |one| one.before.as_ref());
    let after = lanes(plan, span, |one| Some(&one.after));
    let picture = |id, title: &str, lanes: &[Lane]| {
        Picture::of(&Scene {
            id,
            title: title.to_owned(),
            about: "Each bay is a row. The table below says which cars get another place.",
            span,
            marks: marks.clone(),
            lanes,
            now: Some((clock.now(), clock.time(clock.now()))),
        })
    };
    Some((picture("before", "Bays before the change", &before), picture("after", "Bays after the change", &after)))
}

/// The first minute of each day, with its label.
fn marks(clock: &Clock, span: Interval) -> Vec<(Minute, String)> {
    let mut days = Vec::new();
    let mut next = clock.whole_day(clock.date(span.from()));
    while let Some(day) = next.filter(|day| day.from() < span.to()) {
        days.push(day.from());
        next = clock.whole_day(clock.date(day.to())).filter(|following| following.from() > day.from());
    }
    let in_full = days.len() <= LABELLED_IN_FULL;
    let label = |at: Minute| {
        let date = clock.date(at).0;
        if in_full { date.format("%a %-d").to_string() } else { date.format("%-d").to_string() }
    };
    days.into_iter().map(|at| (at, label(at))).collect()
}

/// The bays that the plan's cars are in, with their places before or after.
fn lanes<'a>(
    plan: &'a Replanned,
    span: Interval,
    place: impl Fn(&'a ReplannedCar) -> Option<&'a PlaceSeen>,
) -> Vec<Lane> {
    let whole: IntervalSet = [span].into_iter().collect();
    let everyone = || plan.changed.iter().chain(&plan.kept);
    let is_used = |bay: &str| {
        let at = |place: &PlaceSeen| place.bay == bay && place.when.overlaps(span);
        everyone().any(|one| at(&one.after) || one.before.as_ref().is_some_and(at))
    };
    let used = plan.names.bays.iter().filter(|(bay, _)| is_used(bay.as_str()));
    let lane = |(bay, name): &(BayId, String)| {
        let closed = plan.open.get(bay.as_str()).map_or_else(|| whole.clone(), |open| whole.difference(open));
        let bar = |kind, when, letter, words| Bar { kind, when, letter, words };
        let mut bars: Vec<Bar> =
            closed.iter().map(|when| bar(BarKind::Closed, *when, String::new(), String::new())).collect();
        let cars = plan.changed.iter().enumerate().map(|(at, one)| (letter(at), one));
        let cars = cars.chain(plan.kept.iter().map(|one| (String::new(), one)));
        for (key, one) in cars {
            let Some(place) = place(one).filter(|place| place.bay == bay.as_str()) else { continue };
            let work = if place.work.is_empty() { [place.when].into_iter().collect() } else { place.work.clone() };
            bars.extend(stretches(place.when, false, &work).into_iter().map(|(kind, when)| match kind {
                StretchKind::Work => bar(BarKind::Work, when, key.clone(), one.car.vehicle.clone()),
                _ => bar(BarKind::Wait, when, key.clone(), String::new()),
            }));
        }
        Lane { name: name.clone(), note: String::new(), bars }
    };
    used.map(lane).collect()
}

//! The cars of a day: where each stands, how far its work is, and what comes next.

use std::collections::BTreeMap;

use baywright_core::today::usecase::{Car, JobDay, Today};
use baywright_domain::booking::BookingState;
use baywright_domain::id::BookingId;
use baywright_domain::job::StepState;
use baywright_domain::time::{Interval, Minutes};
use baywright_domain::visit::Act;

use super::bays::letters;
use crate::platform::{Insider, Wall};
use crate::visit::act::{Press, Verb};
use crate::visit::at;

/// A car of the day as the page shows it.
pub(super) struct CarView {
    /// Letter that ties it to the picture.
    pub(super) letter: String,
    pub(super) name: String,
    pub(super) registration: Option<String>,
    pub(super) customer: String,
    /// Address of its stay; empty if the person may not open it.
    pub(super) address: String,
    /// Each bay with the time for which the car has it.
    pub(super) places: Vec<String>,
    /// Step at hand, and when it will be done.
    pub(super) progress: String,
    pub(super) word: String,
    /// Class of the word.
    pub(super) class: &'static str,
    /// The next act, if one press does it.
    pub(super) press: Option<Press>,
    /// Address and label of the next act, if it needs a page.
    pub(super) link: Option<(String, &'static str)>,
}

/// The cars of the day, in the order of their letters.
pub(super) fn views(day: &Today, wall: &Wall, insider: &Insider) -> Vec<CarView> {
    let letters = letters(day);
    day.cars.iter().map(|car| view(day, car, wall, insider, &letters)).collect()
}

fn view(day: &Today, car: &Car, wall: &Wall, insider: &Insider, letters: &BTreeMap<BookingId, String>) -> CarView {
    let job = day.jobs.iter().find(|job| job.booking == car.booking);
    let (word, class) = word(car, job, wall);
    let (press, link) = if insider.is_at_desk() { next(car) } else { (None, None) };
    CarView {
        letter: letters.get(&car.booking).cloned().unwrap_or_default(),
        name: car.vehicle_name.clone(),
        registration: car.registration.clone(),
        customer: car.customer_name.clone(),
        address: if insider.is_at_desk() { at(&car.quote) } else { String::new() },
        places: places(day, car, wall),
        progress: job.map(|job| progress(job, wall)).unwrap_or_default(),
        word,
        class,
        press,
        link,
    }
}

/// Each bay with the time for which the car has it on that day.
fn places(day: &Today, car: &Car, wall: &Wall) -> Vec<String> {
    let mut places: Vec<(Interval, &str)> = Vec::new();
    for bay in &day.bays {
        let own = bay.stretches.iter().filter(|stretch| stretch.booking.as_ref() == Some(&car.booking));
        let (from, to) = (own.clone().map(|one| one.when.from()).min(), own.map(|one| one.when.to()).max());
        let when = from.zip(to).and_then(|(from, to)| Interval::new(from, to));
        places.extend(when.map(|when| (when, bay.name.as_str())));
    }
    places.sort_by_key(|(when, _)| when.from());
    places.into_iter().map(|(when, bay)| format!("{}, {bay}", wall.stretch(when))).collect()
}

/// The step at hand with who is at it, and when the car will be done.
fn progress(job: &JobDay, wall: &Wall) -> String {
    let step = job.step.as_ref().map(|step| {
        let people: Vec<&str> = step.people.iter().map(|(_, name)| name.as_str()).collect();
        match step.not_before {
            _ if step.state == StepState::Running => format!("{}, {}", step.name, people.join(" and ")),
            Some(until) => format!("Dries until {}, then {}", wall.when(until.minute()), step.name),
            None => format!("Next step: {}", step.name),
        }
    });
    let step = step.unwrap_or_else(|| "All steps are done".to_owned());
    let done = match job.forecast.expected {
        Some(expected) => format!("done at about {}", wall.when(expected)),
        None => "end not known".to_owned(),
    };
    let promised = wall.when(job.forecast.promised);
    format!("{step}; {} of {} steps; {done}, promised for {promised}", job.settled, job.steps)
}

/// The state of a car, in a word with its class.
fn word(car: &Car, job: Option<&JobDay>, wall: &Wall) -> (String, &'static str) {
    match car.state {
        BookingState::Held => ("Held".to_owned(), ""),
        BookingState::Booked => (format!("Expected {}", wall.when(car.starts)), ""),
        BookingState::Ready => ("Ready".to_owned(), "done"),
        BookingState::HandedOver => ("Handed over".to_owned(), "done"),
        BookingState::Cancelled => ("Cancelled".to_owned(), ""),
        BookingState::NoShow => ("Did not come".to_owned(), "late"),
        BookingState::InBay => {
            let late = job.and_then(|job| job.forecast.late()).filter(|late| *late > Minutes::ZERO);
            let step = job.and_then(|job| job.step.as_ref());
            match (late, step) {
                (Some(late), _) => (format!("Late {late}"), "late"),
                (None, Some(step)) if step.state == StepState::Running => ("At work".to_owned(), "on"),
                (None, Some(step)) if step.not_before.is_some() => ("Drying".to_owned(), "wait"),
                _ if !car.standing => ("Waits outside".to_owned(), "wait"),
                _ => ("Here".to_owned(), "on"),
            }
        }
    }
}

/// What leads on: a form that one press sends, or a page.
fn next(car: &Car) -> (Option<Press>, Option<(String, &'static str)>) {
    let press =
        |verb: Verb| Some(Press::new(verb, &car.quote, &car.booking, car.version).among(car.vehicle_name.as_str()));
    let link = |verb: Verb| Some((verb.address(&car.quote), verb.label()));
    match car.next {
        Some(Act::Arrive) => (press(Verb::Arrive), None),
        Some(Act::MakeReady) => (press(Verb::Ready), None),
        Some(Act::Confirm) => (press(Verb::Confirm), None),
        Some(Act::HandOver) => (None, link(Verb::HandOver)),
        Some(Act::Invoice) => (None, link(Verb::Invoice)),
        Some(Act::SendVariation) => (None, link(Verb::SendVariation)),
        Some(Act::SignVariation) => (None, link(Verb::VariationAccepted)),
        _ => (None, None),
    }
}

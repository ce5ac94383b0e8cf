//! The people of a day, with what each is booked for.

use baywright_core::today::usecase::{PersonDay, Piece, Today};

use crate::platform::Wall;

/// A person of the day as the page shows them.
pub(super) struct PersonView {
    pub(super) name: String,
    /// Working time, or that there is none.
    pub(super) hours: String,
    /// Each piece of work with its time and car.
    pub(super) pieces: Vec<String>,
    /// State at the present moment; empty on another day.
    pub(super) word: &'static str,
    /// Class of the word.
    pub(super) class: &'static str,
}

/// The people of the day.
pub(super) fn views(day: &Today, wall: &Wall) -> Vec<PersonView> {
    day.people.iter().map(|person| view(day, person, wall)).collect()
}

fn view(day: &Today, person: &PersonDay, wall: &Wall) -> PersonView {
    let car = |piece: &Piece| {
        let car = day.cars.iter().find(|car| car.booking == piece.booking);
        car.map(|car| car.vehicle_name.as_str()).unwrap_or_default()
    };
    let pieces = person.pieces.iter().map(|piece| {
        let helps = if piece.helps { ", helping" } else { "" };
        format!("{}: {}, {}{helps}", wall.stretch(piece.when), piece.step_name, car(piece))
    });
    let hours: Vec<String> = person.working.iter().map(|when| wall.stretch(*when)).collect();
    let now = wall.now();
    let (word, class) = match () {
        () if !day.day.contains(now) => ("", ""),
        () if person.pieces.iter().any(|piece| piece.when.contains(now)) => ("Booked now", "on"),
        () if person.working.contains(now) => ("Free", ""),
        () => ("Not in now", "wait"),
    };
    PersonView {
        name: person.name.clone(),
        hours: if hours.is_empty() { "Does not work on this day".to_owned() } else { hours.join(", ") },
        pieces: pieces.collect(),
        word,
        class,
    }
}

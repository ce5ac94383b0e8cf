//! Cars and the states of their bookings, as the pages of the diary show them.

use baywright_core::diary::usecase::{Car, Names};
use baywright_domain::booking::BookingState;
use baywright_domain::time::{Interval, IntervalSet};

use super::HERE;
use super::clock::Clock;

/// A car as a page names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct CarShown {
    /// Make and model, with the registration if there is one.
    pub(super) name: String,
    /// Name of the customer.
    pub(super) customer: String,
    /// Address of its booking, or of the times for its work.
    pub(super) address: String,
}

impl CarShown {
    pub(super) fn of(car: &Car) -> Self {
        let parts = [car.vehicle.as_str(), car.registration.as_deref().unwrap_or_default()];
        let parts: Vec<&str> = parts.into_iter().filter(|part| !part.is_empty()).collect();
        let address = match &car.booking {
            Some(booking) => format!("{HERE}/{booking}"),
            None => format!("{HERE}/book/{}", car.quote),
        };
        let name = if parts.is_empty() { "A car".to_owned() } else { parts.join(", ") };
        Self { name, customer: car.customer.clone(), address }
    }

    /// The car and its customer in one line.
    pub(super) fn whole(&self) -> String {
        if self.customer.is_empty() { self.name.clone() } else { format!("{} of {}", self.name, self.customer) }
    }
}

/// Class and words of a state.
pub(super) const fn state(state: BookingState) -> (&'static str, &'static str) {
    match state {
        BookingState::Held => ("wait", "held"),
        BookingState::Booked => ("", "booked"),
        BookingState::InBay => ("on", "here"),
        BookingState::Ready => ("done", "ready"),
        BookingState::HandedOver => ("done", "handed over"),
        BookingState::Cancelled => ("late", "cancelled"),
        BookingState::NoShow => ("late", "did not come"),
    }
}

/// Bays one after another, as a sentence names them: `Bay 2, then Bay 1 from Tue 3 March, 12:00`.
pub(super) fn bays<'a>(clock: &Clock, names: &Names, stays: impl Iterator<Item = (&'a str, Interval)>) -> String {
    let mut text = String::new();
    for (bay, when) in stays {
        let name = names.bay(bay);
        if text.is_empty() {
            name.clone_into(&mut text);
        } else {
            text = format!("{text}, then {name} from {}", clock.moment(when.from()));
        }
    }
    text
}

/// Names in a sentence: `Niall, Orla and Rūta`.
pub(super) fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [all @ .., last] => format!("{} and {last}", all.join(", ")),
    }
}

/// The time of the work on a car in one bay, and what of its stay is not work.
pub(super) fn stay_in_words(clock: &Clock, stay: Interval, held: bool, work: &IntervalSet) -> String {
    let whole = clock.stretch(stay);
    if held {
        return format!("{whole}, held");
    }
    let work = work.clip(stay);
    let waits = [stay].into_iter().collect::<IntervalSet>().difference(&work);
    if waits.is_empty() {
        return whole;
    }
    let parts: Vec<String> = work.iter().map(|one| clock.stretch(*one)).collect();
    let work = if parts.is_empty() { "no work in this time".to_owned() } else { format!("work {}", listed(&parts)) };
    format!("{whole}; {work}")
}

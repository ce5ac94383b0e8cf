//! The way through the steps, on top of each page: where somebody is, and links to the others.

use baywright_core::new_car::usecase::NewCar;

use super::{HERE, step};

/// A step on top of a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Step {
    /// Its label.
    pub(super) label: &'static str,
    /// Its address; empty if a step before it must be done first.
    pub(super) address: String,
    /// Whether it is the one that is shown.
    pub(super) here: bool,
    /// Whether it was done, so that it is there to be corrected.
    pub(super) done: bool,
}

/// Head of a step's page: what it is about, and the way through the steps.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Head {
    /// Registration of the car; empty if it is not known.
    pub(super) plate: String,
    /// The car and the customer, as far as they are known.
    pub(super) about: String,
    /// The steps.
    pub(super) steps: Vec<Step>,
    /// Number of the step that is shown, from 1.
    pub(super) number: usize,
}

const LABELS: [&str; 5] = ["Call", "Car", "Walk-round", "Work", "Send"];

impl Head {
    /// The head of the first step, before anything is saved.
    pub(super) fn first() -> Self {
        let steps = LABELS.iter().enumerate().map(|(at, label)| Step {
            label,
            address: String::new(),
            here: at == 0,
            done: false,
        });
        Self { plate: String::new(), about: String::new(), steps: steps.collect(), number: 1 }
    }

    /// The head of a step with that number, from 1.
    pub(super) fn of(new: &NewCar, number: usize) -> Self {
        let id = &new.enquiry.id;
        let (known, chosen) = (new.customer.is_some(), new.vehicle.is_some());
        let of = |at: usize, address: String, open: bool, done: bool| Step {
            label: LABELS.get(at).copied().unwrap_or_default(),
            address: if open && at + 1 != number { address } else { String::new() },
            here: at + 1 == number,
            done,
        };
        let steps = vec![
            of(0, format!("{HERE}/{id}"), true, known),
            of(1, step(id, "car"), known, chosen),
            of(2, step(id, "walk-round"), chosen, new.walk_round.is_some()),
            of(3, step(id, "work"), chosen, new.quote.is_some()),
            of(4, step(id, "send"), new.quote.is_some(), false),
        ];
        let vehicle = new.vehicle.as_ref().map(|vehicle| &vehicle.details);
        let car = vehicle.map(|details| format!("{}, {}", details.name_with_colour(), details.size.label()));
        let who = new.customer.as_ref().map(|customer| customer.details.name.clone());
        Self {
            plate: vehicle.and_then(|details| details.registration.clone()).unwrap_or_default(),
            about: car.into_iter().chain(who).collect::<Vec<_>>().join(" · "),
            steps,
            number,
        }
    }
}

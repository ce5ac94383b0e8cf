//! A day at the shop, as the use case sees it.

use baywright_domain::booking::BookingState;
use baywright_domain::id::{BayId, BookingId, JobId, PersonId, QuoteId, VehicleId};
use baywright_domain::job::StepState;
use baywright_domain::time::{Interval, IntervalSet, Minute};
use baywright_domain::visit::StretchKind;
use chrono::NaiveDate;

use super::usecase::ShortList;
use crate::job::usecase::Forecast;
use crate::platform::clock::UtcTime;

/// A car in the diary, as the one who asks may see it.
#[derive(Debug, Clone)]
pub struct Car {
    /// Id of the booking.
    pub booking: BookingId,
    /// Id of the quote.
    pub quote: QuoteId,
    /// State of the booking as it counts now.
    pub state: BookingState,
    /// Id of the vehicle.
    pub vehicle: VehicleId,
    /// What people call the car.
    pub vehicle_name: String,
    /// Its registration.
    pub registration: Option<String>,
    /// The customer's name; technicians see the first name only.
    pub customer_name: String,
    /// Whether the car is in the bay now.
    pub standing: bool,
    /// Finish that the customer is promised.
    pub promised: Minute,
}

/// A stretch of a bay's day.
#[derive(Debug, Clone)]
pub struct Stretch {
    /// What it is for.
    pub kind: StretchKind,
    /// Time within the day.
    pub when: Interval,
    /// The booking whose car it is; `None` for closed time.
    pub booking: Option<BookingId>,
}

/// A bay on the day.
#[derive(Debug, Clone)]
pub struct BayDay {
    /// Id of the bay.
    pub id: BayId,
    /// Its name.
    pub name: String,
    /// Its stretches, by start; closed time may overlap a wait.
    pub stretches: Vec<Stretch>,
}

/// A piece of work that a person is booked for.
#[derive(Debug, Clone)]
pub struct Piece {
    /// Id of the booking.
    pub booking: BookingId,
    /// Id of the bay where the car is worked on.
    pub bay: BayId,
    /// Code of the step.
    pub step: String,
    /// Name of the step.
    pub step_name: String,
    /// Whether they help somebody who leads.
    pub helps: bool,
    /// Time within the day.
    pub when: Interval,
}

/// A person on the day.
#[derive(Debug, Clone)]
pub struct PersonDay {
    /// Id of the person.
    pub id: PersonId,
    /// Their name as colleagues say it.
    pub name: String,
    /// When they work, absences taken off.
    pub working: IntervalSet,
    /// Their pieces, by start.
    pub pieces: Vec<Piece>,
}

/// The step at hand of a job: one that runs, or else the next one that can be started, or else the next one that waits
/// until something has dried.
#[derive(Debug, Clone)]
pub struct StepAtHand {
    /// Code of the step.
    pub code: String,
    /// Name of the step.
    pub name: String,
    /// Its state.
    pub state: StepState,
    /// The people who are at it now, with their names.
    pub people: Vec<(PersonId, String)>,
    /// Before when it can't be started, because something dries; `None` if it can be started or runs.
    pub not_before: Option<UtcTime>,
}

/// A job that is under way.
#[derive(Debug, Clone)]
pub struct JobDay {
    /// Id of the job.
    pub id: JobId,
    /// Id of the booking.
    pub booking: BookingId,
    /// The step at hand; `None` if every step is settled.
    pub step: Option<StepAtHand>,
    /// Number of steps that are finished or struck out.
    pub settled: usize,
    /// Number of steps.
    pub steps: usize,
    /// When the car will be done, as it looks now.
    pub forecast: Forecast,
}

/// A day at the shop.
#[derive(Debug, Clone)]
pub struct Today {
    /// The date.
    pub date: NaiveDate,
    /// From midnight to midnight.
    pub day: Interval,
    /// The cars that the day names, by start of their places.
    pub cars: Vec<Car>,
    /// The bays in use, and others that have a car.
    pub bays: Vec<BayDay>,
    /// People who work at cars, and others that have a piece.
    pub people: Vec<PersonDay>,
    /// Jobs of the cars that are in a bay; a technician sees their own.
    pub jobs: Vec<JobDay>,
    /// What waits for somebody now, whatever the date; none for technicians.
    pub lists: Vec<ShortList>,
}

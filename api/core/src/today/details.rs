//! A day at the shop, as the use case returns it.

use baywright_domain::booking::BookingState;
use baywright_domain::id::{BayId, BookingId, JobId, PersonId, QuoteId, VehicleId};
use baywright_domain::job::StepState;
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};
use baywright_domain::visit::{Act, StretchKind};
use chrono::NaiveDate;

use super::usecase::ShortList;
use crate::job::usecase::Forecast;
use crate::platform::clock::UtcTime;

/// A car in the diary, with what the caller may see of it.
#[derive(Debug, Clone)]
pub struct Car {
    /// Id of the booking.
    pub booking: BookingId,
    /// Id of the quote.
    pub quote: QuoteId,
    /// Current state of the booking.
    pub state: BookingState,
    /// Id of the vehicle.
    pub vehicle: VehicleId,
    /// What people call the car.
    pub vehicle_name: String,
    /// Its registration.
    pub registration: Option<String>,
    /// Name of the customer; technicians see the first name only.
    pub customer_name: String,
    /// Whether the car is in the bay now.
    pub standing: bool,
    /// Start of its booked time, when it takes its first bay.
    pub starts: Minute,
    /// Finish that was promised to the customer.
    pub promised: Minute,
    /// Version of the booking.
    pub version: i64,
    /// Act that must happen next; `None` for technicians, and if the stay has ended.
    pub next: Option<Act>,
}

/// A stretch of a bay's day.
#[derive(Debug, Clone)]
pub struct Stretch {
    /// What it is for.
    pub kind: StretchKind,
    /// Time within the day.
    pub when: Interval,
    /// Booking whose car is in the bay; `None` for closed time.
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
    /// Whether this person helps another one who leads the step.
    pub helps: bool,
    /// Time within the day.
    pub when: Interval,
}

/// A person on the day.
#[derive(Debug, Clone)]
pub struct PersonDay {
    /// Id of the person.
    pub id: PersonId,
    /// Name of the person as colleagues use it.
    pub name: String,
    /// Working time, without absences.
    pub working: IntervalSet,
    /// Pieces of work, by start.
    pub pieces: Vec<Piece>,
}

/// The step at hand of a job: a running one, or else the next one that can be started, or else the next one that waits
/// until something has dried.
#[derive(Debug, Clone)]
pub struct StepAtHand {
    /// Code of the step.
    pub code: String,
    /// Name of the step.
    pub name: String,
    /// Its state.
    pub state: StepState,
    /// People who are working on it now, with their names.
    pub people: Vec<(PersonId, String)>,
    /// Time before which it can't be started, because something is drying; `None` if it is running or can be started.
    pub not_before: Option<UtcTime>,
}

/// A job that is under way.
#[derive(Debug, Clone)]
pub struct JobDay {
    /// Id of the job.
    pub id: JobId,
    /// Id of the booking.
    pub booking: BookingId,
    /// The step at hand; `None` if every step is finished or removed.
    pub step: Option<StepAtHand>,
    /// Number of steps that are finished or removed.
    pub settled: usize,
    /// Number of steps.
    pub steps: usize,
    /// Forecast of the time when the car will be done.
    pub forecast: Forecast,
}

/// What comes first of all that waits on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum First {
    /// A car will be done after the time that was promised.
    Late {
        /// Id of the booking.
        booking: BookingId,
        /// Delay after the promise.
        by: Minutes,
    },
    /// A car is ready, and its customer can have it.
    HandOver(BookingId),
    /// The time of a car has come or is near.
    TakeIn(BookingId),
}

/// A day at the shop.
#[derive(Debug, Clone)]
pub struct Today {
    /// The date.
    pub date: NaiveDate,
    /// The day from midnight to midnight.
    pub day: Interval,
    /// Cars that occupy a bay on the day or are here, by start of their booked time.
    pub cars: Vec<Car>,
    /// Bays in use, and other bays with a car in them.
    pub bays: Vec<BayDay>,
    /// People who work on cars, and others who are booked for a piece of work.
    pub people: Vec<PersonDay>,
    /// Jobs of the cars that are in a bay; technicians see only their own.
    pub jobs: Vec<JobDay>,
    /// What comes first, if the day is the current one and something on it waits.
    pub first: Option<First>,
    /// Short lists of what waits for somebody now, whatever the date; empty for technicians.
    pub lists: Vec<ShortList>,
}

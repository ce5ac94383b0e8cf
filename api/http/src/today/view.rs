//! The day as it is sent over HTTP.

use baywright_core::platform::clock::UtcTime;
use baywright_core::today::usecase::{BayDay, Car, JobDay, PersonDay, Piece, StepAtHand, Stretch, Today};
use baywright_domain::booking::BookingState;
use baywright_domain::job::StepState;
use baywright_domain::money::Currency;
use baywright_domain::time::Interval;
use baywright_domain::visit::StretchKind;
use serde::Serialize;
use utoipa::ToSchema;

use super::lists::ListView;
use crate::job::ForecastView;
use crate::platform::wire::{Day, Instant, Reference, Word};
use crate::visit::ActWord;

/// A booking's state as it is sent over HTTP.
type BookingStateWord = Word<BookingState>;
/// A step's state as it is sent over HTTP.
type StepStateWord = Word<StepState>;
/// A kind of stretch as it is sent over HTTP.
type StretchWord = Word<StretchKind>;

/// Day at the shop: bays, people, jobs, and what waits for somebody.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Today)]
pub(super) struct TodayView {
    /// Date in the shop's time zone.
    date: Day,
    /// First moment of the day at the shop, RFC 3339 in UTC.
    start: Instant,
    /// First moment of the next day at the shop, RFC 3339 in UTC.
    finish: Instant,
    /// Cars that occupy a bay on the day or are here, by start; bays, people and jobs refer to them by `booking_id`.
    #[schema(max_items = 1000)]
    cars: Vec<CarView>,
    /// Bays in use, and others that have a car.
    #[schema(max_items = 200)]
    bays: Vec<BayView>,
    /// People who work at cars on the day.
    #[schema(max_items = 200)]
    people: Vec<PersonView>,
    /// Jobs of the cars that are in a bay; technicians see their own.
    #[schema(max_items = 1000)]
    jobs: Vec<JobView>,
    /// Short lists of what waits for somebody now, whatever the date; empty for technicians.
    #[schema(max_items = 7)]
    lists: Vec<ListView>,
}

/// Car on a day.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = TodayCar)]
pub(super) struct CarView {
    /// Id of the booking.
    booking_id: Reference,
    /// State of the booking.
    booking_state: BookingStateWord,
    /// Id of the quote, which is the id of the visit too.
    quote_id: Reference,
    /// Id of the vehicle.
    vehicle_id: Reference,
    /// Name of the vehicle as people call it.
    #[schema(max_length = 400)]
    vehicle_name: String,
    /// Registration of the vehicle; null if it has none.
    #[schema(max_length = 40)]
    registration: Option<String>,
    /// Name of the customer; technicians see the first name only.
    #[schema(max_length = 200, example = "Aoife Byrne")]
    customer_name: String,
    /// Whether the car is in the bay now: it came and was not driven out.
    stands_in_bay: bool,
    /// Start of its booked time, when it takes its first bay, RFC 3339 in UTC.
    start: Instant,
    /// Finish that the customer is promised, RFC 3339 in UTC.
    promised: Instant,
    /// Act that must happen next; null for technicians, and if the visit has ended.
    next_act: Option<ActWord>,
}

/// Bay on a day.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = TodayBay)]
pub(super) struct BayView {
    /// Id of the bay.
    id: Reference,
    /// Name of the bay.
    #[schema(max_length = 100)]
    name: String,
    /// Stretches of the bay's day, by start; closed time may overlap the wait of a car.
    #[schema(max_items = 5000)]
    stretches: Vec<StretchView>,
}

/// Stretch of a bay's day.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = TodayStretch)]
pub(super) struct StretchView {
    /// Kind of the stretch: work, wait, hold or closed.
    kind: StretchWord,
    /// Start of the stretch within the day, RFC 3339 in UTC.
    start: Instant,
    /// End of the stretch within the day, RFC 3339 in UTC.
    finish: Instant,
    /// Id of the booking whose car is in the bay; null for closed time.
    booking_id: Option<Reference>,
}

/// Person on a day.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = TodayPerson)]
pub(super) struct PersonView {
    /// Id of the person.
    id: Reference,
    /// Name of the person as colleagues use it.
    #[schema(max_length = 200)]
    name: String,
    /// Working time of the person within the day, without absences.
    #[schema(max_items = 100)]
    working: Vec<SpanView>,
    /// Pieces of work that the person is booked for, by start.
    #[schema(max_items = 1000)]
    pieces: Vec<PieceView>,
}

/// Span of time.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = TodaySpan)]
pub(super) struct SpanView {
    /// Start of the span, RFC 3339 in UTC.
    start: Instant,
    /// End of the span, RFC 3339 in UTC.
    finish: Instant,
}

/// Piece of work on a day.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = TodayPiece)]
pub(super) struct PieceView {
    /// Id of the booking.
    booking_id: Reference,
    /// Id of the bay where the car is worked on.
    bay_id: Reference,
    /// Code of the step.
    #[schema(max_length = 40, example = "wash")]
    step: String,
    /// Name of the step.
    #[schema(max_length = 200, example = "Wash")]
    step_name: String,
    /// Whether the person helps somebody who leads the step.
    helps: bool,
    /// Start of the piece within the day, RFC 3339 in UTC.
    start: Instant,
    /// End of the piece within the day, RFC 3339 in UTC.
    finish: Instant,
}

/// Job that is under way.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = TodayJob)]
pub(super) struct JobView {
    /// Id of the job.
    id: Reference,
    /// Id of the booking.
    booking_id: Reference,
    /// Step at hand: a running one, or else the next one; null if every step is finished or removed.
    step: Option<StepView>,
    /// Number of steps.
    #[schema(minimum = 0, maximum = 1000)]
    steps_total: usize,
    /// Number of steps that are finished or removed.
    #[schema(minimum = 0, maximum = 1000)]
    steps_settled: usize,
    /// Forecast of the time when the car will be done.
    forecast: ForecastView,
}

/// Step at hand of a job.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = TodayStep)]
pub(super) struct StepView {
    /// Code of the step.
    #[schema(max_length = 40, example = "wash")]
    code: String,
    /// Name of the step.
    #[schema(max_length = 200, example = "Wash")]
    name: String,
    /// State of the step.
    state: StepStateWord,
    /// People who are working on the step now.
    #[schema(max_items = 200)]
    people: Vec<AtWorkView>,
    /// Time before which the step can't be started, because something is drying, RFC 3339 in UTC; null if it is running
    /// or can be started.
    not_before: Option<Instant>,
}

/// Person who is working on a step.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = TodayAtWork)]
pub(super) struct AtWorkView {
    /// Id of the person.
    person_id: Reference,
    /// Name of the person as colleagues use it.
    #[schema(max_length = 200)]
    person_name: String,
}

fn start(of: Interval) -> Instant {
    Instant(UtcTime::from_minute(of.from()))
}

fn finish(of: Interval) -> Instant {
    Instant(UtcTime::from_minute(of.to()))
}

impl TodayView {
    /// Converts the day, with its amounts in the given currency.
    pub(super) fn of(today: Today, currency: Currency) -> Self {
        Self {
            date: Day(today.date),
            start: start(today.day),
            finish: finish(today.day),
            cars: today.cars.into_iter().map(CarView::from).collect(),
            bays: today.bays.into_iter().map(BayView::from).collect(),
            people: today.people.into_iter().map(PersonView::from).collect(),
            jobs: today.jobs.into_iter().map(JobView::from).collect(),
            lists: today.lists.into_iter().map(|list| ListView::of(list, currency)).collect(),
        }
    }
}

impl From<Car> for CarView {
    fn from(car: Car) -> Self {
        Self {
            booking_id: Reference::from(&car.booking),
            booking_state: Word(car.state),
            quote_id: Reference::from(&car.quote),
            vehicle_id: Reference::from(&car.vehicle),
            vehicle_name: car.vehicle_name,
            registration: car.registration,
            customer_name: car.customer_name,
            stands_in_bay: car.standing,
            start: Instant(UtcTime::from_minute(car.starts)),
            promised: Instant(UtcTime::from_minute(car.promised)),
            next_act: car.next.map(Word),
        }
    }
}

impl From<BayDay> for BayView {
    fn from(bay: BayDay) -> Self {
        let stretches = bay.stretches.into_iter().map(StretchView::from).collect();
        Self { id: Reference::from(&bay.id), name: bay.name, stretches }
    }
}

impl From<Stretch> for StretchView {
    fn from(stretch: Stretch) -> Self {
        Self {
            kind: Word(stretch.kind),
            start: start(stretch.when),
            finish: finish(stretch.when),
            booking_id: stretch.booking.as_ref().map(Reference::from),
        }
    }
}

impl From<PersonDay> for PersonView {
    fn from(person: PersonDay) -> Self {
        let span = |when: &Interval| SpanView { start: start(*when), finish: finish(*when) };
        Self {
            id: Reference::from(&person.id),
            name: person.name,
            working: person.working.iter().map(span).collect(),
            pieces: person.pieces.into_iter().map(PieceView::from).collect(),
        }
    }
}

impl From<Piece> for PieceView {
    fn from(piece: Piece) -> Self {
        Self {
            booking_id: Reference::from(&piece.booking),
            bay_id: Reference::from(&piece.bay),
            step: piece.step,
            step_name: piece.step_name,
            helps: piece.helps,
            start: start(piece.when),
            finish: finish(piece.when),
        }
    }
}

impl From<JobDay> for JobView {
    fn from(job: JobDay) -> Self {
        Self {
            id: Reference::from(&job.id),
            booking_id: Reference::from(&job.booking),
            step: job.step.map(StepView::from),
            steps_total: job.steps,
            steps_settled: job.settled,
            forecast: job.forecast.into(),
        }
    }
}

impl From<StepAtHand> for StepView {
    fn from(step: StepAtHand) -> Self {
        let people = step.people.into_iter();
        Self {
            code: step.code,
            name: step.name,
            state: Word(step.state),
            people: people
                .map(|(id, name)| AtWorkView { person_id: Reference::from(&id), person_name: name })
                .collect(),
            not_before: step.not_before.map(Instant),
        }
    }
}

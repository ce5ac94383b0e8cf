//! A proposal as it is kept and shown: one form for both.

use baywright_domain::schedule::{PlacedStep, Placement};
use baywright_domain::time::{Interval, Minute};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::platform::clock::UtcTime;
use crate::platform::fail::DbError;
use crate::platform::wire::{Instant, Reference};

/// Schedule of all jobs, with its quality.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = ProposedWeek)]
pub struct WeekForm {
    /// Start of the period that was planned, RFC 3339 in UTC.
    pub from: Instant,
    /// End of the period that was planned, RFC 3339 in UTC.
    pub until: Instant,
    /// Jobs with their places: bookings that may move, and quotes that are to be booked.
    #[schema(max_items = 500)]
    pub jobs: Vec<ProposedJobForm>,
    /// Cars that stay longer in their bay, as given in the request.
    #[schema(max_items = 50)]
    pub overruns: Vec<OverrunForm>,
    /// Bookings that keep their places and people: bookings for two people, bookings of a car that has several in this
    /// period, and bookings that begin at a time that is no longer a possible start. Each can be moved by itself.
    #[schema(max_items = 500)]
    #[serde(default)]
    pub staying: Vec<StayingForm>,
    /// Total lateness after promised or requested times, in minutes, weighted.
    #[schema(minimum = 0, maximum = 9_007_199_254_740_991_u64)]
    pub lateness_minutes: u64,
    /// Finish of the last job, RFC 3339 in UTC; null if there are no jobs.
    pub finish: Option<Instant>,
    /// Total time that cars occupy bays, in minutes.
    #[schema(minimum = 0, maximum = 9_007_199_254_740_991_u64)]
    pub standing_minutes: u64,
    /// Optimality gap, in minutes: the most by which the best possible schedule could be better, in lateness, or in the
    /// last finish if nothing is late. 0 if the schedule is proven to be the best.
    #[schema(minimum = 0, maximum = 9_007_199_254_740_991_u64)]
    pub gap_minutes: u64,
    /// Whether no better schedule with as few moved promises is possible.
    pub proven: bool,
}

impl WeekForm {
    /// How many promises move.
    pub fn moves(&self) -> usize {
        self.jobs.iter().filter(|job| job.promise_moves).count()
    }
}

/// Job with its place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = ProposedJob)]
pub struct ProposedJobForm {
    /// Id of the quote whose work it is.
    pub quote_id: Reference,
    /// Id of the booking; null if there is none yet.
    pub booking_id: Option<Reference>,
    /// Version of the booking when the schedule was made; null if there is none yet.
    #[schema(minimum = 1, maximum = 9_007_199_254_740_991_u64)]
    pub booking_version: Option<i64>,
    /// Current place; null if there is no booking yet.
    pub before: Option<ProposedPlaceForm>,
    /// Proposed place of the job.
    pub after: ProposedPlaceForm,
    /// Whether a promise moves: the car would have to come at another time, or be ready later. The customer is then
    /// told by mail, with a new calendar file.
    pub promise_moves: bool,
    /// Reason why the booking has another place, naming the bay, the person or the car in the way, or what is better about
    /// the new place if the old one is free. Null if it keeps its place or has none yet.
    #[schema(
        max_length = 1000,
        example = "Niall Quirke is planned for machine then, and goes on with Estate car, dark blue until Tue 3 March 2026, 16:00."
    )]
    #[serde(default)]
    pub because: Option<String>,
    /// Steps with people and times.
    #[schema(max_items = 400)]
    pub steps: Vec<ProposedStepForm>,
}

/// Place: a bay from start to finish.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = ProposedPlace)]
pub struct ProposedPlaceForm {
    /// Id of the bay.
    pub bay_id: Reference,
    /// Time when the car takes the bay, RFC 3339 in UTC.
    pub start: Instant,
    /// Time when the work is done, RFC 3339 in UTC.
    pub finish: Instant,
}

/// Step of a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = ProposedStep)]
pub struct ProposedStepForm {
    /// Code of the step.
    #[schema(max_length = 40, example = "wash")]
    pub code: String,
    /// Id of the person who works on the step; null for a step without minutes.
    pub person_id: Option<Reference>,
    /// Stretches of time in which the step is done, in order.
    #[schema(max_items = 200)]
    pub pieces: Vec<ProposedPieceForm>,
}

/// Stretch of work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = ProposedPiece)]
pub struct ProposedPieceForm {
    /// Start of the stretch, RFC 3339 in UTC.
    pub start: Instant,
    /// End of the stretch, RFC 3339 in UTC.
    pub finish: Instant,
}

/// Car that stays longer in its bay.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = Overrun)]
pub struct OverrunForm {
    /// Id of the booking of a car that is in its bay.
    pub booking_id: Reference,
    /// New finish of the work, RFC 3339; a whole minute.
    pub finish: Instant,
}

/// Booking that keeps its place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = StayingBooking)]
pub struct StayingForm {
    /// Id of the booking.
    pub booking_id: Reference,
    /// Whether the work can no longer be done at that place, because somebody is absent, the bay is closed or other
    /// work was signed. In that case move the booking.
    pub broken: bool,
}

fn instant(at: Minute) -> Instant {
    Instant(UtcTime::from_minute(at))
}

impl ProposedPlaceForm {
    /// Where and when a placement is.
    pub fn of(placement: &Placement) -> Self {
        Self {
            bay_id: Reference::from(&placement.bay),
            start: instant(placement.start),
            finish: instant(placement.finish),
        }
    }
}

impl ProposedStepForm {
    /// A step of a placement.
    pub fn of(step: &PlacedStep) -> Self {
        let piece = |piece: &Interval| ProposedPieceForm { start: instant(piece.from()), finish: instant(piece.to()) };
        Self {
            code: step.code.clone(),
            person_id: step.technician.as_ref().map(Reference::from),
            pieces: step.pieces.iter().map(piece).collect(),
        }
    }

    fn read(&self) -> Result<PlacedStep, DbError> {
        let corrupt = || DbError::Corrupt("a kept proposal has an empty piece".to_owned());
        let piece = |piece: &ProposedPieceForm| {
            Interval::new(piece.start.0.minute(), piece.finish.0.minute()).ok_or_else(corrupt)
        };
        Ok(PlacedStep {
            code: self.code.clone(),
            technician: self.person_id.clone().map(Reference::into_string),
            pieces: self.pieces.iter().map(piece).collect::<Result<_, _>>()?,
        })
    }
}

impl ProposedJobForm {
    /// The place that it would have, as the rules know it.
    ///
    /// # Errors
    /// Where it holds what this program can't have written.
    pub fn placement(&self) -> Result<Placement, DbError> {
        Ok(Placement {
            bay: self.after.bay_id.clone().into_string(),
            start: self.after.start.0.minute(),
            finish: self.after.finish.0.minute(),
            steps: self.steps.iter().map(ProposedStepForm::read).collect::<Result<_, _>>()?,
        })
    }
}

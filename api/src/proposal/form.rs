//! A proposal as it is kept and shown: one form for both.

use baywright_domain::schedule::{PlacedStep, Placement};
use baywright_domain::time::{Interval, Minute};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::platform::clock::UtcTime;
use crate::platform::fail::DbError;
use crate::platform::wire::{Instant, Reference};

/// Every job with its place, and what that is worth.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = ProposedWeek)]
pub struct WeekForm {
    /// From when the diary was looked at.
    pub from: Instant,
    /// Up to when.
    pub until: Instant,
    /// The jobs with their places: bookings that may move, and quotes that are to be booked.
    #[schema(max_items = 500)]
    pub jobs: Vec<ProposedJobForm>,
    /// Cars that stay longer in their bay, as it was said.
    #[schema(max_items = 50)]
    pub overruns: Vec<OverrunForm>,
    /// Bookings that keep their places and their people: those for two pairs of hands, those of a car with more than one
    /// booking in these days, and those that start at a time which is no possible start any more. Each can be moved by
    /// itself.
    #[schema(max_items = 500)]
    #[serde(default)]
    pub staying: Vec<StayingForm>,
    /// Minutes beyond what was promised or wished for, weighted, in all.
    #[schema(minimum = 0, maximum = 9_007_199_254_740_991_u64)]
    pub lateness_minutes: u64,
    /// When the last job is done; null without jobs.
    pub finish: Option<Instant>,
    /// Minutes that cars stand in bays.
    #[schema(minimum = 0, maximum = 9_007_199_254_740_991_u64)]
    pub standing_minutes: u64,
    /// How far the best possible may still be from this, in minutes: of lateness, or of the last finish where nothing is
    /// late. 0 where it is proven.
    #[schema(minimum = 0, maximum = 9_007_199_254_740_991_u64)]
    pub gap_minutes: u64,
    /// Whether nothing better is possible, with as few promises moved.
    pub proven: bool,
}

impl WeekForm {
    /// How many promises move.
    pub fn moves(&self) -> usize {
        self.jobs.iter().filter(|job| job.promise_moves).count()
    }
}

/// A job with its place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = ProposedJob)]
pub struct ProposedJobForm {
    /// The quote whose work it is.
    pub quote_id: Reference,
    /// Its booking; null where it has none yet.
    pub booking_id: Option<Reference>,
    /// The version that the booking had; null without one.
    #[schema(minimum = 1, maximum = 9_007_199_254_740_991_u64)]
    pub booking_version: Option<i64>,
    /// The place that it has now; null without a booking.
    pub before: Option<ProposedPlaceForm>,
    /// The place that it would have.
    pub after: ProposedPlaceForm,
    /// Whether a promise moves: the car would have to come at another time, or be ready later. The customer is told by mail
    /// then, with a new file for their calendar.
    pub promise_moves: bool,
    /// Why the booking can't keep its place, naming the bay, the person or the car that is in the way. Null if it keeps it,
    /// if it has none yet, or if its old place is still free and the new one is only better.
    #[schema(
        max_length = 1000,
        example = "Niall Quirke is planned for machine then, and goes on with Estate car, dark blue until Tue 3 March 2026, 16:00."
    )]
    #[serde(default)]
    pub because: Option<String>,
    /// Who would do what when.
    #[schema(max_items = 400)]
    pub steps: Vec<ProposedStepForm>,
}

/// A bay from start to finish.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = ProposedPlace)]
pub struct ProposedPlaceForm {
    /// The bay.
    pub bay_id: Reference,
    /// When the car takes it.
    pub start: Instant,
    /// When the work is done.
    pub finish: Instant,
}

/// A step of a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = ProposedStep)]
pub struct ProposedStepForm {
    /// The step's code.
    #[schema(max_length = 40, example = "wash")]
    pub code: String,
    /// Who works on it; null for a step without minutes.
    pub person_id: Option<Reference>,
    /// When, in order.
    #[schema(max_items = 200)]
    pub pieces: Vec<ProposedPieceForm>,
}

/// A stretch of work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = ProposedPiece)]
pub struct ProposedPieceForm {
    /// From when.
    pub start: Instant,
    /// Until when.
    pub finish: Instant,
}

/// A car that stays longer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = Overrun)]
pub struct OverrunForm {
    /// The booking of a car that is in its bay.
    pub booking_id: Reference,
    /// When its work will be done; a whole minute.
    pub finish: Instant,
}

/// A booking that keeps its place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = StayingBooking)]
pub struct StayingForm {
    /// The booking.
    pub booking_id: Reference,
    /// Whether its work can't be done there any more: somebody is away, the bay is closed, or other work was signed. Move
    /// it then.
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

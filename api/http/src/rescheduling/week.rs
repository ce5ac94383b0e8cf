//! A rescheduling's schedule as the API returns it.

use baywright_core::rescheduling::kept::{
    OverrunForm, RescheduledJobForm, RescheduledPieceForm, RescheduledStepForm, RescheduledTimeForm, UnmovedForm,
    WeekForm,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::booking::StayView;
use crate::platform::wire::{Instant, Reference};

/// Schedule of all jobs, with its quality.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = RescheduledWeek)]
pub(super) struct WeekView {
    /// Start of the period that was planned, RFC 3339 in UTC.
    from: Instant,
    /// End of the period that was planned, RFC 3339 in UTC.
    until: Instant,
    /// Jobs with their places: bookings that may move, and quotes that are to be booked.
    #[schema(max_items = 500)]
    jobs: Vec<RescheduledJobView>,
    /// Cars that stay longer in their bay, as given in the request.
    #[schema(max_items = 50)]
    overruns: Vec<OverrunBody>,
    /// Bookings that keep their places and people: of a car that has several in this period, and bookings that begin at a
    /// time that is no longer a possible start. Each can be moved by itself.
    #[schema(max_items = 500)]
    unmoved: Vec<UnmovedView>,
    /// Total lateness after promised or requested times, in minutes, weighted.
    #[schema(minimum = 0, maximum = 9_007_199_254_740_991_u64)]
    lateness_minutes: u64,
    /// Finish of the last job, RFC 3339 in UTC; null if there are no jobs.
    finish: Option<Instant>,
    /// Total time that cars occupy bays, in minutes.
    #[schema(minimum = 0, maximum = 9_007_199_254_740_991_u64)]
    bay_minutes: u64,
    /// Possible gain, in minutes: the best possible schedule is better by at most this much, in lateness, or in the
    /// last finish if nothing is late. 0 if the schedule is proven to be the best.
    #[schema(minimum = 0, maximum = 9_007_199_254_740_991_u64)]
    possible_gain_minutes: u64,
    /// Whether no better schedule with as few moved promises is possible.
    proven: bool,
}

/// Job with its place.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = RescheduledJob)]
pub(super) struct RescheduledJobView {
    /// Id of the quote whose work it is.
    quote_id: Reference,
    /// Id of the booking; null if there is none yet.
    booking_id: Option<Reference>,
    /// Version of the booking when the schedule was made; null if there is none yet.
    #[schema(minimum = 1, maximum = 9_007_199_254_740_991_u64)]
    booking_version: Option<i64>,
    /// Current bay and time; null if there is no booking yet.
    before: Option<RescheduledTimeView>,
    /// New bay and time of the job.
    after: RescheduledTimeView,
    /// Whether a promise moves: the car would have to come at another time, or be ready later. The customer is then
    /// told by mail, with a new calendar file.
    promise_moves: bool,
    /// Reason why the booking has another place, naming the bay, the person or the car in the way, or what is better about
    /// the new place if the old one is free. Null if it keeps its place or has none yet.
    #[schema(
        max_length = 1000,
        example = "Niall Quirke is planned for machine then, and goes on with Estate car, dark blue until Tue 3 March 2026, 16:00."
    )]
    because: Option<String>,
    /// Steps with people and times.
    #[schema(max_items = 400)]
    steps: Vec<RescheduledStepView>,
}

/// Bays with the time from start to finish.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = RescheduledTime)]
pub(super) struct RescheduledTimeView {
    /// Id of the bay, the first one if the car changes bays.
    bay_id: Reference,
    /// Time when the car takes the bay, RFC 3339 in UTC.
    start: Instant,
    /// Time when the work is done, RFC 3339 in UTC.
    finish: Instant,
    /// Bays that the car is in one after another, from start to finish; one if it keeps its bay.
    #[schema(min_items = 1, max_items = 10)]
    stays: Vec<StayView>,
}

/// Step of a job.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = RescheduledStep)]
pub(super) struct RescheduledStepView {
    /// Code of the step.
    #[schema(max_length = 40, example = "wash")]
    code: String,
    /// Id of the person who works on the step or leads; null for a step without minutes.
    person_id: Option<Reference>,
    /// Id of the person who helps with a step for two; null for other steps.
    helper_id: Option<Reference>,
    /// Periods in which the step is done, in order.
    #[schema(max_items = 200)]
    pieces: Vec<RescheduledPieceView>,
}

/// Period of work with its start and end.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = RescheduledPiece)]
pub(super) struct RescheduledPieceView {
    /// Start of the period, RFC 3339 in UTC.
    start: Instant,
    /// End of the period, RFC 3339 in UTC.
    finish: Instant,
}

/// Car that stays longer in its bay.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[schema(as = Overrun)]
pub(super) struct OverrunBody {
    /// Id of the booking of a car that is in its bay.
    pub(super) booking_id: Reference,
    /// New finish of the work, RFC 3339; a whole minute.
    pub(super) finish: Instant,
}

/// Booking that keeps its place.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = UnmovedBooking)]
pub(super) struct UnmovedView {
    /// Id of the booking.
    booking_id: Reference,
    /// Whether the work can no longer be done at that place, because somebody is absent, the bay is closed or other
    /// work was signed. In that case move the booking.
    broken: bool,
}

impl From<WeekForm> for WeekView {
    fn from(kept: WeekForm) -> Self {
        Self {
            from: kept.from.into(),
            until: kept.until.into(),
            jobs: kept.jobs.into_iter().map(RescheduledJobView::from).collect(),
            overruns: kept.overruns.into_iter().map(OverrunBody::from).collect(),
            unmoved: kept.unmoved.into_iter().map(UnmovedView::from).collect(),
            lateness_minutes: kept.lateness_minutes,
            finish: kept.finish.map(Instant::from),
            bay_minutes: kept.bay_minutes,
            possible_gain_minutes: kept.possible_gain_minutes,
            proven: kept.proven,
        }
    }
}

impl From<RescheduledJobForm> for RescheduledJobView {
    fn from(kept: RescheduledJobForm) -> Self {
        Self {
            quote_id: Reference::from(&kept.quote_id),
            booking_id: kept.booking_id.as_ref().map(Reference::from),
            booking_version: kept.booking_version,
            before: kept.before.map(RescheduledTimeView::from),
            after: kept.after.into(),
            promise_moves: kept.promise_moves,
            because: kept.because,
            steps: kept.steps.into_iter().map(RescheduledStepView::from).collect(),
        }
    }
}

impl From<RescheduledTimeForm> for RescheduledTimeView {
    fn from(kept: RescheduledTimeForm) -> Self {
        let stays = kept.stays().iter().map(|stay| StayView::of(&stay.bay, stay.from, stay.to)).collect();
        let (start, finish) = (kept.start.into(), kept.finish.into());
        Self { bay_id: Reference::from(&kept.bay_id), start, finish, stays }
    }
}

impl From<RescheduledStepForm> for RescheduledStepView {
    fn from(kept: RescheduledStepForm) -> Self {
        Self {
            code: kept.code,
            person_id: kept.person_id.as_ref().map(Reference::from),
            helper_id: kept.helper_id.as_ref().map(Reference::from),
            pieces: kept.pieces.into_iter().map(RescheduledPieceView::from).collect(),
        }
    }
}

impl From<RescheduledPieceForm> for RescheduledPieceView {
    fn from(kept: RescheduledPieceForm) -> Self {
        Self { start: kept.start.into(), finish: kept.finish.into() }
    }
}

impl From<OverrunForm> for OverrunBody {
    fn from(kept: OverrunForm) -> Self {
        Self { booking_id: Reference::from(&kept.booking_id), finish: kept.finish.into() }
    }
}

impl From<UnmovedForm> for UnmovedView {
    fn from(kept: UnmovedForm) -> Self {
        Self { booking_id: Reference::from(&kept.booking_id), broken: kept.broken }
    }
}

//! Jobs as the API returns them.

use baywright_core::booking::usecase::Booking;
use baywright_core::job::usecase::{Job, Listed, Step};
use baywright_core::plan::kept::{CautionForm, PlanForm, PlanStepForm, ProductAmountForm};
use baywright_core::platform::clock::UtcTime;
use baywright_domain::booking::BookingState;
use baywright_domain::customer::first_name;
use baywright_domain::job::{JobState, Piece, StepMove, StepState};
use baywright_domain::menu::Holds;
use baywright_domain::plan::Hands;
use serde::Serialize;
use utoipa::ToSchema;

use crate::booking::StayView;
use crate::plan::{CautionView, HandsWord, ProductAmountView};
use crate::platform::wire::{Instant, Number, Reference, Word};

/// A job's state as it is sent over HTTP.
type JobStateWord = Word<JobState>;
/// A step's state as it is sent over HTTP.
type StepStateWord = Word<StepState>;
/// The hold of a wait as it is sent over HTTP.
type HoldsWord = Word<Holds>;
/// A move of a step as it is sent over HTTP.
type StepMoveWord = Word<StepMove>;
/// A booking's state as it is sent over HTTP.
type BookingStateWord = Word<BookingState>;

/// Job: the work on a car of one booking.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Job)]
pub(super) struct JobView {
    /// Fields of the job that lists also show.
    #[serde(flatten)]
    head: JobHead,
    /// Steps of the job, in order.
    #[schema(max_items = 400)]
    steps: Vec<StepView>,
    /// All cautions of the job, each once.
    #[schema(max_items = 2000)]
    cautions: Vec<CautionView>,
}

/// Job as shown in a list.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct JobHead {
    /// Id of the job.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// State of the job: waiting, in work or ready.
    state: JobStateWord,
    /// Id of the booking whose work it is.
    booking_id: Reference,
    /// Version of the booking, which `arrive`, `ready` and `hand-over` expect in If-Match.
    #[schema(minimum = 1, maximum = 9_007_199_254_740_991_u64)]
    booking_version: i64,
    /// State of the booking.
    booking_state: BookingStateWord,
    /// Id of the quote whose work it is.
    quote_id: Reference,
    /// Id of the bay that the car is in, or that it enters first.
    bay_id: Reference,
    /// Bays that the diary plans for the car, in the order in which it is in them.
    #[schema(min_items = 1, max_items = 10)]
    stays: Vec<StayView>,
    /// Id of the vehicle.
    vehicle_id: Reference,
    /// Short name of the vehicle, such as its make and model.
    #[schema(max_length = 400)]
    vehicle_name: String,
    /// Registration of the vehicle; null if it has none.
    #[schema(max_length = 40)]
    registration: Option<String>,
    /// First name of the customer.
    #[schema(max_length = 200, example = "Aoife")]
    customer_first_name: String,
    /// Time when the car came, RFC 3339 in UTC; null before.
    arrived_at: Option<Instant>,
    /// Time when the work is done by its budgets and the last bay becomes free, RFC 3339 in UTC.
    finish: Instant,
    /// Finish that the customer is promised, RFC 3339 in UTC.
    promised: Instant,
    /// Number of people booked for the steps that allow two: `ONE` or `TWO`.
    hands: HandsWord,
    /// Number of steps.
    #[schema(minimum = 0, maximum = 1000)]
    steps_total: usize,
    /// Number of steps that are finished or removed.
    #[schema(minimum = 0, maximum = 1000)]
    steps_settled: usize,
    /// Time when the record was created, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

/// Step of a job.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = JobStep)]
pub(super) struct StepView {
    /// Code of the step.
    #[schema(max_length = 40, example = "wash")]
    code: String,
    /// Version of the step, which every change raises by one; the same number as in its ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Name of the step.
    #[schema(max_length = 200, example = "Wash")]
    name: String,
    /// State of the step: waiting, running, stopped, finished or removed.
    state: StepStateWord,
    /// Whether the step can be started now.
    can_start: bool,
    /// Id of the bay in which the step is to be done: if the car is in another one, the start of the step moves it there.
    /// Null once the step is finished or removed.
    bay_id: Option<Reference>,
    /// Latest move of the step, which `undo` takes back; null if there is nothing to undo.
    last_move: Option<StepMoveWord>,
    /// Codes of steps that must be finished or removed before this one.
    #[schema(max_items = 400, value_type = Vec<crate::platform::wire::Code>)]
    after: Vec<String>,
    /// Budget of attended work, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 20)]
    budget_minutes: u32,
    /// Number of people the budget is for: `ONE` or `TWO`.
    hands: HandsWord,
    /// Time during which at least one person worked on the step so far, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 18)]
    actual_minutes: u32,
    /// Working time of all people together, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 18)]
    hands_minutes: u32,
    /// Pieces of work with people and times, earliest first.
    #[schema(max_items = 1000)]
    pieces: Vec<WorkedPiece>,
    /// Time when the steps that its drying or curing holds back may begin, RFC 3339 in UTC; null if there is no such wait,
    /// or the step is not finished.
    clear_from: Option<Instant>,
    /// Work that its drying or curing holds back: `CAR` all other work on the car, `AFTER` only the steps that must come
    /// after it.
    holds: HoldsWord,
    /// Time when the step was finished, RFC 3339 in UTC; null before.
    finished_at: Option<Instant>,
    /// Reason why the step was removed; null if it was not.
    #[schema(max_length = 500)]
    removal_reason: Option<String>,
    /// Products that the plan expects for the step.
    #[schema(max_items = 200)]
    products: Vec<ProductAmountView>,
    /// Products that were used.
    #[schema(max_items = 200)]
    used: Vec<UsedView>,
    /// Cautions for the step.
    #[schema(max_items = 200)]
    cautions: Vec<CautionView>,
}

/// Piece of work of one person on a step.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct WorkedPiece {
    /// Id of the person who worked.
    person_id: Reference,
    /// Start of the work, RFC 3339 in UTC.
    start: Instant,
    /// End of the work, RFC 3339 in UTC; null while the person is still working.
    finish: Option<Instant>,
}

/// Amount of a product that was used.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = UsedProduct)]
pub(super) struct UsedView {
    /// Code of the product.
    #[schema(max_length = 40, example = "ph-neutral-shampoo")]
    product: String,
    /// Amount used, ready to use, in the product's unit.
    amount: Number,
}

impl crate::platform::answer::Versioned for JobView {
    fn version(&self) -> i64 {
        self.head.version
    }
}

crate::versioned!(StepView);

impl JobHead {
    fn of(booking: &Booking, state: JobState) -> Self {
        Self {
            id: Reference::from(&booking.id),
            version: booking.version,
            state: Word(state),
            booking_id: Reference::from(&booking.id),
            booking_version: booking.version,
            booking_state: Word(booking.state),
            quote_id: Reference::from(&booking.quote),
            bay_id: Reference::from(&booking.place.bay),
            stays: booking.place.stays.iter().map(StayView::from).collect(),
            vehicle_id: Reference::from(&booking.vehicle),
            vehicle_name: booking.names.vehicle.clone(),
            registration: booking.names.registration.clone(),
            customer_first_name: first_name(&booking.names.customer).to_owned(),
            arrived_at: booking.arrived_at.map(Instant),
            finish: Instant(UtcTime::from_minute(booking.place.finishes)),
            promised: Instant(UtcTime::from_minute(booking.place.promised)),
            hands: Word(booking.hands),
            steps_total: 0,
            steps_settled: 0,
            created_at: Instant(booking.created_at),
            updated_at: Instant(booking.updated_at),
        }
    }
}

impl From<Listed> for JobHead {
    fn from(job: Listed) -> Self {
        Self {
            id: Reference::from(&job.id),
            version: job.version,
            steps_total: job.steps.len(),
            steps_settled: job.settled(),
            created_at: Instant(job.created_at),
            updated_at: Instant(job.updated_at),
            ..Self::of(&job.booking, job.state())
        }
    }
}

impl JobView {
    /// The job with the details of its plan.
    pub(super) fn of(job: &Job, plan: &PlanForm, now: UtcTime) -> Self {
        let head = JobHead {
            id: Reference::from(&job.id),
            version: job.version,
            steps_total: job.steps.len(),
            steps_settled: job.steps.iter().filter(|step| step.step.state.is_settled()).count(),
            created_at: Instant(job.created_at),
            updated_at: Instant(job.updated_at),
            ..JobHead::of(&job.booking, job.state())
        };
        let steps = job.steps.iter().map(|step| StepView::of(job, step, plan, now)).collect();
        Self { head, steps, cautions: cautions(&plan.cautions) }
    }
}

impl StepView {
    /// The step with the details of the plan.
    pub(super) fn of(job: &Job, step: &Step, plan: &PlanForm, now: UtcTime) -> Self {
        let rules = &step.step;
        let planned: Option<&PlanStepForm> = plan.steps.iter().find(|planned| planned.code == rules.code.as_str());
        let at = now.datetime();
        let can_start = job.rules().startable(at).iter().any(|startable| startable.code == rules.code);
        let used = step.used.iter();
        Self {
            code: rules.code.to_string(),
            version: step.version,
            name: rules.name.clone(),
            state: Word(rules.state),
            can_start,
            bay_id: (!rules.state.is_settled()).then(|| Reference::from(job.bay_for(&rules.code))),
            last_move: step.last_move.map(Word),
            after: rules.after.iter().map(ToString::to_string).collect(),
            budget_minutes: step.budget.get(),
            hands: planned.map_or(Word(Hands::One), |planned| planned.hands.into()),
            actual_minutes: rules.attended(at).get(),
            hands_minutes: rules.of_all_hands(at).get(),
            pieces: rules.pieces.iter().map(WorkedPiece::from).collect(),
            clear_from: rules.clear_from.map(|at| Instant(at.into())),
            holds: Word(rules.holds),
            finished_at: rules.finished_at.map(|at| Instant(at.into())),
            removal_reason: rules.removal_reason.clone(),
            products: planned.map(|planned| products(&planned.products)).unwrap_or_default(),
            used: used.map(|(code, amount)| UsedView { product: code.to_string(), amount: Number(*amount) }).collect(),
            cautions: planned.map(|planned| cautions(&planned.cautions)).unwrap_or_default(),
        }
    }
}

fn cautions(kept: &[CautionForm]) -> Vec<CautionView> {
    kept.iter().cloned().map(CautionView::from).collect()
}

fn products(kept: &[ProductAmountForm]) -> Vec<ProductAmountView> {
    kept.iter().cloned().map(ProductAmountView::from).collect()
}

impl From<&Piece> for WorkedPiece {
    fn from(piece: &Piece) -> Self {
        Self {
            person_id: Reference::from(&piece.who),
            start: Instant(piece.from.into()),
            finish: piece.until.map(|at| Instant(at.into())),
        }
    }
}

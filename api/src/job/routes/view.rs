//! Jobs as they are answered.

use baywright_domain::booking::BookingState;
use baywright_domain::customer::first_name;
use baywright_domain::job::{JobState, Piece, StepMove, StepState};
use baywright_domain::plan::Hands;
use serde::Serialize;
use utoipa::ToSchema;

use crate::booking::usecase::Booking;
use crate::job::usecase::{Job, Listed, Step};
use crate::plan::form::{CautionForm, HandsWord, PlanForm, PlanStepForm, ProductAmountForm};
use crate::platform::clock::UtcTime;
use crate::platform::wire::{Instant, Number, Reference, Word};

crate::wire_words! { JobState => "JobState", StepState => "StepState", StepMove => "StepMove" }

/// A job's state as it travels.
type JobStateWord = Word<JobState>;
/// A step's state as it travels.
type StepStateWord = Word<StepState>;
/// A move of a step as it travels.
type StepMoveWord = Word<StepMove>;
/// A booking's state as it travels.
type BookingStateWord = Word<BookingState>;

/// A job.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Job)]
pub(super) struct JobView {
    /// What lists show of it.
    #[serde(flatten)]
    head: JobHead,
    /// The steps, in order.
    #[schema(max_items = 400)]
    steps: Vec<StepView>,
    /// Everything to be careful of, once.
    #[schema(max_items = 2000)]
    cautions: Vec<CautionForm>,
}

/// A job as lists show it.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct JobHead {
    /// The job's id.
    id: Reference,
    /// Counts the changes; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// How far it is.
    state: JobStateWord,
    /// The booking whose work it is.
    booking_id: Reference,
    /// Counts the changes of the booking: what `arrive`, `ready` and `hand-over` ask for with If-Match.
    #[schema(minimum = 1, maximum = 9_007_199_254_740_991_u64)]
    booking_version: i64,
    /// Where the booking is in its life.
    booking_state: BookingStateWord,
    /// The quote whose work it is.
    quote_id: Reference,
    /// The bay.
    bay_id: Reference,
    /// The car.
    vehicle_id: Reference,
    /// What people call the car.
    #[schema(max_length = 400)]
    vehicle_name: String,
    /// Its registration; null where it has none.
    #[schema(max_length = 40)]
    registration: Option<String>,
    /// The customer's first name.
    #[schema(max_length = 200, example = "Aoife")]
    customer_first_name: String,
    /// When the car came.
    arrived_at: Option<Instant>,
    /// When the work is done by its budgets; the bay is free from then on.
    finish: Instant,
    /// What the customer is promised.
    promised: Instant,
    /// How many pairs of hands are booked for it, at the steps that allow two.
    hands: HandsWord,
    /// How many steps it has.
    #[schema(minimum = 0, maximum = 1000)]
    steps_total: usize,
    /// How many of them are finished or struck out.
    #[schema(minimum = 0, maximum = 1000)]
    steps_settled: usize,
    /// When the record was made.
    created_at: Instant,
    /// When it last changed.
    updated_at: Instant,
}

/// A step of a job.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = JobStep)]
pub(super) struct StepView {
    /// The step's code.
    #[schema(max_length = 40, example = "wash")]
    code: String,
    /// Counts the changes of this step; its ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// The step's name.
    #[schema(max_length = 200, example = "Wash")]
    name: String,
    /// Where it is.
    state: StepStateWord,
    /// Whether it can be started now.
    can_start: bool,
    /// The last thing that was done to it, which `undo` takes back; null where there is nothing to undo.
    last_move: Option<StepMoveWord>,
    /// Codes of steps that must be settled before it.
    #[schema(max_items = 400, value_type = Vec<crate::platform::wire::Code>)]
    after: Vec<String>,
    /// Its budget: minutes of attended work.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 20)]
    budget_minutes: u32,
    /// How many pairs of hands the budget is for.
    hands: HandsWord,
    /// Minutes during which somebody was at it, up to now.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 18)]
    actual_minutes: u32,
    /// Minutes of all pairs of hands together.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 18)]
    hands_minutes: u32,
    /// Who was at it when, the earliest first.
    #[schema(max_items = 1000)]
    pieces: Vec<WorkedPiece>,
    /// From when later steps may begin, where it has to dry or cure.
    clear_from: Option<Instant>,
    /// When it was finished.
    finished_at: Option<Instant>,
    /// Why it was struck out.
    #[schema(max_length = 500)]
    struck_because: Option<String>,
    /// What the plan says that it takes.
    #[schema(max_items = 200)]
    products: Vec<ProductAmountForm>,
    /// What it took.
    #[schema(max_items = 200)]
    used: Vec<UsedView>,
    /// What to be careful of.
    #[schema(max_items = 200)]
    cautions: Vec<CautionForm>,
}

/// Somebody at a step.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct WorkedPiece {
    /// Who.
    person_id: Reference,
    /// From when.
    start: Instant,
    /// Until when; null while they still are.
    finish: Option<Instant>,
}

/// How much of a product was used.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = UsedProduct)]
pub(super) struct UsedView {
    /// The product's code.
    #[schema(max_length = 40, example = "ph-neutral-shampoo")]
    product: String,
    /// How much, ready to use, in the product's unit.
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
    /// The job with what its plan says.
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
        Self { head, steps, cautions: plan.cautions.clone() }
    }
}

impl StepView {
    /// The step with what the plan says of it.
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
            last_move: step.last_move.map(Word),
            after: rules.after.iter().map(ToString::to_string).collect(),
            budget_minutes: step.budget.get(),
            hands: planned.map_or(Word(Hands::One), |planned| planned.hands),
            actual_minutes: rules.attended(at).get(),
            hands_minutes: rules.of_all_hands(at).get(),
            pieces: rules.pieces.iter().map(WorkedPiece::from).collect(),
            clear_from: rules.clear_from.map(|at| Instant(at.into())),
            finished_at: rules.finished_at.map(|at| Instant(at.into())),
            struck_because: rules.struck_because.clone(),
            products: planned.map(|planned| planned.products.clone()).unwrap_or_default(),
            used: used.map(|(code, amount)| UsedView { product: code.to_string(), amount: Number(*amount) }).collect(),
            cautions: planned.map(|planned| planned.cautions.clone()).unwrap_or_default(),
        }
    }
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

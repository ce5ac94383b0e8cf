//! One step of a plan as the API returns it.

use baywright_core::plan::kept::{BudgetForm, PlanStepForm, StepNameForm, WaitForm};
use baywright_domain::menu::{Holds, WaitWhen};
use serde::Serialize;
use utoipa::ToSchema;

use super::HandsWord;
use super::product::ProductAmountView;
use super::work::CautionView;
use crate::platform::wire::{Code, Number, Word};

/// Time when a wait runs, as it is sent over HTTP.
type WaitWord = Word<WaitWhen>;
/// The hold of a wait as it is sent over HTTP.
type HoldsWord = Word<Holds>;

/// Step of a plan.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PlanStep)]
pub struct PlanStepView {
    /// Code of the step.
    #[schema(max_length = 40, example = "iron-removal")]
    code: String,
    /// Name of the step.
    #[schema(max_length = 200, example = "Iron fallout removal")]
    name: String,
    /// Stage of the step in the usual order of work.
    #[schema(minimum = 0, maximum = 65535, example = 30)]
    stage: u16,
    /// Time from the beginning of the plan to the step's attended work, in minutes, without interruptions.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64)]
    start_offset_minutes: u32,
    /// Changeover time before the step, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64)]
    changeover_before_minutes: u32,
    /// Time for clearing up after the plan's last step, in minutes; 0 for all other steps.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64)]
    changeover_after_minutes: u32,
    /// Budget of attended work, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 20)]
    attended_minutes: u32,
    /// Numbers behind the budget.
    budget: StepBudgetView,
    /// Time that two people need, as a share of the time of one person; null if a second person does not help.
    two_hands: Option<Number>,
    /// Number of people who work on the step: `ONE` or `TWO`.
    hands: HandsWord,
    /// Minimum wait after the step.
    wait: StepWaitView,
    /// Shortest piece of work into which the step may be split, in minutes; null if it cannot be interrupted.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64)]
    smallest_piece_minutes: Option<u32>,
    /// Skills that one person must have, all of them; a helper needs none.
    #[schema(max_items = 100, value_type = Vec<Code>)]
    skills: Vec<String>,
    /// Features that the bay must have.
    #[schema(max_items = 100, value_type = Vec<Code>)]
    features: Vec<String>,
    /// Products that the step needs, with their mixes.
    #[schema(max_items = 200)]
    products: Vec<ProductAmountView>,
    /// Cautions for the step.
    #[schema(max_items = 200)]
    cautions: Vec<CautionView>,
    /// Codes of the services that need the step.
    #[schema(max_items = 100, value_type = Vec<Code>)]
    services: Vec<String>,
    /// Steps of this plan that must be finished before it.
    #[schema(max_items = 400)]
    after: Vec<StepNameView>,
    /// Code of the last step in the plan that must be finished before this one; null if no step must be.
    held_back_by: Option<StepNameView>,
}

/// Step with its name.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = StepName)]
pub struct StepNameView {
    /// Code of the step.
    #[schema(max_length = 40, example = "wash")]
    code: String,
    /// Name of the step.
    #[schema(max_length = 200, example = "Wash")]
    name: String,
}

/// Numbers behind a budget: minutes × size × condition × quantity × hands, rounded up.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = StepBudget)]
pub struct StepBudgetView {
    /// Base time for a medium car in fair condition, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 20)]
    base_minutes: u32,
    /// Size factor; 1 if size does not matter.
    size: Number,
    /// Condition factor; 1 if condition does not matter.
    condition: Number,
    /// Number of times the step is done: the quantity of the only service that needs it, or 1 for a step that several
    /// services share.
    quantity: Number,
    /// Time that the booked people need, as a share of the time of one person; 1 for one person.
    hands: Number,
}

/// Minimum wait after a step.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = StepWait)]
pub struct StepWaitView {
    /// Minimum duration of the wait, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 720)]
    minutes: u32,
    /// Times that count for the wait: `ANY` for all times, `OPEN` only for times when the shop is open.
    when: WaitWord,
    /// Work that the wait holds back: `CAR` all other work on the car, `AFTER` only the steps that must come after this one.
    holds: HoldsWord,
    /// Whether the car must stay in the bay during the wait.
    needs_bay: bool,
    /// Whether the car must be under cover during the wait.
    needs_cover: bool,
}

impl From<PlanStepForm> for PlanStepView {
    fn from(step: PlanStepForm) -> Self {
        Self {
            code: step.code,
            name: step.name,
            stage: step.stage,
            start_offset_minutes: step.start_offset_minutes,
            changeover_before_minutes: step.changeover_before_minutes,
            changeover_after_minutes: step.changeover_after_minutes,
            attended_minutes: step.attended_minutes,
            budget: step.budget.into(),
            two_hands: step.two_hands.map(Number::from),
            hands: step.hands.into(),
            wait: step.wait.into(),
            smallest_piece_minutes: step.smallest_piece_minutes,
            skills: step.skills,
            features: step.features,
            products: step.products.into_iter().map(ProductAmountView::from).collect(),
            cautions: step.cautions.into_iter().map(CautionView::from).collect(),
            services: step.services,
            after: step.after.into_iter().map(StepNameView::from).collect(),
            held_back_by: step.held_back_by.map(StepNameView::from),
        }
    }
}

impl From<StepNameForm> for StepNameView {
    fn from(step: StepNameForm) -> Self {
        Self { code: step.code, name: step.name }
    }
}

impl From<BudgetForm> for StepBudgetView {
    fn from(budget: BudgetForm) -> Self {
        Self {
            base_minutes: budget.base_minutes,
            size: budget.size.into(),
            condition: budget.condition.into(),
            quantity: budget.quantity.into(),
            hands: budget.hands.into(),
        }
    }
}

impl From<WaitForm> for StepWaitView {
    fn from(wait: WaitForm) -> Self {
        Self {
            minutes: wait.minutes,
            when: wait.when.into(),
            holds: wait.holds.into(),
            needs_bay: wait.needs_bay,
            needs_cover: wait.needs_cover,
        }
    }
}

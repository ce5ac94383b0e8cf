//! A work plan and its outlook as the API returns them.

use baywright_core::plan::kept::{CautionForm, OutlookForm, PlanForm, StepOutlookForm};
use baywright_domain::caution::Hazard;
use baywright_domain::learning::LearnedFrom;
use serde::Serialize;
use utoipa::ToSchema;

use super::order::PlanOrdersView;
use super::product::ProductAmountView;
use super::step::PlanStepView;
use crate::platform::wire::{Code, Word};

/// A hazard as it is sent over HTTP.
type HazardWord = Word<Hazard>;
/// Source of an estimate as it is sent over HTTP.
type LearnedFromWord = Word<LearnedFrom>;

/// Steps of all signed work, each once, in the order in which they are done.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = WorkPlan)]
pub struct WorkPlanView {
    /// Steps of the plan, in order.
    #[schema(max_items = 400)]
    steps: Vec<PlanStepView>,
    /// Attended work in total, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 480)]
    attended_minutes: u32,
    /// Changeover time between steps in total, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 40)]
    changeover_minutes: u32,
    /// Proven lower bound of the changeover time, in minutes: no order of these steps needs less.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 40)]
    changeover_bound_minutes: u32,
    /// Whether the order is proven to need the least changeover time.
    proven: bool,
    /// Changeover time that the plain order by stage would need, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 55)]
    stage_order_changeover_minutes: u32,
    /// Time from the first step to the end of the latest step or wait, in minutes, without interruptions.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 560)]
    elapsed_minutes: u32,
    /// Front of orders of these steps: every choice between less changeover time and an earlier finish.
    front: PlanOrdersView,
    /// Features that the bay must have.
    #[schema(max_items = 200, value_type = Vec<Code>)]
    features: Vec<String>,
    /// Skills that the job needs.
    #[schema(max_items = 200, value_type = Vec<Code>)]
    skills: Vec<String>,
    /// Products of all steps together.
    #[schema(max_items = 400)]
    products: Vec<ProductAmountView>,
    /// All cautions of the plan, each once.
    #[schema(max_items = 2000)]
    cautions: Vec<CautionView>,
    /// Expected and promised duration of the work, as learned from finished jobs; null for plans made before this was
    /// stored.
    outlook: Option<PlanOutlookView>,
    /// Expected and promised duration of the work with two people; null if no step allows a second person.
    outlook_of_two: Option<PlanOutlookView>,
}

/// Caution: a hazard or advice.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Caution)]
pub struct CautionView {
    /// Hazard of the fixed list; null if the caution is in the shop's own words.
    hazard: Option<HazardWord>,
    /// Text of the caution. It replaces neither local law nor the product's label.
    #[schema(max_length = 2000)]
    text: String,
}

/// Expected duration of a plan's attended work, without changeovers and waits.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PlanOutlook)]
pub struct PlanOutlookView {
    /// Median duration, in minutes: half of all jobs take longer.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 510)]
    median_minutes: u32,
    /// Share of jobs, in percent, that need no more work than is promised.
    #[schema(minimum = 50, maximum = 99, example = 80)]
    promise_percent: u8,
    /// Promised duration, in minutes: `promise_percent` percent of all jobs take no longer. The part beyond
    /// `attended_minutes` is added to the diary's finish, within the bay's opening hours, to give the finish that the
    /// customer is promised.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 590)]
    promised_minutes: u32,
    /// Steps of the plan, in order.
    #[schema(max_items = 400)]
    steps: Vec<StepOutlookView>,
}

/// Expected duration of one step.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PlanStepOutlook)]
pub struct StepOutlookView {
    /// Code of the step.
    #[schema(max_length = 40, example = "iron-removal")]
    code: String,
    /// Median duration, in minutes: half of all jobs take longer.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 24)]
    median_minutes: u32,
    /// Number of finished jobs that the estimate is based on.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 12)]
    jobs: u32,
    /// Source of the estimate: jobs of this size class, of all classes, or the budget alone.
    learned_from: LearnedFromWord,
}

impl From<PlanForm> for WorkPlanView {
    fn from(plan: PlanForm) -> Self {
        Self {
            stage_order_changeover_minutes: plan.stage_order_changeover(),
            front: plan.front().into(),
            steps: plan.steps.into_iter().map(PlanStepView::from).collect(),
            attended_minutes: plan.attended_minutes,
            changeover_minutes: plan.changeover_minutes,
            changeover_bound_minutes: plan.changeover_bound_minutes,
            proven: plan.proven,
            elapsed_minutes: plan.elapsed_minutes,
            features: plan.features,
            skills: plan.skills,
            products: plan.products.into_iter().map(ProductAmountView::from).collect(),
            cautions: plan.cautions.into_iter().map(CautionView::from).collect(),
            outlook: plan.outlook.map(PlanOutlookView::from),
            outlook_of_two: plan.outlook_of_two.map(PlanOutlookView::from),
        }
    }
}

impl From<CautionForm> for CautionView {
    fn from(caution: CautionForm) -> Self {
        Self { hazard: caution.hazard.map(Word::from), text: caution.text }
    }
}

impl From<OutlookForm> for PlanOutlookView {
    fn from(outlook: OutlookForm) -> Self {
        Self {
            median_minutes: outlook.median_minutes,
            promise_percent: outlook.promise_percent,
            promised_minutes: outlook.promised_minutes,
            steps: outlook.steps.into_iter().map(StepOutlookView::from).collect(),
        }
    }
}

impl From<StepOutlookForm> for StepOutlookView {
    fn from(step: StepOutlookForm) -> Self {
        Self {
            code: step.code,
            median_minutes: step.median_minutes,
            jobs: step.jobs,
            learned_from: step.learned_from.into(),
        }
    }
}

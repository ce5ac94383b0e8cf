//! Learning over HTTP.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::learning::usecase::{self, Applied, Kept, OfSize, OfStep, Overview};
use baywright_core::platform::identity::{Desk, Owner};
use baywright_core::platform::refusal::Refused;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::learning::{LearnedFrom, Misfit, Outlier, Quantile};
use baywright_domain::vehicle::SizeClass;
use rust_decimal::{Decimal, RoundingStrategy};
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, plain};
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::wire::{Code, Instant, Number, Reference, Word};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(steps).service(apply);
}

/// Source of an estimate as it is sent over HTTP.
type LearnedFromWord = Word<LearnedFrom>;
/// Reason for leaving a job out, as it is sent over HTTP.
type OutlierWord = Word<Outlier>;
/// A size class as it is sent over HTTP.
type SizeWord = Word<SizeClass>;
/// A condition class as it is sent over HTTP.
type ConditionWord = Word<ConditionClass>;

/// Comparison of finished jobs with the budgets of the menu in force.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Learning)]
struct LearningView {
    /// Share of jobs, in percent, that need no more work than is promised.
    #[schema(minimum = 50, maximum = 99, example = 80)]
    promise_percent: u8,
    /// Steps of the menu, in its order.
    #[schema(max_items = 200)]
    steps: Vec<StepView>,
}

/// Comparison of finished jobs with the budget of one step.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = LearnedStep)]
struct StepView {
    /// Code of the step.
    #[schema(max_length = 40, example = "iron-removal")]
    code: String,
    /// Name of the step.
    #[schema(max_length = 200, example = "Iron fallout removal")]
    name: String,
    /// Budget on the menu for a medium car in fair condition, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 20)]
    base_minutes: u32,
    /// Number of finished jobs that were evaluated, of all size classes together.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 12)]
    jobs: usize,
    /// Median of actual time ÷ budget, over all size classes: half of all jobs take longer than the budget times this
    /// factor.
    median_factor: Number,
    /// Suggested budget for a medium car in fair condition, in minutes: the budget on the menu times `median_factor`.
    /// The owner can apply it to the menu draft.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 24)]
    suggested_base_minutes: u32,
    /// Evaluation by size class, smallest first.
    #[schema(max_items = 4)]
    sizes: Vec<SizeView>,
    /// Latest jobs that were left out of the evaluation.
    #[schema(max_items = 20)]
    outliers: Vec<OutlierView>,
    /// Number of all jobs that were left out of the evaluation.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 1)]
    outlier_count: usize,
}

/// Comparison of finished jobs with the budget of a step, for cars of one size class.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = LearnedSize)]
struct SizeView {
    /// Size class of the cars.
    size: SizeWord,
    /// Budget on the menu for a car of this class in fair condition, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 25)]
    budget_minutes: u32,
    /// Number of finished jobs of this class that were evaluated.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 7)]
    jobs: usize,
    /// Source of the estimate: jobs of this size class, jobs of all classes if this one has too few, or the budget
    /// alone.
    learned_from: LearnedFromWord,
    /// Median of actual time ÷ budget: half of all jobs take longer than the budget times this factor.
    median_factor: Number,
    /// Budget times `median_factor`, in whole minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 31)]
    learned_minutes: u32,
    /// Time that could be promised for this step alone, in minutes, rounded up. A plan is promised as a whole, which
    /// needs less than the sum of its steps.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 38)]
    promised_minutes: u32,
}

/// Job that was left out of the evaluation of a step.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = LearningMisfit)]
struct OutlierView {
    /// Id of the job.
    job_id: Reference,
    /// Time when the car was ready, RFC 3339 in UTC.
    at: Instant,
    /// Size class of the car.
    size: SizeWord,
    /// Condition class of the car.
    condition: ConditionWord,
    /// Budget that the menu would give the step for this car, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 25)]
    budget_minutes: u32,
    /// Actual time of the step, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 190)]
    actual_minutes: u32,
    /// Reason for leaving the job out: `TOO_LONG` for more than four times the budget, `TOO_SHORT` for less than a
    /// quarter.
    why: OutlierWord,
    /// Reason for leaving the job out, as a sentence.
    #[schema(max_length = 200, example = "The clock says more than four times its budget.")]
    text: String,
}

/// Learned budget that was applied to the menu draft.
#[derive(Debug, Serialize, ToSchema)]
struct AppliedBudget {
    /// Version of the menu draft, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Code of the step.
    #[schema(max_length = 40, example = "iron-removal")]
    code: String,
    /// Budget of the step in the draft before, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 20)]
    minutes_before: u32,
    /// Budget of the step in the draft now, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 24)]
    base_minutes: u32,
    /// Number of finished jobs that the new budget is based on.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 12)]
    jobs: usize,
}

crate::versioned!(AppliedBudget);

/// A factor, rounded to the decimals that people read.
fn factor(exact: Decimal) -> Number {
    Number(exact.round_dp_with_strategy(3, RoundingStrategy::MidpointAwayFromZero))
}

impl From<Overview> for LearningView {
    fn from(overview: Overview) -> Self {
        let promise = overview.policy.promise;
        Self {
            promise_percent: promise.percent(),
            steps: overview.steps.into_iter().map(|step| StepView::of(step, promise)).collect(),
        }
    }
}

impl StepView {
    fn of(step: OfStep, promise: Quantile) -> Self {
        let pooled = step.pooled.estimate;
        Self {
            code: step.code.to_string(),
            name: step.name,
            base_minutes: step.base.get(),
            jobs: pooled.jobs(),
            median_factor: factor(pooled.median_factor()),
            suggested_base_minutes: pooled.median(step.base).get(),
            sizes: step.sizes.iter().map(|size| SizeView::of(size, promise)).collect(),
            outliers: step.outliers.iter().map(|(kept, misfit)| OutlierView::of(kept, misfit)).collect(),
            outlier_count: step.outlier_count,
        }
    }
}

impl SizeView {
    fn of(size: &OfSize, promise: Quantile) -> Self {
        let estimate = size.learned.estimate;
        Self {
            size: Word(size.size),
            budget_minutes: size.budget.get(),
            jobs: size.jobs,
            learned_from: Word(size.learned.learned_from),
            median_factor: factor(estimate.median_factor()),
            learned_minutes: estimate.median(size.budget).get(),
            promised_minutes: estimate.minutes_at(size.budget, promise).get(),
        }
    }
}

impl OutlierView {
    fn of(kept: &Kept, misfit: &Misfit) -> Self {
        Self {
            job_id: Reference::from(&kept.job),
            at: Instant(kept.at),
            size: Word(kept.lesson.size),
            condition: Word(kept.lesson.condition),
            budget_minutes: misfit.budget.get(),
            actual_minutes: kept.lesson.actual.get(),
            why: Word(misfit.why),
            text: format!("The clock says {}.", misfit.why.label()),
        }
    }
}

impl From<(baywright_domain::menu::Code, Applied)> for AppliedBudget {
    fn from((code, applied): (baywright_domain::menu::Code, Applied)) -> Self {
        Self {
            version: applied.draft.version,
            code: code.to_string(),
            minutes_before: applied.before.get(),
            base_minutes: applied.after.get(),
            jobs: applied.jobs,
        }
    }
}

/// Compare finished jobs with the menu's budgets.
///
/// Returns each step of the menu in force with its budgets by size class, how long finished jobs took, and the jobs
/// that were left out of the evaluation, such as those whose clock was left running.
#[utoipa::path(tag = "learning",
    responses((status = 200, description = "Steps with their budgets and the times of finished jobs.",
    body = LearningView),
    (status = 409, description = "No menu is in force.")))]
#[get("/v1/learning/steps")]
async fn steps(call: Call<Desk>) -> Answer {
    let overview = call.read(usecase::overview).await?;
    Ok(plain(&LearningView::from(overview)))
}

/// Apply a learned budget to the menu draft.
///
/// Multiplies the minutes of a step in the draft, and those that services require instead, by the step's
/// `median_factor`. If-Match is the ETag of the draft. Nothing changes for customers until the draft is published.
#[utoipa::path(tag = "learning", params(("code" = Code, Path, description = "Code of the step.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "Budget of the step in the draft, before and after.", body = AppliedBudget),
        (status = 404, description = "The draft has no step with this code."),
        (status = 409, description = "No finished job has times of this step.")))]
#[post("/v1/learning/steps/{code}/apply")]
async fn apply(call: Call<Owner>, code: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    let code = baywright_domain::menu::Code::parse(&code).map_err(|_| Refused::not_found("step"))?;
    call.change(move |tx| {
        let applied = usecase::apply(tx, seen, &code)?;
        Ok(AppliedBudget::from((code.clone(), applied)))
    })
    .await
}

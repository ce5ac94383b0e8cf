//! Learning over HTTP.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_domain::inspection::ConditionClass;
use baywright_domain::learning::{Grounds, Misfit, Outlier, Quantile};
use baywright_domain::vehicle::SizeClass;
use rust_decimal::{Decimal, RoundingStrategy};
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::usecase::{self, Kept, OfSize, OfStep, Overview, Taken};
use crate::platform::answer::{Answer, plain};
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::identity::{Desk, Owner};
use crate::platform::problem::Problem;
use crate::platform::wire::{Code, Instant, Number, Reference, Word};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(steps).service(take);
}

crate::wire_words! { Outlier => "LearningOutlier" }

/// Whose jobs an estimate comes from, as it travels.
type GroundsWord = Word<Grounds>;
/// Why nothing was learned, as it travels.
type OutlierWord = Word<Outlier>;
/// A size class as it travels.
type SizeWord = Word<SizeClass>;
/// A condition class as it travels.
type ConditionWord = Word<ConditionClass>;

/// What finished jobs say of the menu in force.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Learning)]
struct LearningView {
    /// How many of a hundred jobs need no more work than is promised.
    #[schema(minimum = 50, maximum = 99, example = 80)]
    promise_percent: u8,
    /// The menu's steps, in its order.
    #[schema(max_items = 200)]
    steps: Vec<StepView>,
}

/// What finished jobs say of one step.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = LearnedStep)]
struct StepView {
    /// The step's code.
    #[schema(max_length = 40, example = "iron-removal")]
    code: String,
    /// The step's name.
    #[schema(max_length = 200, example = "Iron fallout removal")]
    name: String,
    /// Its minutes on the menu: for a medium car in fair condition.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 20)]
    base_minutes: u32,
    /// How many jobs were learned from, of all size classes together.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 12)]
    jobs: usize,
    /// What budgets are to be multiplied by, by all size classes together, so that every second job takes longer.
    median_factor: Number,
    /// Its minutes times that factor: what the owner can take over into the menu's draft.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 24)]
    suggested_base_minutes: u32,
    /// Each size class, smallest first.
    #[schema(max_items = 4)]
    sizes: Vec<SizeView>,
    /// The latest jobs that nothing was learned from.
    #[schema(max_items = 20)]
    outliers: Vec<OutlierView>,
    /// How many there are of those in all.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 1)]
    outlier_count: usize,
}

/// What finished jobs say of a step on cars of one size class.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = LearnedSize)]
struct SizeView {
    /// The size class.
    size: SizeWord,
    /// The menu's budget for a car of it in fair condition.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 25)]
    budget_minutes: u32,
    /// How many jobs of this class were learned from.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 7)]
    jobs: usize,
    /// Whose jobs the following numbers come from: those of all sizes, where the class has too few.
    grounds: GroundsWord,
    /// What budgets are to be multiplied by so that every second job takes longer.
    median_factor: Number,
    /// The budget times that factor, to the nearest minute.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 31)]
    learned_minutes: u32,
    /// What could be promised for this step alone, rounded up. A plan is promised as a whole, which needs less.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 38)]
    promised_minutes: u32,
}

/// A job whose step nothing was learned from.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = LearningMisfit)]
struct OutlierView {
    /// The job.
    job_id: Reference,
    /// When its car was ready.
    at: Instant,
    /// How large the car was.
    size: SizeWord,
    /// What condition it was in.
    condition: ConditionWord,
    /// What the menu would budget for it.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 25)]
    budget_minutes: u32,
    /// What the clock said.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 190)]
    actual_minutes: u32,
    /// Why nothing was learned from it.
    why: OutlierWord,
    /// Why, in words.
    #[schema(max_length = 200, example = "The clock says more than four times its budget.")]
    text: String,
}

/// A budget that was taken over into the menu's draft.
#[derive(Debug, Serialize, ToSchema)]
struct TakenBudget {
    /// The draft's version; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// The step's code.
    #[schema(max_length = 40, example = "iron-removal")]
    code: String,
    /// Its minutes in the draft before.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 20)]
    minutes_before: u32,
    /// Its minutes in the draft now.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 24)]
    base_minutes: u32,
    /// How many jobs say so.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 12)]
    jobs: usize,
}

crate::versioned!(TakenBudget);

/// A factor with as many decimals as people read.
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
        let estimate = size.grounded.estimate;
        Self {
            size: Word(size.size),
            budget_minutes: size.budget.get(),
            jobs: size.jobs,
            grounds: Word(size.grounded.grounds),
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

impl From<(baywright_domain::menu::Code, Taken)> for TakenBudget {
    fn from((code, taken): (baywright_domain::menu::Code, Taken)) -> Self {
        Self {
            version: taken.draft.version,
            code: code.to_string(),
            minutes_before: taken.before.get(),
            base_minutes: taken.after.get(),
            jobs: taken.jobs,
        }
    }
}

/// See what was learned.
///
/// Each step of the menu in force: its budgets by size class, what finished jobs make of them, and the jobs that nothing
/// was learned from, such as those whose clock was left running.
#[utoipa::path(tag = "learning", responses((status = 200, description = "The steps.", body = LearningView),
    (status = 409, description = "No menu is in force.")))]
#[get("/v1/learning/steps")]
async fn steps(call: Call<Desk>) -> Answer {
    let overview = call.read(usecase::overview).await?;
    Ok(plain(&LearningView::from(overview)))
}

/// Take a budget over.
///
/// Writes what finished jobs say of a step into the menu's draft: its minutes, and those that services ask for instead,
/// each times the median factor. If-Match is the ETag of the draft. Nothing changes for customers until the draft is
/// published.
#[utoipa::path(tag = "learning", params(("code" = Code, Path, description = "The step's code.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The step's minutes in the draft.", body = TakenBudget),
        (status = 404, description = "The draft has no such step."),
        (status = 409, description = "No finished job says anything of it.")))]
#[post("/v1/learning/steps/{code}/take")]
async fn take(call: Call<Owner>, code: Path<String>, seen: IfMatch) -> Answer {
    let code = baywright_domain::menu::Code::parse(&code).map_err(|_| Problem::not_found("step"))?;
    call.change(move |tx| {
        let taken = usecase::take(tx, seen, &code)?;
        Ok(TakenBudget::from((code.clone(), taken)))
    })
    .await
}

//! Use cases of lessons.

use std::collections::BTreeSet;

use baywright_domain::id::JobId;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::learning::{Beliefs, Learned, LearnedEstimate, LearnedFrom, Lesson, Misfit, Policy, Prior};
use baywright_domain::menu::{Code, Menu};
use baywright_domain::plan::Hands;
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::SizeClass;
use rust_decimal::Decimal;
use serde_json::json;

use super::store;
use crate::menu::usecase::Draft;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::personal::{Held, Holder, Left};
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::{menu, shop};

/// Maximum number of left-out jobs that are listed for a step.
pub const MOST_OUTLIERS: usize = 20;

/// A stored lesson.
#[derive(Debug, Clone)]
pub struct Kept {
    /// Id of the job that it comes from.
    pub job: JobId,
    /// Time when the car was ready.
    pub at: UtcTime,
    /// The lesson as the rules know it.
    pub lesson: Lesson,
}

/// Results for one step of a menu.
#[derive(Debug, Clone)]
pub struct OfStep {
    /// The step.
    pub code: Code,
    /// The step's name.
    pub name: String,
    /// Its minutes on the menu.
    pub base: Minutes,
    /// Estimate from all size classes together.
    pub pooled: LearnedEstimate,
    /// Estimates by size class, smallest first.
    pub sizes: Vec<OfSize>,
    /// Latest jobs that were left out.
    pub outliers: Vec<(Kept, Misfit)>,
    /// Number of all jobs that were left out.
    pub outlier_count: usize,
}

/// Results for one step on cars of one size class.
#[derive(Debug, Clone)]
pub struct OfSize {
    /// The size class.
    pub size: SizeClass,
    /// Budget on the menu for a car of this class in fair condition.
    pub budget: Minutes,
    /// Number of jobs of the class that the estimate was learned from.
    pub jobs: usize,
    /// Estimate of the duration.
    pub learned: LearnedEstimate,
}

/// Results for all steps of the menu in force.
#[derive(Debug, Clone)]
pub struct Overview {
    /// The shop's settings for learning and promising.
    pub policy: Policy,
    /// The menu's steps, in its order.
    pub steps: Vec<OfStep>,
}

/// A learned budget that was applied to the draft.
#[derive(Debug, Clone)]
pub struct Applied {
    /// The draft after the change.
    pub draft: Draft,
    /// The step's minutes before.
    pub before: Minutes,
    /// The step's minutes after.
    pub after: Minutes,
    /// Number of jobs that the value is based on.
    pub jobs: usize,
}

/// Stores the actual time of a step of a job that is ready.
pub fn keep(tx: &mut Tx<'_>, job: &JobId, lesson: &Lesson) -> Done<()> {
    Ok(store::insert(tx, job, lesson)?)
}

/// Deletes the lessons of a job that is no longer ready.
pub fn unlearn(tx: &mut Tx<'_>, job: &JobId) -> Done<()> {
    Ok(store::remove_of(tx, job)?)
}

/// Lessons about those steps, compared with that menu.
pub fn learned<'s>(tx: &mut Tx<'_>, menu: &Menu, steps: impl IntoIterator<Item = &'s Code>) -> Done<Learned> {
    let steps: Vec<&str> = steps.into_iter().map(Code::as_str).collect();
    Ok(Learned::new(menu, &lessons(&store::of_steps(tx, &steps)?)))
}

/// Estimates of the steps of those services on cars of that size, by that menu.
pub fn beliefs(tx: &mut Tx<'_>, menu: &Menu, services: &[Code], size: SizeClass, prior: Prior) -> Done<Beliefs> {
    let used = services.iter().filter_map(|code| menu.service(code)).flat_map(|service| &service.steps);
    let steps: BTreeSet<&Code> = used.map(|used| &used.step).collect();
    let learned = learned(tx, menu, steps.iter().copied())?;
    Ok(Beliefs::new(&learned, steps, size, prior))
}

/// Results for each step of the menu in force.
///
/// # Errors
/// `Conflict` if the shop has published no menu.
pub fn overview(tx: &mut Tx<'_>) -> Done<Overview> {
    let menu = menu::usecase::current(tx)?;
    let policy = shop::usecase::settings(tx)?.terms.learning;
    let kept = store::all(tx)?;
    let learned = Learned::new(&menu, &lessons(&kept));
    let of_step = |step: &baywright_domain::menu::Step| {
        let misfits = learned.misfits(&step.code);
        let latest = misfits.iter().take(MOST_OUTLIERS);
        OfStep {
            code: step.code.clone(),
            name: step.name.clone(),
            base: step.minutes,
            pooled: learned.pooled(&step.code, policy.prior),
            sizes: SizeClass::ALL.iter().map(|size| of_size(&menu, &learned, policy, &step.code, *size)).collect(),
            outliers: latest.filter_map(|misfit| Some((kept.get(misfit.lesson)?.clone(), *misfit))).collect(),
            outlier_count: misfits.len(),
        }
    };
    Ok(Overview { policy, steps: menu.steps.iter().map(of_step).collect() })
}

fn of_size(menu: &Menu, learned: &Learned, policy: Policy, step: &Code, size: SizeClass) -> OfSize {
    let usual = Lesson {
        step: step.clone(),
        services: Vec::new(),
        size,
        condition: ConditionClass::Fair,
        hands: Hands::One,
        quantity: Decimal::ONE,
        actual: Minutes::ZERO,
    };
    OfSize {
        size,
        budget: usual.budget_by(menu).map_or(Minutes::ZERO, |budget| budget.minutes),
        jobs: learned.jobs(step, size),
        learned: learned.estimate(step, size, policy.prior),
    }
}

/// Applies the lessons about a step to the menu's draft: multiplies its minutes, and those that services require
/// instead, by the median factor. The factor is computed from the draft itself, so that applying it again changes only
/// what the prior held back the first time.
///
/// # Errors
/// `NotFound` if the draft has no such step; `Conflict` if there are no lessons about it; `ChangedMeanwhile` if the
/// draft has another version.
pub fn apply(tx: &mut Tx<'_>, seen: Seen, code: &Code) -> Done<Applied> {
    let (draft, menu) = menu::usecase::drafted(tx)?;
    seen.check(draft.version)?;
    let before = menu.step(code).ok_or_else(|| Refused::not_found("step"))?.minutes;
    let prior = shop::usecase::settings(tx)?.terms.learning.prior;
    let kept = store::of_steps(tx, &[code.as_str()])?;
    let LearnedEstimate { estimate, learned_from } = Learned::new(&menu, &lessons(&kept)).pooled(code, prior);
    if learned_from == LearnedFrom::Nothing {
        let detail = "No finished job has measured this step yet, so there is no learned budget to apply.";
        return Err(Refused::conflict("nothing-learned", detail).into());
    }
    let draft = menu::usecase::rescale_step(tx, seen, code, |minutes| estimate.median(minutes))?;
    let after = draft.menu.steps.iter().find(|step| step.code.as_str() == code.as_str());
    let after = after.map_or(before, |step| Minutes::new(step.base_minutes));
    let detail = json!({ "before": before.get(), "after": after.get(), "jobs": estimate.jobs() });
    record::write(tx, "learning.budget-applied", ("step", code.as_str()), detail)?;
    Ok(Applied { draft, before, after, jobs: estimate.jobs() })
}

fn lessons(kept: &[Kept]) -> Vec<Lesson> {
    kept.iter().map(|kept| kept.lesson.clone()).collect()
}

/// Data that this feature holds about a customer: durations of steps of their jobs, which identify nobody and stay.
pub const HOLDER: Holder = Holder {
    feature: "learning",
    held: &[Held::of_row("lesson", "job_id", "job")],
    forget: |_, _| Ok(Left::default()),
};

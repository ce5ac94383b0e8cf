//! Lessons: steps of finished jobs, and the estimates for each step and size class that follow from them.
//!
//! A lesson is compared with the menu in question, not with the budget at its own time. A budget of 60 minutes whose
//! jobs take 84 gives 1.4; after the owner changed it to 84, the same jobs give 1. Otherwise each application would
//! multiply again. The prior applies again to each budget, so applying the same jobs a second time moves further
//! towards their actual times, and never beyond. Outliers are determined with the same menu. A step that was booked for
//! two people counts as a step of two, whoever of them ran the clock.

use alloc::collections::BTreeMap;
use alloc::vec::Vec;

use rust_decimal::Decimal;

use super::{Estimate, LogRatio, Outlier, Prior, Ratio, estimate};
use crate::inspection::ConditionClass;
use crate::menu::{Code, Menu};
use crate::plan::{Budget, Hands, budget};
use crate::time::Minutes;
use crate::vehicle::{Car, Powertrain, SizeClass};
use crate::word::words;

/// A finished step of a finished job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lesson {
    /// The step.
    pub step: Code,
    /// The services that needed it.
    pub services: Vec<Code>,
    /// Size class of the car.
    pub size: SizeClass,
    /// Condition class of the car.
    pub condition: ConditionClass,
    /// Number of people it was planned for.
    pub hands: Hands,
    /// Number of times the step was done, as its plan said; 1 for a step that several services shared.
    pub quantity: Decimal,
    /// Minutes during which at least one person worked on it.
    pub actual: Minutes,
}

impl Lesson {
    /// The budget of a menu for the same step of the same car: the largest base of the services that need it, or the
    /// step's own if none of them needs it any more. `None` if the menu has no such step.
    pub fn budget_by(&self, menu: &Menu) -> Option<Budget> {
        let step = menu.step(&self.step)?;
        let services = self.services.iter().filter_map(|code| menu.service(code));
        let uses = services.flat_map(|service| &service.steps).filter(|used| used.step == step.code);
        let base = uses.map(|used| used.minutes.unwrap_or(step.minutes)).max().unwrap_or(step.minutes);
        let car = Car { size: self.size, condition: self.condition, powertrain: Powertrain::Unknown };
        Some(budget(step, base, &menu.factors, car, self.hands).times(self.quantity))
    }
}

/// A lesson that is left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Misfit {
    /// Index among the lessons.
    pub lesson: usize,
    /// Budget of the menu for it.
    pub budget: Minutes,
    /// Actual minutes ÷ budget.
    pub ratio: Ratio,
    /// Reason why nothing was learned from it.
    pub why: Outlier,
}

words! {
    /// Jobs that an estimate is based on.
    pub enum LearnedFrom("source of an estimate") {
        /// Cars of the size class itself.
        SizeClass = "SIZE_CLASS" "jobs of this size class",
        /// Cars of all size classes, since there are few of its own.
        Step = "STEP" "jobs of all size classes",
        /// No jobs yet: only the budget.
        Nothing = "NOTHING" "the budget alone",
    }
}

/// An estimate and the jobs that it is based on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LearnedEstimate {
    /// Estimate for the next job.
    pub estimate: Estimate,
    /// Jobs that it is based on.
    pub learned_from: LearnedFrom,
}

/// Lessons about steps, compared with one menu.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Learned {
    steps: BTreeMap<Code, OfStep>,
}

#[derive(Debug, Clone, Default, PartialEq)]
struct OfStep {
    by_size: BTreeMap<SizeClass, Vec<LogRatio>>,
    misfits: Vec<Misfit>,
}

impl Learned {
    /// Compares lessons with a menu: with its budgets for the same cars. Lessons of steps that it doesn't have, or that
    /// have no minutes on it, are skipped.
    pub fn new(menu: &Menu, lessons: &[Lesson]) -> Self {
        let mut steps: BTreeMap<Code, OfStep> = BTreeMap::new();
        for (place, lesson) in lessons.iter().enumerate() {
            let Some(Budget { minutes, .. }) = lesson.budget_by(menu) else { continue };
            let Some(ratio) = Ratio::of(lesson.actual, minutes) else { continue };
            let of_step = steps.entry(lesson.step.clone()).or_default();
            match ratio.learn() {
                Ok(log) => of_step.by_size.entry(lesson.size).or_default().push(log),
                Err(why) => of_step.misfits.push(Misfit { lesson: place, budget: minutes, ratio, why }),
            }
        }
        Self { steps }
    }

    /// Number of jobs of that size class that the estimate is learned from.
    pub fn jobs(&self, step: &Code, size: SizeClass) -> usize {
        self.of_size(step, size).len()
    }

    /// The lessons of a step that are left out, in their order.
    pub fn misfits(&self, step: &Code) -> &[Misfit] {
        self.steps.get(step).map_or(&[], |of_step| &of_step.misfits)
    }

    /// Estimate of a step on cars of a size class. It is based on the class alone once that has as many jobs as the
    /// prior counts as; before that it is based on all classes.
    pub fn estimate(&self, step: &Code, size: SizeClass, prior: Prior) -> LearnedEstimate {
        let own = self.of_size(step, size);
        if Decimal::from(own.len()) >= prior.jobs() {
            return LearnedEstimate {
                estimate: estimate(prior, own.iter().copied()),
                learned_from: LearnedFrom::SizeClass,
            };
        }
        self.pooled(step, prior)
    }

    /// Estimate of a step on cars of all size classes.
    pub fn pooled(&self, step: &Code, prior: Prior) -> LearnedEstimate {
        let all = self.steps.get(step).into_iter().flat_map(|of_step| of_step.by_size.values()).flatten();
        let estimate = estimate(prior, all.copied());
        let learned_from = if estimate.jobs() == 0 { LearnedFrom::Nothing } else { LearnedFrom::Step };
        LearnedEstimate { estimate, learned_from }
    }

    fn of_size(&self, step: &Code, size: SizeClass) -> &[LogRatio] {
        self.steps.get(step).and_then(|of_step| of_step.by_size.get(&size)).map_or(&[], Vec::as_slice)
    }
}

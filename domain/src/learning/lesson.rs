//! Lessons: steps of finished jobs, and the estimates for each step and size class that follow from them.
//!
//! A lesson is measured against the menu that is asked about, not against the budget of its own day. A budget of 60
//! minutes whose jobs take 84 is worth 1.4; after the owner made it 84, the same jobs say 1. Otherwise each take-over
//! would multiply again. The prior counts again for each budget, so a second take-over by the same jobs moves further
//! towards what they took, and never beyond. Outliers are found by the menu asked about, too. A step that was booked
//! for two people counts as a step of two, whoever of them ran the clock.

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
    /// How large the car was.
    pub size: SizeClass,
    /// What condition it was in.
    pub condition: ConditionClass,
    /// Number of people it was planned for.
    pub hands: Hands,
    /// Number of times the step was done, as its plan said; 1 for a step that several services shared.
    pub quantity: Decimal,
    /// Minutes during which somebody was at it.
    pub actual: Minutes,
}

impl Lesson {
    /// What a menu would budget for the same step of the same car: the largest base that one of its services asks for,
    /// or the step's own if none of them needs it any more. None if the menu has no such step.
    pub fn budget_by(&self, menu: &Menu) -> Option<Budget> {
        let step = menu.step(&self.step)?;
        let services = self.services.iter().filter_map(|code| menu.service(code));
        let uses = services.flat_map(|service| &service.steps).filter(|used| used.step == step.code);
        let base = uses.map(|used| used.minutes.unwrap_or(step.minutes)).max().unwrap_or(step.minutes);
        let car = Car { size: self.size, condition: self.condition, powertrain: Powertrain::Unknown };
        Some(budget(step, base, &menu.factors, car, self.hands).times(self.quantity))
    }
}

/// A lesson that nothing is learned from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Misfit {
    /// Its place among the lessons.
    pub lesson: usize,
    /// What the menu would budget for it.
    pub budget: Minutes,
    /// Actual minutes ÷ budget.
    pub ratio: Ratio,
    /// Reason why nothing was learned from it.
    pub why: Outlier,
}

words! {
    /// Jobs that an estimate is based on.
    pub enum Grounds("grounds of an estimate") {
        /// Cars of the size class itself.
        SizeClass = "SIZE_CLASS" "jobs of this size class",
        /// Cars of all size classes, since those of its own are few.
        Step = "STEP" "jobs of all size classes",
        /// No jobs yet: the budget is all there is.
        Nothing = "NOTHING" "the budget alone",
    }
}

/// An estimate and the jobs that it is based on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grounded {
    /// What is believed of the next job.
    pub estimate: Estimate,
    /// Jobs that it is based on.
    pub grounds: Grounds,
}

/// Knowledge about steps from finished jobs, measured by one menu.
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
    /// Measures lessons by a menu: against what it would budget for the same cars now. Lessons of steps that it doesn't
    /// have, or that it gives no minutes, are passed over.
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

    /// The lessons of a step that nothing is learned from, in their order.
    pub fn misfits(&self, step: &Code) -> &[Misfit] {
        self.steps.get(step).map_or(&[], |of_step| &of_step.misfits)
    }

    /// What is believed of a step on cars of a size class. The class speaks for itself once it has as many jobs as the
    /// prior counts for; before that all classes speak for it.
    pub fn estimate(&self, step: &Code, size: SizeClass, prior: Prior) -> Grounded {
        let own = self.of_size(step, size);
        if Decimal::from(own.len()) >= prior.jobs() {
            return Grounded { estimate: estimate(prior, own.iter().copied()), grounds: Grounds::SizeClass };
        }
        self.pooled(step, prior)
    }

    /// What is believed of a step on cars of all size classes.
    pub fn pooled(&self, step: &Code, prior: Prior) -> Grounded {
        let all = self.steps.get(step).into_iter().flat_map(|of_step| of_step.by_size.values()).flatten();
        let estimate = estimate(prior, all.copied());
        let grounds = if estimate.jobs() == 0 { Grounds::Nothing } else { Grounds::Step };
        Grounded { estimate, grounds }
    }

    fn of_size(&self, step: &Code, size: SizeClass) -> &[LogRatio] {
        self.steps.get(step).and_then(|of_step| of_step.by_size.get(&size)).map_or(&[], Vec::as_slice)
    }
}

//! Remaining work of a plan whose job is under way.

use alloc::collections::BTreeSet;
use alloc::vec::Vec;

use chrono::{DateTime, Utc};

use super::scheduled::step;
use super::{PlannedStep, WorkPlan};
use crate::job::{Job, JobStep};
use crate::schedule::{self, Wait};
use crate::time::Minutes;

/// Remaining work of a job's plan, in the terms of the schedule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Rest {
    /// Work, including waits.
    Work(schedule::Plan),
    /// No minutes of work are left, only these waits, in order; the list may be empty.
    Waits(Vec<Wait>),
}

impl Rest {
    /// Remaining minutes of work, including setting up and clearing up.
    pub fn minutes(&self) -> Minutes {
        match self {
            Self::Work(plan) => plan.steps().iter().fold(Minutes::ZERO, |sum, step| sum + step.minutes),
            Self::Waits(_) => Minutes::ZERO,
        }
    }
}

impl WorkPlan {
    /// Remaining work of a job at a given time: for each step that is not finished or struck out, its planned minutes
    /// minus the minutes worked on it. A step that the job does not have counts in full. A step that was begun but is
    /// missing from a later plan counts as zero, because nobody agreed on its budget. The car already has its bay, so
    /// no bay features are required.
    pub fn rest(&self, job: &Job, now: DateTime<Utc>) -> Rest {
        let of = |planned: &PlannedStep| job.steps.iter().find(|step| step.code == planned.code);
        let open = |planned: &&PlannedStep| of(planned).is_none_or(|step| !step.state.is_settled());
        let left =
            |planned: &PlannedStep| schedule::Step { minutes: left_of(planned, of(planned), now), ..step(planned) };
        let steps: Vec<schedule::Step> = self.steps.iter().filter(open).map(left).collect();
        let waits = steps.iter().map(|step| step.wait).filter(|wait| wait.minutes > Minutes::ZERO).collect();
        schedule::Plan::new(BTreeSet::new(), steps).map_or(Rest::Waits(waits), Rest::Work)
    }
}

fn left_of(planned: &PlannedStep, step: Option<&JobStep>, now: DateTime<Utc>) -> Minutes {
    let attended = step.map_or(Minutes::ZERO, |step| step.attended(now));
    Minutes::new(planned.occupied().get().saturating_sub(attended.get()))
}

//! Remaining work of a plan whose job is under way.

use alloc::collections::BTreeSet;
use alloc::vec::Vec;
use core::slice;

use chrono::{DateTime, Utc};

use super::scheduled::{holds, step};
use super::{PlannedStep, WorkPlan};
use crate::job::{Job, JobStep};
use crate::menu::Holds;
use crate::schedule::{self, Bay, Diary, Horizon, Technician, Unplannable, Waits};
use crate::time::{Minute, Minutes};

/// Remaining work of a job's plan, in the terms of the schedule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rest {
    /// Time from which anybody can work on the car: now, or when everything that holds the whole car has cured.
    pub from: Minute,
    /// Time when everything that was applied has dried and cured; not before `from`.
    pub clear: Minute,
    /// Times before which single steps can't begin, because something is drying that holds back only them; in the order
    /// of the remaining work.
    pub not_before: Vec<Minute>,
    /// Work or waits that remain.
    pub left: Left,
}

/// Work or waits that remain of a job's plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Left {
    /// Work, including waits.
    Work(schedule::Plan),
    /// No minutes of work are left, only waits; there may be none.
    Waits(Waits),
}

impl Rest {
    /// Remaining minutes of work, including setting up and clearing up.
    pub fn minutes(&self) -> Minutes {
        match &self.left {
            Left::Work(plan) => plan.steps().iter().fold(Minutes::ZERO, |sum, step| sum + step.minutes),
            Left::Waits(_) => Minutes::ZERO,
        }
    }

    /// Time when all is done in the bay that the car is in, by these people, whose time is known up to `until`; `None`
    /// if that time does not suffice. The car is there, so the start need not be a slot.
    ///
    /// # Errors
    /// [`Unplannable`] if `until` is not after the time from which anybody can work, or two people have the same code.
    pub fn done_in(&self, bay: &Bay, people: &[Technician], until: Minute) -> Result<Option<Minute>, Unplannable> {
        let done = match &self.left {
            Left::Work(plan) => {
                let horizon = Horizon::new(self.from, until, Minutes::new(1))?;
                let diary = Diary::new(horizon, slice::from_ref(bay), people)?;
                let search = diary.search(plan).not_before(self.not_before.clone());
                search.earliest(self.from).map(|placement| placement.finish)
            }
            Left::Waits(waits) => waits.over(&bay.open.difference(&bay.held), self.from, &self.not_before),
        };
        Ok(done.map(|done| done.max(self.clear)))
    }
}

impl WorkPlan {
    /// Remaining work of a job at a given time: for each step that is not finished or removed, its planned minutes
    /// minus the minutes worked on it. A step that the job does not have counts in full. A step that was begun but is
    /// missing from a later plan counts as zero, because nobody agreed on its budget. The car already has its bay, so
    /// no bay features are required.
    pub fn rest(&self, job: &Job, now: DateTime<Utc>) -> Rest {
        let of = |planned: &PlannedStep| job.steps.iter().find(|step| step.code == planned.code);
        let open = |planned: &&PlannedStep| of(planned).is_none_or(|step| !step.state.is_settled());
        let left =
            |planned: &PlannedStep| schedule::Step { minutes: left_of(planned, of(planned), now), ..step(planned) };
        let open: Vec<&PlannedStep> = self.steps.iter().filter(open).collect();
        let from = whole_minute(job.free_from().map_or(now, |free| free.max(now)));
        let steps: Vec<schedule::Step> = open.iter().map(|planned| left(planned)).collect();
        let left = match schedule::Plan::new(BTreeSet::new(), steps.clone()) {
            Ok(plan) => Left::Work(plan.holding(holds(&open))),
            Err(_) => Left::Waits(Waits::new(steps, holds(&open))),
        };
        Rest {
            from,
            clear: job.clear_from().map_or(from, |clear| whole_minute(clear).max(from)),
            not_before: open.iter().map(|planned| dry_for(planned, job).max(from)).collect(),
            left,
        }
    }
}

/// Time when everything has dried that holds back this step but not the whole car.
fn dry_for(planned: &PlannedStep, job: &Job) -> Minute {
    let drying = job.steps.iter().filter(|step| step.holds == Holds::After && planned.after.contains(&step.code));
    drying.filter_map(|step| step.clear_from).max().map_or(Minute::new(0), whole_minute)
}

/// The first whole minute that is not before the given time.
fn whole_minute(moment: DateTime<Utc>) -> Minute {
    Minute::new((moment.timestamp_millis() + 59_999).div_euclid(60_000))
}

fn left_of(planned: &PlannedStep, step: Option<&JobStep>, now: DateTime<Utc>) -> Minutes {
    let attended = step.map_or(Minutes::ZERO, |step| step.attended(now));
    Minutes::new(planned.occupied().get().saturating_sub(attended.get()))
}

//! Converts a work plan into a plan of the schedule.

use alloc::collections::BTreeSet;
use alloc::string::String;
use alloc::vec::Vec;
use core::cmp::Reverse;

use super::{Hands, PlannedStep, ServiceUnits, WorkPlan, features, work_plan};
use crate::menu::{Code, Holds, Menu, WaitWhen};
use crate::schedule::stays::{Moving, Visit};
use crate::schedule::{self, Diary, Placement, Unplannable, Work};
use crate::time::Minute;
use crate::vehicle::Car;

impl WorkPlan {
    /// The plan for the schedule: each step occupies somebody for its attended minutes and its changeovers, or two
    /// people if it is for two.
    ///
    /// # Errors
    /// [`Unplannable`] if no step takes time.
    pub fn to_schedule(&self) -> Result<schedule::Plan, Unplannable> {
        part(&self.steps)
    }

    /// The plan as two visits, the first of which ends after the given number of steps with their waits. The car leaves
    /// in between, so each visit needs only its own bay features.
    ///
    /// # Errors
    /// [`Unplannable`] if one of them would have no step that takes time.
    pub fn in_two_visits(&self, first: usize) -> Result<[schedule::Plan; 2], Unplannable> {
        let (first, second) = self.steps.split_at(first.min(self.steps.len()));
        Ok([part(first)?, part(second)?])
    }

    /// The two visits from `from` on that finish first, if any finish by `by`: the step with which the second one
    /// begins, and the places of both. Of equal ones, the first visit does as much as possible.
    pub fn soonest_in_two_visits(&self, diary: &Diary, from: Minute, by: Minute) -> Option<(&Code, [Placement; 2])> {
        let splits = (1..self.steps.len()).filter_map(|first| {
            let [one, two] = self.in_two_visits(first).ok()?;
            let one = diary.search(&one).earliest(from)?;
            let two = diary.search(&two).earliest(one.finish)?;
            (two.finish <= by).then_some((first, [one, two]))
        });
        let (first, visits) = splits.min_by_key(|(first, [_, two])| (two.finish, Reverse(*first)))?;
        Some((&self.steps.get(first)?.code, visits))
    }
}

/// The work without one of its services, for each service without which it is done by `by`: the service that is left out,
/// and the first visit for the rest from `from` on. `moving` are the moves that a car may make for some work.
pub fn without_one(
    menu: &Menu,
    services: &[ServiceUnits],
    (car, hands): (Car, Hands),
    diary: &Diary,
    moving: impl Fn(&WorkPlan) -> Moving,
    (from, by): (Minute, Minute),
) -> Vec<(Code, Visit)> {
    let less = services.iter().filter_map(|left_out| {
        let rest: Vec<ServiceUnits> = services.iter().filter(|one| *one != left_out).cloned().collect();
        let work = work_plan(menu, &rest, car, hands).ok()?;
        let orders = work.step_orders().ok()?;
        let visit = diary.visits(&orders, moving(&work)).earliest(from)?;
        (visit.finish <= by).then(|| (left_out.service.clone(), visit))
    });
    less.collect()
}

fn part(steps: &[PlannedStep]) -> Result<schedule::Plan, Unplannable> {
    let plan = schedule::Plan::new(texts(&features(steps)), steps.iter().map(step).collect())?;
    Ok(plan.holding(holds(&steps.iter().collect::<Vec<_>>())))
}

/// For each of these steps those of them that its wait holds back.
pub(super) fn holds(steps: &[&PlannedStep]) -> Vec<schedule::Holds> {
    let followers = |first: &PlannedStep| {
        let later = steps.iter().enumerate().filter(|(_, then)| then.after.contains(&first.code));
        later.map(|(place, _)| place).collect()
    };
    let of = |first: &&PlannedStep| match first.wait.holds {
        Holds::Car => schedule::Holds::Car,
        Holds::After => schedule::Holds::After(followers(first)),
    };
    steps.iter().map(of).collect()
}

pub(super) fn step(planned: &PlannedStep) -> schedule::Step {
    let when = match planned.wait.when {
        WaitWhen::Any => schedule::WaitWhen::Any,
        WaitWhen::Open => schedule::WaitWhen::Open,
    };
    let step = schedule::Step {
        code: String::from(planned.code.as_str()),
        minutes: planned.occupied(),
        skills: texts(&planned.skills),
        work: planned.split.map_or(Work::Whole, |split| Work::Pieces { smallest: split.piece }),
        wait: schedule::Wait { minutes: planned.wait.minutes, when },
    };
    match planned.hands {
        Hands::One => step,
        Hands::Two => step.for_two(),
    }
}

/// Skills or features as the schedule names them.
pub(super) fn texts(codes: &[Code]) -> BTreeSet<String> {
    codes.iter().map(|code| String::from(code.as_str())).collect()
}

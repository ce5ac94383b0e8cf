//! Places all jobs of a week at once.
//!
//! Placing whole jobs one after another gives only a first solution, because often no order of the jobs gives the best
//! week. So **steps** are placed. A list contains each job once for each of its steps; the k-th mention of a job places
//! its k-th step as early as the step before, its wait, the technician and the bay allow. A job takes a bay with its
//! first step and keeps it until its finish. In the end everything moves as late as the finishes and other jobs allow,
//! so that cars occupy bays for less time.
//!
//! The first list comes from simple orders of the jobs. Large-neighbourhood search improves it, and branch and bound
//! proves it if the week is small. The answer says what is proven: its lower bound never comes from the search for
//! lists.
//!
//! **Why a search of our own.** `pumpkin-core` 0.5, a constraint solver in pure Rust, was examined but not measured: it
//! needs the standard library's clock, and has no calendars, pieces of work or slots.
//!
//! **How good it is.** The part `outside` of `tests/run` compares it with the published job-shop instances. The
//! constants of the random search were chosen on those instances; other ones end within a few tenths of a percent of
//! them. Compared with CP-SAT, 198 of 200 random weeks of two to four jobs are equal. Of a hundred weeks of five to
//! twelve jobs, 99 are equal or less late, and one is late by one minute more in 219. With other random numbers, a week
//! in which one technician does everything can still be a fifth worse.
//!
//! Two other published shops of ten jobs ended 3 percent above their optimum while only pairs of steps were swapped at
//! random. Since then a tabu search follows the rounds that find nothing better (`local/tabu`), with the moves that the
//! literature on job shops has found to matter; its head says what else was considered.
//!
//! **If a job is late,** half of the changes move whole jobs, and the start temperature of a round is a share of the
//! lateness. With pairs of steps alone and a temperature of minutes, three of the hundred weeks were 5 to 25 percent
//! worse.
//!
//! **Cars that change bays** (`route`) are part of the same lists: a car stays in its bay as long as that has what its
//! steps need, and the draft says where it moves sooner or into which bay. **Two people at a step** are one more
//! technician whose time is that of both (`crew`). A week in which neither occurs is searched as if there were neither.
//! In others no tree proves anything, since its argument needs one bay for each job and one person for each step: such
//! a week is proven only if it reaches the bound, in which each of these jobs is alone in the shop.
//!
//! **What the bound means.** If pieces of work have a least length, or bays have different hours, the tree proves the
//! answer to an easier question: its bound is true but may be low.

mod board;
mod bound;
mod branch;
mod cause;
mod change;
mod crew;
mod critical;
mod decode;
mod draft;
mod later;
mod local;
mod model;
mod node_budget;
mod own_bay;
mod route;
mod told;
mod what_if;

use alloc::collections::BTreeSet;
use alloc::string::String;
use alloc::vec::Vec;
use core::num::NonZeroU32;

pub use cause::Cause;
pub use node_budget::Budget;
pub use what_if::{WhatIf, what_if};

use super::stays::{Moving, Stay, StepOrder, Visit};
use super::{Diary, PlacedStep, Unplannable};
use crate::time::Minute;
use branch::Aim;
use draft::{Draft, Lead, Schedule};
use local::Search;
use model::Model;
use node_budget::NodeBudget;
use route::Room;

/// A job to be placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Job {
    /// Its code, by which the result names it.
    pub code: String,
    /// Its steps in the order in which they are done.
    pub order: StepOrder,
    /// Moves that its car may make.
    pub moving: Moving,
    /// Earliest time at which the car can be there.
    pub arrives: Minute,
    /// Time when it should be finished.
    pub due: Minute,
    /// Weight of each minute of lateness.
    pub weight: NonZeroU32,
    /// Latest acceptable finish: no placement finishes later.
    pub latest: Option<Minute>,
    /// The visit whose start and finish the customer was told (with the shop's margin). Both are promises: one moves if
    /// the car has to come at another time, or is ready later. The customer does not care about bays and people.
    pub promised: Option<Visit>,
}

/// The jobs of a week, and the diary in which they are placed. Jobs that have started or may not change are booked in
/// the diary ([`Diary::book_visit`]). If a job has steps for two people, the diary must know the
/// [pairs](super::with_pairs).
#[derive(Debug, Clone)]
pub struct Problem {
    diary: Diary,
    jobs: Vec<Job>,
}

/// Result: the places of all jobs, or the jobs that don't fit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// All jobs fit.
    Placed(Week),
    /// Not all fit.
    Unplaced {
        /// The jobs that do not fit in the best week found, by code.
        jobs: Vec<String>,
        /// Whether it is proven that no week leaves out fewer; else a longer search may place more.
        proven: bool,
    },
}

/// A week with all its jobs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Week {
    /// The jobs' visits, in the jobs' order.
    pub visits: Vec<(String, Visit)>,
    /// Every promise that moves.
    pub moved: Vec<Moved>,
    /// Weighted minutes of lateness.
    pub lateness: u64,
    /// The last finish; `None` without jobs.
    pub finish: Option<Minute>,
    /// Minutes in which cars occupy bays.
    pub standing: u64,
    /// Lower bound of all weeks with as few moved promises.
    pub bound: Bound,
    /// Whether this week reaches the bound, so that it is the best one.
    pub proven: bool,
}

impl Week {
    /// Upper limit of how much better the best week can be: in weighted minutes of lateness, or in minutes of the last finish
    /// if nothing is late; 0 if this week is proven to be the best.
    pub fn gap(&self) -> u64 {
        match self.bound {
            _ if self.proven => 0,
            Bound::Lateness(least) => self.lateness.saturating_sub(least),
            Bound::Finish(least) => least
                .zip(self.finish)
                .map_or(0, |(least, finish)| u64::try_from(finish.get().saturating_sub(least.get())).unwrap_or(0)),
        }
    }
}

/// A lower bound: for lateness, or for the last finish if nothing is late.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bound {
    /// Weighted minutes of lateness.
    Lateness(u64),
    /// The last finish; `None` without jobs.
    Finish(Option<Minute>),
}

/// A promise that moves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moved {
    /// The job's code.
    pub job: String,
    /// Start and finish as the customer was told.
    pub before: (Minute, Minute),
    /// Start and finish in this week.
    pub after: (Minute, Minute),
}

impl Problem {
    /// A week's problem.
    ///
    /// # Errors
    /// [`Unplannable::SameCode`] if two jobs share a code.
    pub fn new(diary: Diary, jobs: Vec<Job>) -> Result<Self, Unplannable> {
        let mut codes = BTreeSet::new();
        if let Some(job) = jobs.iter().find(|job| !codes.insert(&job.code)) {
            return Err(Unplannable::SameCode { what: "jobs", code: job.code.clone() });
        }
        Ok(Self { diary, jobs })
    }

    /// The diary.
    pub fn diary(&self) -> &Diary {
        &self.diary
    }

    /// The jobs.
    pub fn jobs(&self) -> &[Job] {
        &self.jobs
    }
}

/// Maximum length of a list of steps for which branch and bound is tried.
const MOST_STEPS_TO_PROVE: usize = 40;
/// Maximum number of nodes of branch and bound: some seconds.
const MOST_NODES_TO_PROVE: u64 = 3_000_000;

/// Places all jobs: as few promises moved as possible, then the least weighted lateness, then the earliest last finish,
/// then the least time in bays. Jobs keep the bay that they were promised in where nothing is lost by it.
pub fn week(problem: &Problem, budget: &Budget<'_>) -> Answer {
    let model = Model::new(&problem.diary, &problem.jobs, false);
    let mut node_budget = NodeBudget::new(budget);
    let mut bound = bound::bound(&model);
    let mut search = Search::new(&model, Draft::of_jobs(&model, 0..model.tasks.len()), &mut node_budget);
    if problem.jobs.is_empty() {
        return answer(problem, &search, bound);
    }
    let as_told = told::as_told(&model, &problem.jobs);
    search.offer(&as_told, &mut node_budget);
    if let Some(schedule) = told::schedule_as_told(&model, &problem.jobs) {
        search.take(&as_told, schedule, &mut node_budget);
    }
    for draft in first_drafts(&model) {
        search.offer(&draft, &mut node_budget);
    }
    let quick = (node_budget.left() / 5).min(MOST_NODES_TO_PROVE);
    let mut part = node_budget.part(quick);
    search.run(bound, &mut part);
    node_budget.charge(quick, &part);
    if search.best.score.lead > bound && model.steps.len() <= MOST_STEPS_TO_PROVE && model.is_plain() {
        let easier = Model::new(&problem.diary, &problem.jobs, true);
        let proven = if model.may_be_easier() { &easier } else { &model };
        for aim in [Aim::Lateness, Aim::Finish] {
            if aim.of(search.best.score.lead) > aim.of(bound) {
                let most = MOST_NODES_TO_PROVE.min(node_budget.left() / 2);
                let mut part = node_budget.part(most);
                let least = branch::prove(proven, &mut search, aim, &mut part);
                bound = bound.max(least.unwrap_or(bound));
                node_budget.charge(most, &part);
                // If lateness is not proven, the finish, which comes after it, is not either.
                if least.is_none() {
                    break;
                }
            }
        }
    }
    search.run(bound, &mut node_budget);
    answer(problem, &search, bound)
}

/// Orders of whole jobs: by due time, by arrival, by the cost of waiting, and the longest first.
fn first_drafts(model: &Model<'_>) -> Vec<Draft> {
    let by = |key: &dyn Fn(usize) -> i64| {
        let mut order: Vec<usize> = (0..model.tasks.len()).collect();
        order.sort_by_key(|task| key(*task));
        Draft::of_jobs(model, order)
    };
    let shortest = |task: usize| i64::from(model.tasks[task].shortest.get());
    alloc::vec![
        by(&|task| model.tasks[task].due.get()),
        by(&|task| model.tasks[task].arrives.get()),
        by(&|task| model.tasks[task].due.get().saturating_sub(shortest(task))),
        by(&|task| -shortest(task)),
        by(&shortest),
    ]
}

fn answer(problem: &Problem, search: &Search<'_, '_>, bound: Lead) -> Answer {
    let (schedule, score) = (&search.best.schedule, search.best.score);
    if score.lead.unplaced > 0 {
        let left_out = problem.jobs.iter().zip(&schedule.stays).filter(|(_, stay)| stay.is_none());
        let jobs = left_out.map(|(job, _)| job.code.clone()).collect();
        return Answer::Unplaced { jobs, proven: score.lead.unplaced == bound.unplaced };
    }
    let finish = (!problem.jobs.is_empty()).then_some(score.lead.finish);
    let bounded = (bound.unplaced, bound.moved) == (0, score.lead.moved);
    let (bound, proven) = if score.lead.lateness > 0 {
        let lateness = if bounded { bound.lateness } else { 0 };
        (Bound::Lateness(lateness), lateness == score.lead.lateness)
    } else {
        (Bound::Finish(finish.map(|_| bound.finish)), bounded && bound.finish == score.lead.finish)
    };
    let mut visits = Vec::with_capacity(problem.jobs.len());
    let mut moved = Vec::new();
    for (task, job) in problem.jobs.iter().enumerate() {
        let Some(visit) = visit(problem, search.model(), schedule, task) else { continue };
        if let Some(told) = &job.promised
            && search.model().tasks[task].moves(visit.start, visit.finish)
        {
            let (before, after) = ((told.start, told.finish), (visit.start, visit.finish));
            moved.push(Moved { job: job.code.clone(), before, after });
        }
        visits.push((job.code.clone(), visit));
    }
    own_bay::keep(problem, &mut visits);
    let (lateness, standing) = (score.lead.lateness, score.standing);
    Answer::Placed(Week { visits, moved, lateness, finish, standing, bound, proven })
}

/// A job's visit with codes instead of indexes.
fn visit(problem: &Problem, model: &Model<'_>, schedule: &Schedule, task: usize) -> Option<Visit> {
    let (stay, job) = (schedule.stays[task]?, &problem.jobs[task]);
    let mut steps: Vec<PlacedStep> = job
        .order
        .plan()
        .steps()
        .iter()
        .map(|step| PlacedStep { code: step.code.clone(), technician: None, pieces: Vec::new() })
        .collect();
    for place in model.tasks[task].steps.clone() {
        let worked = &schedule.work[place];
        if let Some(step) = steps.get_mut(model.steps[place].in_plan) {
            step.technician = problem.diary.people.get(worked.who).map(|person| person.code.clone());
            step.pieces.clone_from(&worked.pieces);
        }
    }
    let in_room = |room: Room| {
        let bay = problem.diary.bays.get(room.bay)?.code.clone();
        Some(Stay { bay, from: room.from, to: room.to })
    };
    let stays = schedule.rooms(model, task).into_iter().map(in_room).collect::<Option<_>>()?;
    let order = job.promised.as_ref().map_or(0, |told| told.order);
    Some(Visit { order, start: stay.start, finish: stay.finish, stays, steps })
}

#[cfg(test)]
mod tests;

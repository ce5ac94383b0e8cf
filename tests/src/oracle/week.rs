//! `week`: all jobs at once.

use std::num::NonZeroU32;
use std::time::{Duration, Instant};

use baywright_domain::schedule::stays::{Moving, StepOrder, Visit};
use baywright_domain::schedule::week::{self, Bound, Budget, Job, Problem, week};
use baywright_domain::schedule::{Diary, Placement, with_pairs};
use baywright_domain::time::Minute;
use serde::{Deserialize, Serialize};

use super::Answer;
use super::diary::{self, WireBay, WirePlacedStep, WirePlan, WireStay, WireTechnician};

/// A week, as a case writes it. `fixed` keeps bays; what people do in fixed placements is in their `busy`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    from: i64,
    until: i64,
    #[serde(default = "usual_slot")]
    slot_minutes: u32,
    bays: Vec<WireBay>,
    technicians: Vec<WireTechnician>,
    #[serde(default)]
    fixed: Vec<WireFixed>,
    jobs: Vec<WireJob>,
    budget_ms: Option<u64>,
    budget_nodes: Option<u64>,
}

const fn usual_slot() -> u32 {
    15
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WireFixed {
    bay: String,
    start: i64,
    finish: i64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WireJob {
    code: String,
    arrives: i64,
    due: i64,
    weight: NonZeroU32,
    plan: WirePlan,
}

/// All placed, or which jobs are not.
#[derive(Serialize)]
#[serde(untagged)]
pub enum Week {
    /// All are.
    Placed {
        /// Each job's placement.
        placements: Vec<WirePlacement>,
        /// Weighted minutes beyond due.
        lateness: u64,
        /// The last finish.
        finish: Option<i64>,
        /// Minutes that cars stand in bays.
        standing: u64,
        /// For lateness, or for the finish where nothing is late.
        bound: Option<i64>,
        /// Whether it is reached.
        proven: bool,
    },
    /// Not all are.
    Unplaced {
        /// None.
        placements: [(); 0],
        /// The codes of those that don't fit.
        unplaced: Vec<String>,
        /// Whether fewer can't be left out.
        proven: bool,
    },
}

/// A job's placement.
#[derive(Serialize)]
pub struct WirePlacement {
    job: String,
    bay: String,
    start: i64,
    finish: i64,
    /// If any plan of the case says something of stays: one bay after another.
    #[serde(skip_serializing_if = "Option::is_none")]
    stays: Option<Vec<WireStay>>,
    steps: Vec<WirePlacedStep>,
}

/// Places the week.
pub fn answer(case: Case) -> Answer<Week> {
    let horizon = diary::horizon(case.from, case.until, case.slot_minutes)?;
    let (bays, people) = (diary::bays(case.bays)?, diary::technicians(case.technicians)?);
    let has_stays = case.jobs.iter().any(|job| job.plan.moves());
    let jobs = case.jobs.into_iter().map(job).collect::<Answer<Vec<Job>>>()?;
    let takes_two = jobs.iter().any(|job| job.order.plan().takes_two());
    let technicians = if takes_two { with_pairs(&people) } else { people };
    let mut diary = Diary::new(horizon, &bays, &technicians).map_err(|refusal| refusal.to_string())?;
    for fixed in case.fixed {
        let (start, finish) = (Minute::new(fixed.start), Minute::new(fixed.finish));
        diary.book(&Placement { bay: fixed.bay, start, finish, steps: Vec::new() });
    }
    let problem = Problem::new(diary, jobs).map_err(|refusal| refusal.to_string())?;
    let allowed = case.budget_ms.map(|ms| (Instant::now(), Duration::from_millis(ms)));
    let is_over = move || allowed.is_some_and(|(began, most)| began.elapsed() >= most);
    let usual = if allowed.is_some() { u64::MAX } else { Budget::USUAL.nodes };
    let nodes = case.budget_nodes.unwrap_or(usual);
    Ok(written(week(&problem, &Budget { nodes, stop: Some(&is_over) }), has_stays))
}

fn job(job: WireJob) -> Answer<Job> {
    let (order, moving) =
        if job.plan.moves() { diary::order(job.plan)? } else { (StepOrder::from(diary::plan(job.plan)?), Moving::OFF) };
    Ok(Job {
        code: job.code,
        order,
        moving,
        arrives: Minute::new(job.arrives),
        due: Minute::new(job.due),
        weight: job.weight,
        latest: None,
        promised: None,
    })
}

fn written(answer: week::Answer, has_stays: bool) -> Week {
    match answer {
        week::Answer::Placed(week) => Week::Placed {
            placements: week.visits.into_iter().map(|placed| placement(placed, has_stays)).collect(),
            lateness: week.lateness,
            finish: week.finish.map(Minute::get),
            standing: week.standing,
            bound: match week.bound {
                Bound::Lateness(minutes) => i64::try_from(minutes).ok(),
                Bound::Finish(finish) => finish.map(Minute::get),
            },
            proven: week.proven,
        },
        week::Answer::Unplaced { jobs, proven } => Week::Unplaced { placements: [], unplaced: jobs, proven },
    }
}

fn placement((job, visit): (String, Visit), has_stays: bool) -> WirePlacement {
    WirePlacement {
        job,
        bay: visit.stays.first().map(|stay| stay.bay.clone()).unwrap_or_default(),
        start: visit.start.get(),
        finish: visit.finish.get(),
        stays: has_stays.then(|| visit.stays.into_iter().map(WireStay::from).collect()),
        steps: visit.steps.into_iter().map(WirePlacedStep::from).collect(),
    }
}

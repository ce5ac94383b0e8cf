//! Reading a shop's diary and a plan, as the kinds of scheduling write them: times are whole minutes.

use std::num::NonZeroU32;

use baywright_domain::schedule::stays::{Moving, StayStep, StepOrder};
use baywright_domain::schedule::{Bay, Holds, Horizon, PlacedStep, Plan, Step, Technician, Wait, WaitWhen, Work};
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};
use serde::{Deserialize, Serialize};

use super::Answer;
use super::read::at;

/// A pair `[from, to)` of minutes.
pub type Pair = [i64; 2];

/// A bay, as a case writes it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireBay {
    code: String,
    features: Vec<String>,
    open: Vec<Pair>,
    held: Vec<Pair>,
}

/// A technician, as a case writes it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireTechnician {
    code: String,
    skills: Vec<String>,
    working: Vec<Pair>,
    busy: Vec<Pair>,
}

/// A plan, as a case writes it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WirePlan {
    features: Vec<String>,
    steps: Vec<WireStep>,
    /// Pairs of steps, from 0, of which the first one must come before the second.
    before: Option<Vec<[usize; 2]>>,
    /// Most stays of the car; 1 if left out.
    max_stays: Option<NonZeroU32>,
    /// Minutes of a move; 0 if left out.
    move_minutes: Option<u32>,
}

impl WirePlan {
    /// Whether it says anything of stays or of what waits hold, so that its placements have stays.
    pub fn has_stays(&self) -> bool {
        let of_steps = self.steps.iter().any(|step| step.features.is_some() || step.holds.is_some());
        of_steps || self.before.is_some() || self.max_stays.is_some() || self.move_minutes.is_some()
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WireStep {
    code: String,
    minutes: u32,
    skills: Vec<String>,
    splittable: bool,
    piece: u32,
    wait: u32,
    wait_when: WireWhen,
    /// Whether it takes two people.
    #[serde(default)]
    two: bool,
    /// What its own bay must have; nothing if left out.
    features: Option<Vec<String>>,
    /// What its wait holds back; the car if left out.
    holds: Option<WireHolds>,
}

#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "snake_case")]
enum WireHolds {
    Car,
    After,
}

#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "snake_case")]
enum WireWhen {
    Any,
    Open,
}

/// A placed step, as an answer writes it.
#[derive(Serialize)]
pub struct WirePlacedStep {
    code: String,
    technician: Option<String>,
    /// Who helps, at a step for two.
    #[serde(skip_serializing_if = "Option::is_none")]
    helper: Option<String>,
    pieces: Vec<Pair>,
}

impl From<PlacedStep> for WirePlacedStep {
    fn from(step: PlacedStep) -> Self {
        let pieces = step.pieces.iter().map(|piece| [piece.from().get(), piece.to().get()]).collect();
        let (technician, helper) = (step.leads().map(str::to_owned), step.helps().map(str::to_owned));
        Self { code: step.code, technician, helper, pieces }
    }
}

/// The horizon of a case.
pub fn horizon(from: i64, until: i64, slot_minutes: u32) -> Answer<Horizon> {
    Horizon::new(Minute::new(from), Minute::new(until), Minutes::new(slot_minutes)).map_err(at("horizon"))
}

/// The bays of a case.
pub fn bays(bays: Vec<WireBay>) -> Answer<Vec<Bay>> {
    bays.into_iter()
        .map(|bay| {
            Ok(Bay {
                open: intervals(&bay.open, "open", &bay.code)?,
                held: intervals(&bay.held, "held", &bay.code)?,
                code: bay.code,
                features: bay.features.into_iter().collect(),
            })
        })
        .collect()
}

/// The technicians of a case.
pub fn technicians(technicians: Vec<WireTechnician>) -> Answer<Vec<Technician>> {
    technicians
        .into_iter()
        .map(|technician| {
            Ok(Technician {
                working: intervals(&technician.working, "working", &technician.code)?,
                busy: intervals(&technician.busy, "busy", &technician.code)?,
                code: technician.code,
                skills: technician.skills.into_iter().collect(),
            })
        })
        .collect()
}

/// The plan of a case, for a car that keeps its bay.
pub fn plan(plan: WirePlan) -> Answer<Plan> {
    if plan.has_stays() {
        return Err("plan: stays and holds are asked for with availability alone".to_owned());
    }
    let steps = plan.steps.into_iter().map(step).collect();
    Plan::new(plan.features.into_iter().collect(), steps).map_err(at("plan"))
}

/// The plan of a case, for a car that may change bays.
pub fn order(plan: WirePlan) -> Answer<(StepOrder, Moving)> {
    let before = plan.before.unwrap_or_default();
    if let Some([first, then]) = before.iter().find(|[first, then]| first >= then || *then >= plan.steps.len()) {
        return Err(format!("plan: before: [{first}, {then}] is against the order, or names no step"));
    }
    // A step that comes after others comes after all that these wait for, so the pairs alone suffice.
    let held_by = |place: usize| before.iter().filter(move |[first, _]| *first == place).map(|[_, then]| *then);
    let steps = plan.steps.into_iter().enumerate().map(|(place, mut wire)| {
        let features = wire.features.take().unwrap_or_default().into_iter().collect();
        let holds = match wire.holds {
            Some(WireHolds::After) => Holds::After(held_by(place).collect()),
            Some(WireHolds::Car) | None => Holds::Car,
        };
        StayStep { step: step(wire), features, holds }
    });
    let everywhere = plan.features.into_iter().collect();
    let order = StepOrder::new(&everywhere, steps.collect(), Minutes::ZERO).map_err(at("plan"))?;
    let max_stays = plan.max_stays.unwrap_or(Moving::OFF.max_stays);
    Ok((order, Moving { max_stays, minutes: Minutes::new(plan.move_minutes.unwrap_or_default()) }))
}

fn step(step: WireStep) -> Step {
    let when = match step.wait_when {
        WireWhen::Any => WaitWhen::Any,
        WireWhen::Open => WaitWhen::Open,
    };
    let made = Step {
        code: step.code,
        minutes: Minutes::new(step.minutes),
        skills: step.skills.into_iter().collect(),
        work: if step.splittable { Work::Pieces { smallest: Minutes::new(step.piece) } } else { Work::Whole },
        wait: Wait { minutes: Minutes::new(step.wait), when },
    };
    if step.two { made.for_two() } else { made }
}

/// The set of these intervals, in any order; one of no minutes adds none.
fn intervals(pairs: &[Pair], what: &str, whose: &str) -> Answer<IntervalSet> {
    match pairs.iter().find(|[from, to]| to < from) {
        Some([from, to]) => Err(format!("{what} of {whose:?}: [{from}, {to}] ends before it begins")),
        None => Ok(pairs.iter().filter_map(|[from, to]| Interval::new(Minute::new(*from), Minute::new(*to))).collect()),
    }
}

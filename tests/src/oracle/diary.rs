//! Reading a shop's diary and a plan, as the kinds of scheduling write them: times are whole minutes.

use std::num::NonZeroU32;

use baywright_domain::schedule::stays::{Moving, Stay, StayStep, StepOrder};
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
    /// Whether it says anything of holds or stays, so that its placements have stays.
    pub fn has_stays(&self) -> bool {
        self.moves() || self.before.is_some() || self.steps.iter().any(|step| step.holds.is_some())
    }

    /// Whether it says anything of cars that change bays.
    pub fn moves(&self) -> bool {
        let of_steps = self.steps.iter().any(|step| step.features.is_some());
        of_steps || self.max_stays.is_some() || self.move_minutes.is_some()
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

/// What a wait holds back, as a case writes it.
#[derive(Deserialize, Clone, Copy, Default)]
#[serde(rename_all = "snake_case")]
pub enum WireHolds {
    /// The whole car.
    #[default]
    Car,
    /// Only the steps that come after the wait's own by precedence.
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

/// A stay, as an answer writes it.
#[derive(Serialize)]
pub struct WireStay {
    bay: String,
    from: i64,
    to: i64,
}

impl From<Stay> for WireStay {
    fn from(stay: Stay) -> Self {
        Self { bay: stay.bay, from: stay.from.get(), to: stay.to.get() }
    }
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
    if plan.moves() {
        return Err("plan: a car that keeps its bay has no stays".to_owned());
    }
    let holds = holds(&plan)?;
    let steps = plan.steps.into_iter().map(step).collect();
    let plan = Plan::new(plan.features.into_iter().collect(), steps).map_err(at("plan"))?;
    Ok(plan.holding(holds))
}

/// The plan of a case, for a car that may change bays.
pub fn order(plan: WirePlan) -> Answer<(StepOrder, Moving)> {
    let holds = holds(&plan)?;
    let steps = plan.steps.into_iter().zip(holds).map(|(mut wire, holds)| {
        let features = wire.features.take().unwrap_or_default().into_iter().collect();
        StayStep { step: step(wire), features, holds }
    });
    let everywhere = plan.features.into_iter().collect();
    let order = StepOrder::new(&everywhere, steps.collect(), Minutes::ZERO).map_err(at("plan"))?;
    let max_stays = plan.max_stays.unwrap_or(Moving::OFF.max_stays);
    Ok((order, Moving { max_stays, minutes: Minutes::new(plan.move_minutes.unwrap_or_default()) }))
}

/// What the wait of each step holds back. What comes after a step comes after all that this one waits for, so the
/// pairs of the plan alone say it.
fn holds(plan: &WirePlan) -> Answer<Vec<Holds>> {
    let size = plan.steps.len();
    let pairs = plan.before.as_deref().unwrap_or_default();
    if let Some([first, then]) = pairs.iter().find(|[first, then]| first >= then || *then >= size) {
        return Err(format!("before: [{first}, {then}] must name a step and one that comes later in the plan"));
    }
    let followers = |place: usize| pairs.iter().filter(|[first, _]| *first == place).map(|[_, then]| *then).collect();
    let of = |(place, step): (usize, &WireStep)| match step.holds.unwrap_or_default() {
        WireHolds::Car => Holds::Car,
        WireHolds::After => Holds::After(followers(place)),
    };
    Ok(plan.steps.iter().enumerate().map(of).collect())
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

//! `availability`: the first placements of a plan.

use baywright_domain::schedule::{Diary, Placement, with_pairs};
use baywright_domain::time::Minute;
use serde::{Deserialize, Serialize};

use super::Answer;
use super::diary::{self, WireBay, WirePlacedStep, WirePlan, WireTechnician};

/// A question, as a case writes it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    from: i64,
    until: i64,
    slot_minutes: u32,
    count: usize,
    bays: Vec<WireBay>,
    technicians: Vec<WireTechnician>,
    plan: WirePlan,
}

/// The placements, in order.
#[derive(Serialize)]
pub struct List {
    placements: Vec<WirePlacement>,
}

#[derive(Serialize)]
struct WirePlacement {
    bay: String,
    start: i64,
    finish: i64,
    steps: Vec<WirePlacedStep>,
}

/// Asks for the list.
pub fn answer(case: Case) -> Answer<List> {
    let horizon = diary::horizon(case.from, case.until, case.slot_minutes)?;
    let (bays, people) = (diary::bays(case.bays)?, diary::technicians(case.technicians)?);
    let plan = diary::plan(case.plan)?;
    let technicians = if plan.takes_two() { with_pairs(&people) } else { people };
    let diary = Diary::new(horizon, &bays, &technicians).map_err(|refusal| refusal.to_string())?;
    let list = diary.search(&plan).list(Minute::new(case.from), case.count);
    Ok(List { placements: list.into_iter().map(placement).collect() })
}

fn placement(placement: Placement) -> WirePlacement {
    WirePlacement {
        bay: placement.bay,
        start: placement.start.get(),
        finish: placement.finish.get(),
        steps: placement.steps.into_iter().map(WirePlacedStep::from).collect(),
    }
}

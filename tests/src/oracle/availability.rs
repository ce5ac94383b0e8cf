//! `availability`: the first placements of a plan, in one bay or in several.

use std::slice;

use baywright_domain::schedule::stays::Visit;
use baywright_domain::schedule::{Bay, Diary, Horizon, Placement, Plan, Technician, with_pairs};
use baywright_domain::time::Minute;
use serde::{Deserialize, Serialize};

use super::Answer;
use super::diary::{self, WireBay, WirePlacedStep, WirePlan, WireStay, WireTechnician};

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
    /// Of a plan that says something of stays: one bay after another.
    #[serde(skip_serializing_if = "Option::is_none")]
    stays: Option<Vec<WireStay>>,
    steps: Vec<WirePlacedStep>,
}

/// Asks for the list.
pub fn answer(case: Case) -> Answer<List> {
    let horizon = diary::horizon(case.from, case.until, case.slot_minutes)?;
    let (bays, people) = (diary::bays(case.bays)?, diary::technicians(case.technicians)?);
    let (from, count) = (Minute::new(case.from), case.count);
    let placements = if case.plan.has_stays() {
        let (order, moving) = diary::order(case.plan)?;
        let diary = shop(horizon, &bays, people, order.plan())?;
        let list = diary.visits(slice::from_ref(&order), moving).list(from, count);
        list.into_iter().map(visit).collect()
    } else {
        let plan = diary::plan(case.plan)?;
        let diary = shop(horizon, &bays, people, &plan)?;
        diary.search(&plan).list(from, count).into_iter().map(placement).collect()
    };
    Ok(List { placements })
}

/// The shop's diary, with the pairs of people that the plan may need.
fn shop(horizon: Horizon, bays: &[Bay], people: Vec<Technician>, plan: &Plan) -> Answer<Diary> {
    let technicians = if plan.takes_two() { with_pairs(&people) } else { people };
    Diary::new(horizon, bays, &technicians).map_err(|refusal| refusal.to_string())
}

fn placement(placement: Placement) -> WirePlacement {
    WirePlacement {
        bay: placement.bay,
        start: placement.start.get(),
        finish: placement.finish.get(),
        stays: None,
        steps: placement.steps.into_iter().map(WirePlacedStep::from).collect(),
    }
}

/// A placement whose `bay` is that of the first stay.
fn visit(visit: Visit) -> WirePlacement {
    WirePlacement {
        bay: visit.stays.first().map(|stay| stay.bay.clone()).unwrap_or_default(),
        start: visit.start.get(),
        finish: visit.finish.get(),
        stays: Some(visit.stays.into_iter().map(WireStay::from).collect()),
        steps: visit.steps.into_iter().map(WirePlacedStep::from).collect(),
    }
}

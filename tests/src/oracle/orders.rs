//! `orders`: the front of orders of a plan's steps, by changeover and elapsed time.

use baywright_domain::menu::{Code, Holds};
use baywright_domain::plan::{FrontOrder, Problem, Timing, USUAL_FRONT_BUDGET, front};
use baywright_domain::precedence::Precedence;
use baywright_domain::time::Minutes;
use serde::{Deserialize, Serialize};

use super::Answer;
use super::diary::WireHolds;

/// Steps, changeovers from row to column, where 0 is the start, step `i` is `i + 1` and the last is the end, and pairs of
/// steps of which the first comes before the second.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    steps: Vec<WireStep>,
    cost: Vec<Vec<u32>>,
    before: Vec<(usize, usize)>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WireStep {
    minutes: u32,
    wait: u32,
    #[serde(default)]
    holds: WireHolds,
}

/// The orders by rising changeover, whether they are all there are, and what no order goes below.
#[derive(Serialize)]
pub struct Orders {
    front: Vec<WireOrder>,
    proven: bool,
    changeover_bound: u32,
    elapsed_bound: u32,
}

#[derive(Serialize)]
struct WireOrder {
    order: Vec<usize>,
    changeover: u32,
    elapsed: u32,
}

/// Finds the front.
pub fn answer(case: Case) -> Answer<Orders> {
    let size = case.steps.len();
    if case.cost.len() != size + 2 || case.cost.iter().any(|row| row.len() != size + 2) {
        return Err("cost: give a square matrix with a start, a row for each step and an end".into());
    }
    if let Some((first, then)) = case.before.iter().find(|(first, then)| *first >= size || *then >= size) {
        return Err(format!("before: [{first}, {then}] names a step that is not there"));
    }
    let key = |at: usize| Ok((0, Code::parse(&format!("s-{at:04}")).map_err(|e| e.to_string())?));
    let keys = (0..size).map(key).collect::<Answer<_>>()?;
    let timings: Vec<Timing> = case.steps.iter().map(timing).collect();
    let problem = Problem { keys, before: Precedence::from_pairs(size, &case.before), cost: case.cost };
    let found = front(&problem, &timings, USUAL_FRONT_BUDGET)
        .map_err(|cycle| format!("before: these wait for one another: {cycle:?}"))?;
    Ok(Orders {
        front: found.orders.into_iter().map(WireOrder::from).collect(),
        proven: found.proven,
        changeover_bound: found.changeover_bound.get(),
        elapsed_bound: found.elapsed_bound.get(),
    })
}

fn timing(step: &WireStep) -> Timing {
    let holds = match step.holds {
        WireHolds::Car => Holds::Car,
        WireHolds::After => Holds::After,
    };
    Timing { attended: Minutes::new(step.minutes), wait: Minutes::new(step.wait), holds }
}

impl From<FrontOrder> for WireOrder {
    fn from(found: FrontOrder) -> Self {
        Self { order: found.order, changeover: found.changeover.get(), elapsed: found.elapsed.get() }
    }
}

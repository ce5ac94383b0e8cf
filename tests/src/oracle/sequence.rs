//! `sequence`: the cheapest order of nodes under precedence, a path from the first to the last.

use baywright_domain::menu::Code;
use baywright_domain::plan::{Problem, order};
use baywright_domain::precedence::Precedence;
use serde::{Deserialize, Serialize};

use super::Answer;

/// States that a case is searched with.
const BUDGET: usize = 4_000_000;

/// Costs from row to column, and pairs of which the first comes before the second.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    cost: Vec<Vec<u32>>,
    before: Vec<(usize, usize)>,
}

/// The order with both ends, its cost, and what no order goes below.
#[derive(Serialize)]
pub struct Sequence {
    order: Vec<usize>,
    cost: u32,
    bound: u32,
    proven: bool,
}

/// Finds the order.
pub fn answer(case: Case) -> Answer<Sequence> {
    let size = case.cost.len();
    if size < 2 || case.cost.iter().any(|row| row.len() != size) {
        return Err("cost: give a square matrix with a first and a last node".into());
    }
    let inner = 1..size - 1;
    let pairs: Vec<(usize, usize)> = case
        .before
        .iter()
        .filter(|(first, then)| inner.contains(first) && inner.contains(then))
        .map(|(first, then)| (first - 1, then - 1))
        .collect();
    let key = |at: usize| Ok((0, Code::parse(&format!("n-{at:04}")).map_err(|e| e.to_string())?));
    let keys = (0..size - 2).map(key).collect::<Answer<_>>()?;
    let before = Precedence::from_pairs(size - 2, &pairs);
    let problem = Problem { keys, before, cost: case.cost };
    let found = order(&problem, BUDGET).map_err(|cycle| format!("before: these wait for one another: {cycle:?}"))?;
    let steps = found.order.iter().map(|step| step + 1);
    Ok(Sequence {
        order: std::iter::once(0).chain(steps).chain([size - 1]).collect(),
        cost: found.changeover.get(),
        bound: found.bound.get(),
        proven: found.proven,
    })
}

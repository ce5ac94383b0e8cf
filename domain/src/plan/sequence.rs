//! The order of the steps in one job.
//!
//! Our own search proves the order: dynamic programming over (steps done, last step), in layers that are widened until
//! no state is dropped (`domain/src/plan/sequence/search.rs`). It solves the published problems of up to 109 steps in
//! well under a second and needs no solver, so the domain stays pure. Of several orders with the same cost, the first
//! by stage and code is taken, so that a plan does not change without a reason.
//!
//! **Plans of 50 to 150 steps** are proven only if many of their steps wait for others. For the rest, exchanges of
//! neighbouring parts improve the order (`exchange`), and relaxed problems on top of one another give the bound
//! (`network`), part of which also prunes the states. Then the search is repeated from the better order.

pub(super) mod arcs;
mod exchange;
mod network;
pub(super) mod search;

use alloc::collections::BTreeSet;
use alloc::vec::Vec;

use super::{Merged, changeover};
use crate::menu::{ChangeoverRates, Code};
use crate::precedence::Precedence;
use crate::time::Minutes;

/// A sequential ordering problem (Escudero 1988) over the steps of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Stage and code of each step, which decide between orders of equal cost.
    pub keys: Vec<(u16, Code)>,
    /// The order that is required between steps.
    pub before: Precedence,
    /// Changeover minutes: row before column, where 0 is the empty bay at the start, `i + 1` is step `i`, and the last
    /// is the empty bay at the end.
    pub cost: Vec<Vec<u32>>,
}

impl Problem {
    /// The problem of merged steps at a shop's changeover rates.
    pub fn new(steps: &[Merged<'_>], before: Precedence, rates: &ChangeoverRates) -> Self {
        let nodes = || {
            let inner = steps.iter().map(|merged| Some(&merged.step.setup));
            core::iter::once(None).chain(inner).chain(core::iter::once(None))
        };
        let cost = nodes().map(|from| nodes().map(|to| changeover(from, to, rates).get()).collect()).collect();
        let keys = steps.iter().map(|merged| (merged.step.stage, merged.step.code.clone())).collect();
        Self { keys, before, cost }
    }

    /// The changeover minutes of an order of all steps.
    pub fn cost_of(&self, order: &[usize]) -> Minutes {
        self.changeovers(order).into_iter().sum()
    }

    /// Changeover minutes before each step of an order of all steps, and then those after the last one.
    pub fn changeovers(&self, order: &[usize]) -> Vec<Minutes> {
        let end = self.keys.len() + 1;
        let nodes = order.iter().map(|at| at + 1).chain(core::iter::once(end));
        let mut from = 0;
        let between = |to: usize| {
            let minutes = Minutes::new(self.cost[from][to]);
            from = to;
            minutes
        };
        nodes.map(between).collect()
    }

    /// A lower bound: whatever the order, each step and the end are entered once, at no less than their cheapest entry.
    fn bound(&self) -> Minutes {
        let size = self.keys.len();
        let cheapest = |to: usize| {
            let entries = (0..=size).filter(|from| *from != to && !(*from == 0 && to == size + 1 && size > 0));
            entries.map(|from| self.cost[from][to]).min().unwrap_or(0)
        };
        (1..=size + 1).map(|to| Minutes::new(cheapest(to))).sum()
    }
}

/// An order of the steps.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// The steps, by index in the problem.
    pub order: Vec<usize>,
    /// Its changeover minutes.
    pub changeover: Minutes,
    /// Proven lower bound of the cost.
    pub bound: Minutes,
    /// Whether the two are equal, so that the order is the best there is.
    pub proven: bool,
    /// Cost of the plain order by stage and code.
    pub stage_order: Minutes,
}

/// State budget for a shop's plans: up to 40 steps are proven with far fewer states, unless hardly any step waits for
/// another.
pub const USUAL_BUDGET: usize = 60_000;

/// The cheapest order that meets every precedence; of equal ones the first by stage, then code. A plan that exceeds the
/// state budget gets the best order found and a proven lower bound.
///
/// # Errors
/// A shortest cycle of steps that wait for one another.
pub fn order(problem: &Problem, budget: usize) -> Result<Order, Vec<usize>> {
    let by_stage = stage_order(problem)?;
    let stage_order = problem.cost_of(&by_stage);
    let looks = MOST_LOOKS.min(LOOKS.saturating_mul(budget as u64));
    if problem.keys.len() > search::MOST_STEPS {
        let order = exchange::improved(problem, &by_stage, looks);
        let changeover = problem.cost_of(&order);
        let bound = problem.bound().max(Minutes::new(network::lower_bound(problem))).min(changeover);
        return Ok(Order { order, changeover, bound, proven: changeover == bound, stage_order });
    }
    let mut arcs = arcs::Arcs::of(problem);
    arcs.strengthen(problem);
    let mut found = search::search(&arcs, arcs.numbered(&by_stage), budget);
    if found.bound < found.cost {
        let least = found.bound.max(network::lower_bound(problem));
        let order = exchange::improved(problem, &arcs.named(&found.order), looks);
        if problem.cost_of(&order) < Minutes::new(found.cost) {
            found = search::search(&arcs, arcs.numbered(&order), budget);
        }
        found.bound = found.bound.max(least).min(found.cost);
    }
    let (changeover, bound) = (Minutes::new(found.cost), Minutes::new(found.bound));
    Ok(Order { order: arcs.named(&found.order), changeover, bound, proven: changeover == bound, stage_order })
}

/// Exchanges that are looked at for each state of the budget, and in all.
const LOOKS: u64 = 100;
const MOST_LOOKS: u64 = 40_000_000;

/// An order that meets every precedence; of the steps that may come next, the one with the smallest stage, then code.
pub(super) fn stage_order(problem: &Problem) -> Result<Vec<usize>, Vec<usize>> {
    let all: Vec<usize> = (0..problem.keys.len()).collect();
    if let Some(cycle) = problem.before.shortest_cycle_through(&all) {
        return Err(cycle);
    }
    let pairs = problem.before.pairs();
    let mut waits_for = alloc::vec![0_usize; problem.keys.len()];
    for (_, then) in &pairs {
        waits_for[*then] += 1;
    }
    let key = |at: usize| (&problem.keys[at], at);
    let mut open: BTreeSet<_> = (0..problem.keys.len()).filter(|at| waits_for[*at] == 0).map(key).collect();
    let mut order = Vec::with_capacity(problem.keys.len());
    while let Some((_, at)) = open.pop_first() {
        order.push(at);
        for (_, then) in pairs.iter().filter(|(first, _)| *first == at) {
            waits_for[*then] -= 1;
            if waits_for[*then] == 0 {
                open.insert(key(*then));
            }
        }
    }
    Ok(order)
}

#[cfg(test)]
mod tests;

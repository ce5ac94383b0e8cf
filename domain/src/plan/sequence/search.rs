//! The cheapest order, by exact dynamic programming over (steps done, last step) in layers, with bounds to prune.
//!
//! Two orders that have done the same steps and end in the same one continue in the same way, so only the cheaper is
//! kept (Held and Karp 1962; Escudero 1988 for orders under precedence). A layer that grows beyond its width drops its
//! least promising states; the search is then repeated with a wider one until nothing was dropped, which proves the
//! order, or the state budget is used up, which gives the best order found and a proven lower bound.

use alloc::vec::Vec;

use super::arcs::Arcs;

/// Maximum number of steps that a set can hold.
pub(in crate::plan) const MOST_STEPS: usize = 128;

/// Number of states that a first pass keeps in each layer.
const FIRST_WIDTH: usize = 64;
/// Factor by which each pass is wider than the one before.
const WIDER: usize = 8;

/// Result of the search.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Found {
    /// The steps in order.
    pub(super) order: Vec<usize>,
    /// Its cost.
    pub(super) cost: u32,
    /// Proven lower bound of the cost.
    pub(super) bound: u32,
}

/// A state: the set of finished steps, the last one, and the cost so far.
#[derive(Clone, Copy)]
struct State {
    done: u128,
    last: usize,
    cost: u32,
    /// Cost so far plus a lower bound of the rest.
    least: u32,
    /// Index of the path to this state.
    way: usize,
}

/// A path to a state: the path to the state before, and the step that was added.
#[derive(Clone, Copy)]
pub(in crate::plan) struct Way {
    pub(in crate::plan) before: usize,
    pub(in crate::plan) step: usize,
}

/// The empty path, with which every other begins.
pub(in crate::plan) const BEGIN: usize = usize::MAX;

/// Searches from a known order; keeps to `budget` states in all, except for one pass of the first width.
pub(super) fn search(arcs: &Arcs, known: Vec<usize>, budget: usize) -> Found {
    let mut best = Found { cost: arcs.cost_of(&known), order: known, bound: arcs.root_bound() };
    let (mut width, mut spent) = (FIRST_WIDTH, 0);
    while best.bound < best.cost {
        let pass = pass(arcs, &mut best, width);
        spent += pass.states;
        // Dropped states may contain a cheaper order, down to their own lower bound; nothing else does.
        best.bound = best.bound.max(pass.dropped.unwrap_or(best.cost).min(best.cost));
        width *= WIDER;
        if spent + pass.states > budget {
            break;
        }
    }
    best
}

struct Pass {
    states: usize,
    /// The lowest bound of the dropped states.
    dropped: Option<u32>,
}

fn pass(arcs: &Arcs, best: &mut Found, width: usize) -> Pass {
    let start = State { done: 0, last: arcs.start(), cost: 0, least: arcs.root_bound(), way: BEGIN };
    let (mut layer, mut next) = (alloc::vec![start], Vec::new());
    let mut ways: Vec<Way> = Vec::new();
    let mut pass = Pass { states: 0, dropped: None };
    // An order of equal cost that comes first by stage and code is better, so states with equal bounds are followed
    // until one pass has finished an order of its own.
    let mut own: Option<(u32, usize)> = None;
    for _ in 0..arcs.steps() {
        next.clear();
        for state in &layer {
            for step in 0..arcs.steps() {
                let bit = 1_u128 << step;
                if state.done & bit != 0 || arcs.needs(step) & !state.done != 0 {
                    continue;
                }
                let cost = state.cost + arcs.cost(state.last, step);
                let done = state.done | bit;
                let least = cost + arcs.at_least(done, step);
                if least <= best.cost {
                    next.push((State { done, last: step, cost, least, way: state.way }, next.len()));
                }
            }
        }
        keep_the_cheapest(&mut next);
        if next.len() > width {
            next.sort_unstable_by_key(|(state, place)| (state.least, *place));
            pass.dropped = Some(pass.dropped.unwrap_or(u32::MAX).min(next[width].0.least));
            next.truncate(width);
        }
        next.sort_unstable_by_key(|(_, place)| *place);
        pass.states += next.len();
        layer.clear();
        for (mut state, _) in next.iter().copied() {
            ways.push(Way { before: state.way, step: state.last });
            state.way = ways.len() - 1;
            layer.push(state);
        }
    }
    for state in &layer {
        let cost = state.cost + arcs.cost(state.last, arcs.end());
        if own.is_none_or(|(cheapest, _)| cost < cheapest) {
            own = Some((cost, state.way));
        }
    }
    if let Some((cost, way)) = own.filter(|(cost, _)| *cost <= best.cost) {
        best.cost = cost;
        best.order = order_of(&ways, way);
    }
    pass
}

/// Of states that continue in the same way, keeps the cheapest; of equal ones, the one that came first.
fn keep_the_cheapest(states: &mut Vec<(State, usize)>) {
    states.sort_unstable_by_key(|(state, place)| (state.done, state.last, state.cost, *place));
    states.dedup_by(|later, kept| later.0.done == kept.0.done && later.0.last == kept.0.last);
}

/// The steps along a path, from the first.
pub(in crate::plan) fn order_of(ways: &[Way], mut way: usize) -> Vec<usize> {
    let mut order = Vec::new();
    while way != BEGIN {
        order.push(ways[way].step);
        way = ways[way].before;
    }
    order.reverse();
    order
}

//! The Pareto front of orders: how much changeover it costs to be finished sooner.
//!
//! The order with the least changeover may leave a wait idle that other work could fill. Both times count, and neither
//! can be converted into the other, so all orders are kept that no other order beats in both changeover and elapsed
//! time.
//!
//! If every wait holds the whole car, elapsed time is the sum of all work, all waits and the changeover, so the order
//! with the least changeover is the whole front. Only waits that hold back single steps create a choice.

mod search;
mod task;
mod value;
mod words;

use alloc::vec::Vec;

use super::sequence::{search::MOST_STEPS, stage_order};
use super::{Problem, USUAL_BUDGET, order};
use crate::menu::{Code, Holds};
use crate::time::Minutes;
use task::Task;
use value::{Best, Value};

pub use words::orders_in_words;

/// Duration of a step, and what its wait holds back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Timing {
    /// Minutes of attended work, without changeovers.
    pub attended: Minutes,
    /// Minimum wait after it, in minutes.
    pub wait: Minutes,
    /// Work that the wait holds back.
    pub holds: Holds,
}

impl Timing {
    /// Whether other work can be done during its wait.
    pub(super) fn holds_single_steps(self) -> bool {
        self.holds == Holds::After && self.wait > Minutes::ZERO
    }
}

/// An order of the front.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FrontOrder {
    /// The steps, by index in the problem.
    pub order: Vec<usize>,
    /// Its changeover minutes.
    pub changeover: Minutes,
    /// Minutes from the beginning to the end of the latest step or wait, without interruptions.
    pub elapsed: Minutes,
}

/// Orders of which none beats another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Front {
    /// The orders, by rising changeover and falling elapsed time; one for each pair of both, the first by stage and
    /// code among equal ones. There is at least one.
    pub orders: Vec<FrontOrder>,
    /// Proven lower bound of the changeover minutes of any order.
    pub changeover_bound: Minutes,
    /// Proven lower bound of the elapsed minutes of any order.
    pub elapsed_bound: Minutes,
    /// Whether the front is complete: each order that is not on it is beaten or equalled by one that is.
    pub proven: bool,
    /// Changeover minutes of the plain order by stage and code.
    pub stage_order: Minutes,
}

/// An order of a plan's steps that no other beats in both changeover and elapsed time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanOrder {
    /// Codes of the steps, in this order.
    pub steps: Vec<Code>,
    /// Changeover minutes before each step, and then those after the last one.
    pub changeovers: Vec<Minutes>,
    /// Its changeover minutes in total.
    pub changeover: Minutes,
    /// Minutes from the beginning to the end of the latest step or wait, without interruptions.
    pub elapsed: Minutes,
}

/// Budget of partial orders for a shop's plans: fronts of 40 steps with six waits are complete with fewer, unless
/// hardly any step waits for another.
pub const USUAL_FRONT_BUDGET: usize = 300_000;

/// The front of a plan's orders, with the timing of each step in the problem's order. A plan that exceeds the budget of
/// partial orders gets the best orders found and a proven lower bound for each end of the front.
///
/// # Errors
/// A shortest cycle of steps that wait for one another.
pub fn front(problem: &Problem, timings: &[Timing], budget: usize) -> Result<Front, Vec<usize>> {
    let cheapest = order(problem, USUAL_BUDGET)?;
    let serial = in_series(timings) + cheapest.bound;
    let one_order = !timings.iter().any(|timing| timing.holds_single_steps());
    if one_order || problem.keys.len() > MOST_STEPS {
        let elapsed = elapsed_of(problem, timings, &cheapest.order);
        return Ok(Front {
            changeover_bound: cheapest.bound,
            elapsed_bound: serial.min(elapsed),
            proven: cheapest.proven && (one_order || elapsed <= serial),
            stage_order: cheapest.stage_order,
            orders: alloc::vec![FrontOrder { order: cheapest.order, changeover: cheapest.changeover, elapsed }],
        });
    }
    let task = Task::of(problem, timings);
    let mut best = Best::default();
    for known in [cheapest.order, stage_order(problem)?] {
        let (changeover, elapsed) = (problem.cost_of(&known), elapsed_of(problem, timings, &known));
        let value = Value { changeover: u64::from(changeover.get()), elapsed: u64::from(elapsed.get()) };
        best.add(value, task.arcs.numbered(&known));
    }
    let proof = search::search(&task, &mut best, budget);
    let orders = best.into_orders().map(|(value, order)| FrontOrder {
        order: task.arcs.named(&order),
        changeover: minutes(value.changeover),
        elapsed: minutes(value.elapsed),
    });
    Ok(Front {
        orders: orders.collect(),
        changeover_bound: cheapest.bound.max(minutes(proof.least.changeover)),
        elapsed_bound: serial.max(minutes(proof.least.elapsed)),
        proven: proof.complete,
        stage_order: cheapest.stage_order,
    })
}

/// Minutes that are spent one after another in every order: the work, and the waits that hold the whole car.
pub(super) fn in_series(timings: &[Timing]) -> Minutes {
    let held = |timing: &Timing| if timing.holds == Holds::Car { timing.wait } else { Minutes::ZERO };
    timings.iter().map(|timing| timing.attended + held(timing)).sum()
}

/// Minutes from the beginning of an order to the end of its latest step or wait, without interruptions.
pub fn elapsed_of(problem: &Problem, timings: &[Timing], order: &[usize]) -> Minutes {
    let (ancestors, changeovers) = (problem.before.ancestors(), problem.changeovers(order));
    let (mut ready, mut finish) = (Minutes::ZERO, Minutes::ZERO);
    let mut waits: Vec<(usize, Minutes)> = Vec::new();
    for (place, &step) in order.iter().enumerate() {
        let holding = waits.iter().filter(|(first, _)| ancestors[step].contains(first));
        let begin = holding.fold(ready, |begin, (_, passed)| begin.max(*passed));
        let last = place + 1 == order.len();
        let clearing = if last { changeovers[place + 1] } else { Minutes::ZERO };
        let timing = timings[step];
        let end = begin + changeovers[place] + clearing + timing.attended;
        let passed = end + timing.wait;
        finish = finish.max(passed);
        match timing.holds {
            Holds::Car => ready = passed,
            Holds::After => {
                ready = end;
                waits.push((step, passed));
            }
        }
    }
    finish
}

fn minutes(count: u64) -> Minutes {
    Minutes::new(u32::try_from(count).unwrap_or(u32::MAX))
}

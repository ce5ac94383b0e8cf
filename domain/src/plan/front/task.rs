//! A plan prepared for the search of its front: steps by number, with their durations and lower bounds for the rest of
//! the plan.

use alloc::vec::Vec;

use super::Timing;
use crate::menu::Holds;
use crate::plan::Problem;
use crate::plan::sequence::arcs::Arcs;

/// The plan by numbers; times are whole minutes.
pub(super) struct Task {
    pub(super) arcs: Arcs,
    pub(super) steps: Vec<Numbered>,
    /// Steps whose waits hold back single steps, in order of their numbers.
    pub(super) waiting: Vec<usize>,
}

/// A step.
pub(super) struct Numbered {
    pub(super) attended: u64,
    pub(super) wait: u64,
    pub(super) holds: Holds,
    /// Steps that must come after it, directly or through others.
    pub(super) followers: u128,
    /// Index in [`Task::waiting`], if its wait holds back single steps.
    pub(super) waiting: Option<usize>,
    /// Lower bound of the time from the end of its wait to the finish: the steps after it follow one another.
    pub(super) after: u64,
    /// Lower bound of the time from its start to the finish.
    tail: u64,
}

/// Remaining steps of a plan.
pub(super) struct Rest {
    /// Number of steps.
    pub(super) count: usize,
    enter: u64,
    leave: u64,
    /// Minutes of work, and of waits that hold the whole car.
    work: u64,
    /// The step with the longest tail, and that tail; then the longest tail of the others.
    longest: (usize, u64),
    second: u64,
}

/// Lower bounds for the rest after one more step is done.
pub(super) struct ToCome {
    pub(super) changeover: u64,
    pub(super) elapsed: u64,
}

impl Task {
    /// Prepares a problem without cycles and of at most 128 steps, with the timing of each.
    pub(super) fn of(problem: &Problem, timings: &[Timing]) -> Self {
        let arcs = Arcs::of(problem);
        let numbers: Vec<usize> = (0..arcs.steps()).collect();
        let mut steps: Vec<Numbered> = Vec::with_capacity(numbers.len());
        let mut waiting = Vec::new();
        for (number, name) in arcs.named(&numbers).into_iter().enumerate() {
            let timing = timings[name];
            let follow = numbers.iter().filter(|then| arcs.needs(**then) & bit(number) != 0);
            let followers = follow.fold(0, |set, then| set | bit(*then));
            let holds_some = timing.holds_single_steps() && followers != 0;
            if holds_some {
                waiting.push(number);
            }
            steps.push(Numbered {
                attended: u64::from(timing.attended.get()),
                wait: u64::from(timing.wait.get()),
                holds: timing.holds,
                followers,
                waiting: holds_some.then(|| waiting.len() - 1),
                after: 0,
                tail: 0,
            });
        }
        let mut task = Self { arcs, steps, waiting };
        task.measure();
        task
    }

    /// Computes the tails, beginning with the steps that have the most predecessors.
    fn measure(&mut self) {
        let mut order: Vec<usize> = (0..self.steps.len()).collect();
        order.sort_by_key(|step| core::cmp::Reverse(self.arcs.needs(*step).count_ones()));
        for step in order {
            let followers = self.steps[step].followers;
            let (mut all, mut longest) = (0, 0);
            for then in (0..self.steps.len()).filter(|then| followers & bit(*then) != 0) {
                all += self.enter(then) + self.in_series(then);
                longest = longest.max(self.steps[then].tail);
            }
            let enter = self.enter(step);
            let one = &mut self.steps[step];
            one.after = longest.max(all);
            one.tail = enter + one.attended + one.wait + one.after;
        }
    }

    fn enter(&self, step: usize) -> u64 {
        u64::from(self.arcs.enter(step))
    }

    /// Minutes in which nothing else happens: the work, and a wait that holds the whole car.
    fn in_series(&self, step: usize) -> u64 {
        let Numbered { attended, wait, holds, .. } = self.steps[step];
        if holds == Holds::Car { attended + wait } else { attended }
    }

    /// Whether a step may come next.
    pub(super) fn may_come(&self, step: usize, done: u128) -> bool {
        done & bit(step) == 0 && self.arcs.needs(step) & !done == 0
    }

    /// Remaining steps after the given ones are done.
    pub(super) fn rest(&self, done: u128) -> Rest {
        let mut rest = Rest { count: 0, enter: 0, leave: 0, work: 0, longest: (0, 0), second: 0 };
        for (step, one) in self.steps.iter().enumerate().filter(|(step, _)| done & bit(*step) == 0) {
            rest.count += 1;
            rest.enter += self.enter(step);
            rest.leave += u64::from(self.arcs.leave(step));
            rest.work += self.in_series(step);
            if one.tail > rest.longest.1 {
                rest.second = rest.longest.1;
                rest.longest = (step, one.tail);
            } else {
                rest.second = rest.second.max(one.tail);
            }
        }
        rest
    }

    /// Lower bounds for the rest after `step`, one of several remaining steps, was done last. Each remaining step and
    /// the end are entered once; the last step and each remaining one are left once.
    pub(super) fn to_come(&self, rest: &Rest, step: usize) -> ToCome {
        let entered = rest.enter - self.enter(step) + self.enter(self.arcs.end());
        let changeover = entered.max(rest.leave);
        let work = rest.work - self.in_series(step);
        let longest = if rest.longest.0 == step { rest.second } else { rest.longest.1 };
        ToCome { changeover, elapsed: longest.max(work + changeover) }
    }
}

/// The set with only this step.
pub(super) const fn bit(step: usize) -> u128 {
    1 << step
}

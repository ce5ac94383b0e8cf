//! Search of the front by labels over (steps done, last step), in layers.
//!
//! A label is a partial order: its changeover so far, when the next step may begin, which waits are still running, and
//! the latest end of all. Of two labels that have done the same steps and end in the same one, one dominates the other
//! if it is no worse in any of these: it can be continued in every way in which the other can, and no later step begins
//! later, because everything that a step waits for is a lower bound. Among labels of equal changeover it must also come
//! first by stage and code, since otherwise the other one could become the first among equal orders in the end.
//! (Martins 1984 for several criteria; Held and Karp 1962 for the states.)
//!
//! A label is dropped if a known order beats its lower bounds. A layer that exceeds its width keeps the labels with the
//! smallest bounds for changeover and those with the smallest bounds for elapsed time; the search is repeated with a
//! greater width until known orders beat all dropped labels, which proves the front, or the budget is spent.

use alloc::vec::Vec;
use core::mem;

use super::task::{Rest, Task, bit};
use super::value::{Best, Bounds, Value};
use crate::menu::Holds;
use crate::plan::sequence::search::{BEGIN, Way, order_of};

/// Number of labels that a first pass keeps in each layer.
const FIRST_WIDTH: usize = 64;
/// Factor by which each pass is wider than the one before.
const WIDER: usize = 8;

/// Proven facts about all orders.
pub(super) struct Proof {
    /// Lower bounds of the changeover and of the elapsed time of any order.
    pub(super) least: Value,
    /// Whether each order is beaten or equalled by one that was found.
    pub(super) complete: bool,
}

/// Searches from known orders, of which there is at least one; makes about `budget` labels in all, and at least those
/// of one pass of the first width.
pub(super) fn search(task: &Task, best: &mut Best, budget: usize) -> Proof {
    let (mut width, mut spent) = (FIRST_WIDTH, 0_usize);
    let mut least = Value { changeover: 0, elapsed: 0 };
    loop {
        let mut pass = pass(task, best, width, budget.saturating_sub(spent));
        spent += pass.labels;
        pass.dropped.settle(best);
        // Only dropped labels can lead to better orders, and none better than their bounds.
        let open = pass.dropped.as_slice();
        let mut reached = best.least();
        for bound in open {
            reached.changeover = reached.changeover.min(bound.changeover);
            reached.elapsed = reached.elapsed.min(bound.elapsed);
        }
        least.changeover = least.changeover.max(reached.changeover);
        least.elapsed = least.elapsed.max(reached.elapsed);
        if open.is_empty() || spent.saturating_add(pass.labels) > budget {
            return Proof { least, complete: open.iter().all(|bound| best.reaches(*bound)) };
        }
        width *= WIDER;
    }
}

/// A partial order.
#[derive(Clone, Copy)]
struct Label {
    done: u128,
    last: usize,
    changeover: u64,
    /// End of the last step and of every wait that held the whole car.
    ready: u64,
    /// End of the latest step or wait so far.
    finish: u64,
    /// Lower bounds of any order that begins in this way.
    least: Value,
    /// Index in the order in which the layer was made: labels that come first by stage and code are made first.
    place: usize,
    /// Index of the path to this label.
    way: usize,
}

/// All labels with the same number of steps done.
struct Layer {
    labels: Vec<Label>,
    /// For each label, in the order in which they were made, the ends of the waits that hold back single steps; 0 for a
    /// wait that no longer holds anything back.
    waits: Vec<u64>,
    /// Number of such waits in the plan.
    each: usize,
}

struct Pass {
    labels: usize,
    dropped: Bounds,
}

fn pass(task: &Task, best: &mut Best, width: usize, left: usize) -> Pass {
    let mut layer = Layer::begin(task);
    let mut next = Layer { labels: Vec::new(), waits: Vec::new(), each: layer.each };
    let mut ways: Vec<Way> = Vec::new();
    let mut pass = Pass { labels: 0, dropped: Bounds::default() };
    for _ in 0..task.steps.len() {
        next.labels.clear();
        next.waits.clear();
        for label in &layer.labels {
            let rest = task.rest(label.done);
            for step in (0..task.steps.len()).filter(|step| task.may_come(*step, label.done)) {
                next.extend(task, best, label, layer.waits_of(label), &rest, step);
            }
        }
        pass.labels += next.labels.len();
        next.leave_out_the_worse();
        next.narrow(if pass.labels > left { FIRST_WIDTH.min(width) } else { width }, &mut pass.dropped);
        for label in &mut next.labels {
            ways.push(Way { before: label.way, step: label.last });
            label.way = ways.len() - 1;
        }
        mem::swap(&mut layer, &mut next);
    }
    for label in &layer.labels {
        best.add(label.least, order_of(&ways, label.way));
    }
    pass
}

impl Layer {
    /// Nothing is done yet.
    fn begin(task: &Task) -> Self {
        let label = Label {
            done: 0,
            last: task.arcs.start(),
            changeover: 0,
            ready: 0,
            finish: 0,
            least: Value { changeover: 0, elapsed: 0 },
            place: 0,
            way: BEGIN,
        };
        let each = task.waiting.len();
        Self { labels: alloc::vec![label], waits: alloc::vec![0; each], each }
    }

    fn waits_of(&self, label: &Label) -> &[u64] {
        &self.waits[label.place * self.each..][..self.each]
    }

    /// Adds the label that continues one of the layer before with one more step, unless a known order beats it.
    fn extend(&mut self, task: &Task, best: &Best, label: &Label, waits: &[u64], rest: &Rest, step: usize) {
        let one = &task.steps[step];
        let holding =
            waits.iter().zip(&task.waiting).filter(|(_, first)| task.steps[**first].followers & bit(step) != 0);
        let begin = holding.fold(label.ready, |begin, (passed, _)| begin.max(*passed));
        let is_last = rest.count == 1;
        let clearing = if is_last { task.arcs.cost(step, task.arcs.end()) } else { 0 };
        let lost = u64::from(task.arcs.cost(label.last, step)) + u64::from(clearing);
        let end = begin + lost + one.attended;
        let passed = end + one.wait;
        let ready = if one.holds == Holds::Car { passed } else { end };
        let (changeover, finish) = (label.changeover + lost, label.finish.max(passed));

        let first = self.waits.len();
        self.waits.extend(waits.iter().map(|passed| if *passed > ready { *passed } else { 0 }));
        if let Some(place) = one.waiting {
            self.waits[first + place] = passed;
        }
        let mut least = Value { changeover, elapsed: finish };
        if !is_last {
            let to_come = task.to_come(rest, step);
            least.changeover += to_come.changeover;
            least.elapsed = least.elapsed.max(ready + to_come.elapsed);
            for (passed, first) in self.waits[first..].iter().zip(&task.waiting).filter(|(passed, _)| **passed > 0) {
                least.elapsed = least.elapsed.max(passed + task.steps[*first].after);
            }
        }
        if best.beats(least) {
            self.waits.truncate(first);
            return;
        }
        let (done, place) = (label.done | bit(step), self.labels.len());
        self.labels.push(Label { done, last: step, changeover, ready, finish, least, place, way: label.way });
    }

    /// Removes each label that another one with the same steps done and the same last step dominates.
    fn leave_out_the_worse(&mut self) {
        self.labels.sort_unstable_by_key(|label| (label.done, label.last, label.changeover, label.place));
        let mut kept: Vec<Label> = Vec::with_capacity(self.labels.len());
        let mut first = 0;
        for label in &self.labels {
            if kept.get(first).is_some_and(|one| (one.done, one.last) != (label.done, label.last)) {
                first = kept.len();
            }
            if !kept[first..].iter().any(|one| self.is_no_worse(one, label)) {
                kept.push(*label);
            }
        }
        self.labels = kept;
    }

    /// Whether `one` dominates `other`: no later step begins later after it, and none of its ends is later than the
    /// bound of the other.
    fn is_no_worse(&self, one: &Label, other: &Label) -> bool {
        let mut waits = self.waits_of(one).iter().zip(self.waits_of(other));
        one.ready <= other.ready
            && one.finish <= other.least.elapsed
            && waits.all(|(passed, later)| *passed <= (*later).max(other.ready))
    }

    /// Keeps `width` labels, those with the smallest bounds for changeover and those with the smallest bounds for
    /// elapsed time, and notes the bounds of the others. Restores the order in which the labels were made.
    fn narrow(&mut self, width: usize, dropped: &mut Bounds) {
        if self.labels.len() > width {
            let mut promising: Vec<usize> = (0..self.labels.len()).collect();
            let mut keep = alloc::vec![false; self.labels.len()];
            promising.sort_unstable_by_key(|at| (self.labels[*at].least, self.labels[*at].place));
            for at in promising.iter().take(width / 2) {
                keep[*at] = true;
            }
            promising.retain(|at| !keep[*at]);
            promising.sort_unstable_by_key(|at| {
                let Label { least, place, .. } = self.labels[*at];
                (least.elapsed, least.changeover, place)
            });
            for at in promising.iter().take(width - width / 2) {
                keep[*at] = true;
            }
            for (label, _) in self.labels.iter().zip(&keep).filter(|(_, keep)| !**keep) {
                dropped.add(label.least);
            }
            let mut keep = keep.into_iter();
            self.labels.retain(|_| keep.next().unwrap_or(false));
        }
        self.labels.sort_unstable_by_key(|label| label.place);
    }
}

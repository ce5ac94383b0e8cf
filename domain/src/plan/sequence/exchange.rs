//! Exchange of neighbouring parts of an order, for plans that are too large to prove.
//!
//! Two parts of the order that follow each other change places, without being turned around: the only exchange of three
//! ways that keeps the direction of all steps. Whether precedence allows it is known while the parts grow step by step,
//! since a part that holds a step which must come before the next one can't be passed (Savelsbergh 1990; for sequential
//! ordering Gambardella and Dorigo 2000). Of all exchanges whose first, or whose last, way is the same the best is made.
//! When none helps, a few exchanges are made at random and the search goes on from there; what got worse is taken back.
//!
//! **What was not built.** Ants (the same authors) and genetic searches start such local searches from many orders; one
//! order that is shaken again and again needs no numbers for a plan to settle them by. Exchanges that turn a part around
//! are rarely allowed, and cost a look at each of its steps.

use alloc::vec::Vec;

use super::Problem;
use crate::dice::Dice;

/// Exchanges at random between two local searches, at most.
const SHAKES: usize = 3;
/// Maximum length of a part that is exchanged at random.
const LONGEST: usize = 12;

/// An order that is improved.
struct Walk<'p> {
    problem: &'p Problem,
    /// The start as 0, each step with 1 added, and the end.
    path: Vec<usize>,
    /// For each node, the nodes that must come later, and those that must come before.
    later: Vec<Vec<usize>>,
    before: Vec<Vec<usize>>,
    /// Nodes whose ways may be exchanged for better ones.
    open: Vec<bool>,
    /// Exchanges that may still be looked at.
    left: u64,
}

/// The parts after `first` up to `middle`, and from there up to `last`, change places.
#[derive(Clone, Copy)]
struct Exchange {
    first: usize,
    middle: usize,
    last: usize,
}

/// An order that is no worse than the given one, after looking at no more than `most` exchanges.
pub(super) fn improved(problem: &Problem, order: &[usize], most: u64) -> Vec<usize> {
    let size = order.len();
    let mut later = alloc::vec![Vec::new(); size + 2];
    let mut before = alloc::vec![Vec::new(); size + 2];
    for (step, earlier) in problem.before.ancestors().into_iter().enumerate() {
        for first in earlier {
            later[first + 1].push(step + 1);
            before[step + 1].push(first + 1);
        }
    }
    let path: Vec<usize> =
        core::iter::once(0).chain(order.iter().map(|step| step + 1)).chain(core::iter::once(size + 1)).collect();
    let mut walk = Walk { problem, path, later, before, open: alloc::vec![true; size + 2], left: most };
    let mut dice = Dice::new(2);
    walk.settle();
    let (mut best, mut least) = (walk.path.clone(), walk.cost());
    while walk.left > 0 && size > 2 {
        for _ in 0..=dice.below(SHAKES) {
            walk.shake(&mut dice);
        }
        walk.settle();
        let cost = walk.cost();
        if cost <= least {
            least = cost;
            best.clone_from(&walk.path);
        } else {
            walk.path.clone_from(&best);
            walk.open.fill(false);
        }
    }
    best.iter().filter(|node| (1..=size).contains(*node)).map(|node| node - 1).collect()
}

impl Walk<'_> {
    fn cost(&self) -> u64 {
        self.path.array_windows().map(|[from, to]| u64::from(self.problem.cost[*from][*to])).sum()
    }

    fn way(&self, from: usize, to: usize) -> i64 {
        i64::from(self.problem.cost[self.path[from]][self.path[to]])
    }

    /// Difference of cost that an exchange makes.
    fn gain(&self, Exchange { first, middle, last }: Exchange) -> i64 {
        self.way(first, first + 1) + self.way(middle, middle + 1) + self.way(last, last + 1)
            - self.way(first, middle + 1)
            - self.way(last, first + 1)
            - self.way(middle, last + 1)
    }

    /// Makes exchanges until none of those that begin or end at an open node helps.
    fn settle(&mut self) {
        while self.left > 0 {
            let Some(place) = self.path.iter().position(|node| self.open[*node]) else { return };
            match self.best_after(place).or_else(|| self.best_before(place)) {
                Some(best) => self.exchange(best),
                None => self.open[self.path[place]] = false,
            }
        }
    }

    /// The best exchange that helps of those whose first way begins at this place.
    fn best_after(&mut self, first: usize) -> Option<Exchange> {
        let end = self.path.len() - 1;
        let mut best: Option<(i64, Exchange)> = None;
        let mut stuck = alloc::vec![false; self.path.len()];
        for middle in first + 1..end {
            for then in &self.later[self.path[middle]] {
                stuck[*then] = true;
            }
            for last in middle + 1..end {
                if stuck[self.path[last]] || self.left == 0 {
                    break;
                }
                self.left -= 1;
                let exchange = Exchange { first, middle, last };
                let gain = self.gain(exchange);
                if gain > best.map_or(0, |(most, _)| most) {
                    best = Some((gain, exchange));
                }
            }
        }
        best.map(|(_, exchange)| exchange)
    }

    /// The best exchange that helps of those whose last way begins at this place.
    fn best_before(&mut self, last: usize) -> Option<Exchange> {
        if last + 1 >= self.path.len() {
            return None;
        }
        let mut best: Option<(i64, Exchange)> = None;
        let mut stuck = alloc::vec![false; self.path.len()];
        for middle in (1..last).rev() {
            for earlier in &self.before[self.path[middle + 1]] {
                stuck[*earlier] = true;
            }
            for first in (0..middle).rev() {
                if stuck[self.path[first + 1]] || self.left == 0 {
                    break;
                }
                self.left -= 1;
                let exchange = Exchange { first, middle, last };
                let gain = self.gain(exchange);
                if gain > best.map_or(0, |(most, _)| most) {
                    best = Some((gain, exchange));
                }
            }
        }
        best.map(|(_, exchange)| exchange)
    }

    fn exchange(&mut self, Exchange { first, middle, last }: Exchange) {
        for place in [first, first + 1, middle, middle + 1, last, last + 1] {
            let node = self.path[place];
            self.open[node] = true;
        }
        self.path[first + 1..=last].rotate_left(middle - first);
    }

    /// Makes an allowed exchange at random, if the one that was drawn is allowed.
    fn shake(&mut self, dice: &mut Dice) {
        let end = self.path.len() - 1;
        self.left = self.left.saturating_sub(1);
        let first = dice.below(end - 2);
        let middle = (first + 1 + dice.below(LONGEST)).min(end - 2);
        let wanted = (middle + 1 + dice.below(LONGEST)).min(end - 1);
        let part = &self.path[first + 1..=middle];
        let follows = |node: &usize| part.iter().any(|earlier| self.later[*earlier].contains(node));
        let free = self.path[middle + 1..=wanted].iter().take_while(|node| !follows(node)).count();
        if free > 0 {
            self.exchange(Exchange { first, middle, last: middle + free });
        }
    }
}

//! A problem prepared for the search: steps in the order of their keys, sets as bits, and the minimum cost of each
//! step.

use alloc::vec::Vec;
use core::cmp::Reverse;

use super::Problem;
use super::network::Network;

/// Changeovers and precedences by number; `steps()` is the empty bay at the start, `steps() + 1` that at the end.
pub(in crate::plan) struct Arcs {
    /// The problem's step behind each number: sorted by stage, then code.
    names: Vec<usize>,
    cost: Vec<Vec<u32>>,
    needs: Vec<u128>,
    /// The cheapest entry into each step, and into the end.
    enter: Vec<u32>,
    /// The cheapest exit from each step, and from the start.
    leave: Vec<u32>,
    /// Parts of the cost that any order pays; `None` if they were not computed.
    paid: Option<Paid>,
}

/// Parts of the cost that any order pays, from relaxed problems ([`network`](super::network)).
struct Paid {
    /// For entering and leaving each step.
    pass: Vec<i64>,
    /// For leaving each step, and the start.
    leave: Vec<i64>,
    /// For entering the end.
    end: i64,
    /// For entering each of these sets of steps.
    cuts: Vec<(u128, i64)>,
}

/// Maximum number of sets whose entry counts in the bound of a state.
const MOST_CUTS: usize = 24;

impl Arcs {
    /// Of a problem without cycles and of at most 128 steps.
    pub(in crate::plan) fn of(problem: &Problem) -> Self {
        let size = problem.keys.len();
        let mut names: Vec<usize> = (0..size).collect();
        names.sort_by_key(|at| (&problem.keys[*at], *at));
        let mut place = alloc::vec![0; size];
        for (number, name) in names.iter().enumerate() {
            place[*name] = number;
        }
        let node = |number: usize| match number {
            inner if inner < size => names[inner] + 1,
            start if start == size => 0,
            _ => size + 1,
        };
        let cost: Vec<Vec<u32>> =
            (0..size + 2).map(|from| (0..size + 2).map(|to| problem.cost[node(from)][node(to)]).collect()).collect();
        let ancestors = problem.before.ancestors();
        let set = |name: &usize| ancestors[*name].iter().fold(0, |set, earlier| set | (1_u128 << place[*earlier]));
        let needs = names.iter().map(set).collect();
        let mut arcs =
            Self { names, cost, needs, enter: alloc::vec![0; size + 2], leave: alloc::vec![0; size + 2], paid: None };
        arcs.measure();
        arcs
    }

    /// Makes the bounds of states higher, at the cost of solving the relaxed problems once.
    pub(super) fn strengthen(&mut self, problem: &Problem) {
        let size = self.steps();
        let mut network = Network::of(problem);
        let parts = network.assign();
        let mut cuts: Vec<(u128, i64)> =
            network.cuts().into_iter().map(|cut| (self.set(&cut.steps), cut.cost)).collect();
        cuts.sort_by_key(|(_, cost)| Reverse(*cost));
        cuts.truncate(MOST_CUTS);
        let leave: Vec<i64> = self.names.iter().chain([&size]).map(|name| parts.leave[*name]).collect();
        let pass = self.names.iter().zip(&leave).map(|(name, leave)| parts.enter[*name] + leave).collect();
        self.paid = Some(Paid { pass, leave, end: parts.enter[size], cuts });
    }

    /// The set of these steps of the problem.
    fn set(&self, names: &[usize]) -> u128 {
        let numbers = self.names.iter().enumerate().filter(|(_, name)| names.contains(name));
        numbers.fold(0, |set, (number, _)| set | (1 << number))
    }

    /// Whether `to` may come straight after `from` in any order that meets every precedence.
    fn may_follow(&self, from: usize, to: usize, followers: &[u128]) -> bool {
        let (start, end) = (self.start(), self.end());
        match (from, to) {
            _ if from == to || from == end || to == start => false,
            (from, to) if from == start && to == end => self.steps() == 0,
            (from, to) if from == start => self.needs[to] == 0,
            (from, to) if to == end => followers[from] == 0,
            (from, to) => {
                let between = followers[from] & self.needs[to];
                self.needs[from] & (1 << to) == 0 && between == 0
            }
        }
    }

    fn measure(&mut self) {
        let size = self.steps();
        let mut followers = alloc::vec![0_u128; size];
        for step in 0..size {
            for (earlier, set) in followers.iter_mut().enumerate() {
                if self.needs[step] & (1 << earlier) != 0 {
                    *set |= 1 << step;
                }
            }
        }
        let all = 0..size + 2;
        for step in all.clone() {
            let into = all.clone().filter(|from| self.may_follow(*from, step, &followers));
            let enter = into.map(|from| self.cost[from][step]).min().unwrap_or(0);
            let out = all.clone().filter(|to| self.may_follow(step, *to, &followers));
            let leave = out.map(|to| self.cost[step][to]).min().unwrap_or(0);
            (self.enter[step], self.leave[step]) = (enter, leave);
        }
    }

    /// Number of steps.
    pub(in crate::plan) fn steps(&self) -> usize {
        self.names.len()
    }

    /// The number of the empty bay at the start.
    pub(in crate::plan) fn start(&self) -> usize {
        self.names.len()
    }

    /// The number of the empty bay at the end.
    pub(in crate::plan) fn end(&self) -> usize {
        self.names.len() + 1
    }

    /// The changeover from one to the next.
    pub(in crate::plan) fn cost(&self, from: usize, to: usize) -> u32 {
        self.cost[from][to]
    }

    /// Cost of the cheapest entry into a step, or into the end.
    pub(in crate::plan) fn enter(&self, to: usize) -> u32 {
        self.enter[to]
    }

    /// Cost of the cheapest exit from a step, or from the start.
    pub(in crate::plan) fn leave(&self, from: usize) -> u32 {
        self.leave[from]
    }

    /// The steps that must be done before.
    pub(in crate::plan) fn needs(&self, step: usize) -> u128 {
        self.needs[step]
    }

    /// Lower bound of the cost from `last` to the end, with those steps done: each remaining step is entered once, each
    /// but the end is left once, and sets of remaining steps are entered.
    pub(in crate::plan) fn at_least(&self, done: u128, last: usize) -> u32 {
        let (mut entered, mut left) = (self.enter[self.end()], self.leave[last]);
        let mut rest = !done & self.everything();
        let paid = self.paid.as_ref().map_or(0, |paid| paid.at_least(rest, last));
        while rest != 0 {
            let step = usize::try_from(rest.trailing_zeros()).unwrap_or(0);
            entered += self.enter[step];
            left += self.leave[step];
            rest &= rest - 1;
        }
        entered.max(left).max(paid)
    }

    fn everything(&self) -> u128 {
        match self.steps() {
            128.. => u128::MAX,
            size => (1 << size) - 1,
        }
    }

    /// Lower bound of the cost of any order.
    pub(in crate::plan) fn root_bound(&self) -> u32 {
        self.at_least(0, self.start())
    }

    /// The cost of an order by numbers.
    pub(in crate::plan) fn cost_of(&self, order: &[usize]) -> u32 {
        let ends = order.iter().copied().chain([self.end()]);
        ends.fold((0, self.start()), |(sum, from), to| (sum + self.cost[from][to], to)).0
    }

    /// The order as the problem names its steps.
    pub(in crate::plan) fn named(&self, order: &[usize]) -> Vec<usize> {
        order.iter().map(|number| self.names[*number]).collect()
    }

    /// Numbers of an order of the problem's steps.
    pub(in crate::plan) fn numbered(&self, order: &[usize]) -> Vec<usize> {
        order.iter().map(|name| self.names.iter().position(|known| known == name).unwrap_or(0)).collect()
    }
}

impl Paid {
    /// Lower bound of the cost from `last` to the end, with these steps left.
    fn at_least(&self, rest: u128, last: usize) -> u32 {
        let cuts = self.cuts.iter().filter(|(set, _)| set & !rest == 0);
        let mut sum = self.leave[last] + self.end + cuts.map(|(_, cost)| cost).sum::<i64>();
        let mut left = rest;
        while left != 0 {
            sum += self.pass[usize::try_from(left.trailing_zeros()).unwrap_or(0)];
            left &= left - 1;
        }
        u32::try_from(sum).unwrap_or(0)
    }
}

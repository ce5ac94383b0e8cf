//! Lower bounds from relaxed problems, one on top of another.
//!
//! **Additive bounds** (Fischetti and Toth 1989; for asymmetric tours 1992): the dual of one relaxation lowers the cost
//! of every way by a part that any order pays anyway. What is left is bounded by the next relaxation, and the parts add
//! up. All numbers stay whole.
//!
//! 1. **Assignment:** each step is entered once and left once (Kuhn 1955; Munkres 1957).
//! 2. **Cuts:** each set of steps is entered. Where this is asked of all sets without conditions, the dual gives the
//!    cheapest arborescence (Chu and Liu 1965; Edmonds 1967). Precedence makes it stronger: the way that enters a set
//!    first leads to a step that needs none of the set, from a step that needs none of it either. Only such ways count,
//!    as in the predecessor inequalities of Balas, Fischetti and Pulleyblank (1995).
//! 3. The same backwards: each set is left.
//!
//! Sets are grown from a step along ways that cost nothing any more, until no such way enters them.

use alloc::vec::Vec;

use super::Problem;

/// Cost of a way that no order takes.
const NO_WAY: i64 = 1 << 40;

/// Times that all relaxations are applied again, at most.
const MOST_ROUNDS: usize = 4;

/// Maximum number of cuts of one direction, for each step.
const MOST_CUTS: usize = 6;

/// Costs of ways between steps, after parts of them are counted. The start is the last row, the end the last column.
pub(super) struct Network {
    steps: usize,
    cost: Vec<Vec<i64>>,
    /// For each step, every step that must come later.
    followers: Vec<Vec<usize>>,
}

/// A set of steps that any order enters at a cost.
pub(super) struct Cut {
    pub(super) steps: Vec<usize>,
    pub(super) cost: i64,
}

/// Parts of the cost that any order pays for leaving and for entering each step, the start and the end being the last.
pub(super) struct Parts {
    pub(super) leave: Vec<i64>,
    pub(super) enter: Vec<i64>,
}

/// A lower bound of the changeover minutes of any order.
pub(super) fn lower_bound(problem: &Problem) -> u32 {
    let mut network = Network::of(problem);
    let mut bound = 0;
    for _ in 0..MOST_ROUNDS {
        let parts = network.assign();
        let mut gain: i64 = parts.leave.iter().chain(&parts.enter).sum();
        gain += network.cuts().iter().map(|cut| cut.cost).sum::<i64>();
        network = network.reversed();
        gain += network.cuts().iter().map(|cut| cut.cost).sum::<i64>();
        network = network.reversed();
        if gain == 0 {
            break;
        }
        bound += gain;
    }
    u32::try_from(bound).unwrap_or(0)
}

impl Network {
    /// The ways that can be part of an order which meets every precedence.
    pub(super) fn of(problem: &Problem) -> Self {
        let steps = problem.keys.len();
        let mut followers = alloc::vec![Vec::new(); steps];
        let mut is_before = alloc::vec![alloc::vec![false; steps]; steps];
        for (step, earlier) in problem.before.ancestors().into_iter().enumerate() {
            for first in earlier {
                followers[first].push(step);
                is_before[first][step] = true;
            }
        }
        // A step between two of which one must come before the other can't be passed over.
        let is_free = |from: usize, to: usize| {
            from != to && !is_before[to][from] && !followers[from].iter().any(|between| is_before[*between][to])
        };
        let is_first = |step: usize| !(0..steps).any(|other| is_before[other][step]);
        let way = |from: usize, to: usize| {
            let allowed = match (from == steps, to == steps) {
                (true, true) => steps == 0,
                (true, false) => is_first(to),
                (false, true) => followers[from].is_empty(),
                (false, false) => is_free(from, to),
            };
            let (row, column) = (if from == steps { 0 } else { from + 1 }, to + 1);
            if allowed { i64::from(problem.cost[row][column]) } else { NO_WAY }
        };
        let cost = (0..=steps).map(|from| (0..=steps).map(|to| way(from, to)).collect()).collect();
        Self { steps, cost, followers }
    }

    /// The same problem from the end to the start.
    fn reversed(self) -> Self {
        let all = 0..=self.steps;
        let cost = all.clone().map(|to| all.clone().map(|from| self.cost[from][to]).collect()).collect();
        let mut followers = alloc::vec![Vec::new(); self.steps];
        for (first, later) in self.followers.iter().enumerate() {
            for then in later {
                followers[*then].push(first);
            }
        }
        Self { steps: self.steps, cost, followers }
    }

    /// Counts what any choice of one exit and one entry for each step costs: shortest augmenting paths, row by row.
    pub(super) fn assign(&mut self) -> Parts {
        let size = self.steps + 1;
        let mut parts = Parts { leave: alloc::vec![0; size], enter: alloc::vec![0; size] };
        // The row that has each column.
        let mut taken: Vec<Option<usize>> = alloc::vec![None; size];
        for row in 0..size {
            self.augment(row, &mut taken, &mut parts);
        }
        for (row, ways) in self.cost.iter_mut().enumerate() {
            for (column, cost) in ways.iter_mut().enumerate().filter(|(_, cost)| **cost < NO_WAY) {
                *cost -= parts.leave[row] + parts.enter[column];
            }
        }
        parts
    }

    /// Gives a row a column, along the cheapest chain of rows that change theirs.
    fn augment(&self, row: usize, taken: &mut [Option<usize>], parts: &mut Parts) {
        let size = self.steps + 1;
        let mut least = alloc::vec![i64::MAX; size];
        let mut from: Vec<Option<usize>> = alloc::vec![None; size];
        let mut seen = alloc::vec![false; size];
        let (mut now, mut last) = (row, None);
        loop {
            let mut next: Option<usize> = None;
            for column in (0..size).filter(|column| !seen[*column]) {
                let cost = self.cost[now][column] - parts.leave[now] - parts.enter[column];
                if cost < least[column] {
                    (least[column], from[column]) = (cost, last);
                }
                if next.is_none_or(|next| least[column] < least[next]) {
                    next = Some(column);
                }
            }
            let Some(next) = next else { return };
            let step = least[next];
            parts.leave[row] += step;
            for column in 0..size {
                if seen[column] {
                    parts.enter[column] -= step;
                    if let Some(row) = taken[column] {
                        parts.leave[row] += step;
                    }
                } else {
                    least[column] = least[column].saturating_sub(step);
                }
            }
            seen[next] = true;
            last = Some(next);
            match taken[next] {
                Some(other) => now = other,
                None => break,
            }
        }
        while let Some(column) = last {
            last = from[column];
            taken[column] = last.map_or(Some(row), |before| taken[before]);
        }
    }

    /// Counts what entering sets of steps costs.
    pub(super) fn cuts(&mut self) -> Vec<Cut> {
        let mut cuts = Vec::new();
        for target in 0..=self.steps {
            for _ in 0..MOST_CUTS {
                match self.cut(target) {
                    Some(cut) => cuts.push(cut),
                    None => break,
                }
            }
        }
        cuts
    }

    /// Counts what entering a set with this step, or with the end, costs; `None` if it can be entered at no cost.
    fn cut(&mut self, target: usize) -> Option<Cut> {
        let mut set = Set::new(self.steps);
        set.add(target, &self.followers);
        let mut next = 0;
        while let Some(to) = set.members.get(next).copied() {
            next += 1;
            if set.later[to] {
                continue;
            }
            for from in 0..=self.steps {
                if self.cost[from][to] == 0 && set.enters(from) {
                    if from == self.steps {
                        return None;
                    }
                    set.add(from, &self.followers);
                }
            }
        }
        let entries: Vec<usize> = set.members.iter().copied().filter(|to| !set.later[*to]).collect();
        let outside: Vec<usize> = (0..=self.steps).filter(|from| set.enters(*from)).collect();
        let ways = entries.iter().flat_map(|to| outside.iter().map(move |from| (*from, *to)));
        let cost = ways.clone().map(|(from, to)| self.cost[from][to]).filter(|cost| *cost < NO_WAY).min()?;
        if cost == 0 {
            return None;
        }
        for (from, to) in ways {
            if self.cost[from][to] < NO_WAY {
                self.cost[from][to] -= cost;
            }
        }
        set.members.retain(|step| *step < self.steps);
        Some(Cut { steps: set.members, cost })
    }
}

/// A set of steps, perhaps with the end.
struct Set {
    steps: usize,
    members: Vec<usize>,
    inside: Vec<bool>,
    /// Steps that come after some member, and the end.
    later: Vec<bool>,
}

impl Set {
    fn new(steps: usize) -> Self {
        let none = || alloc::vec![false; steps + 1];
        Self { steps, members: Vec::new(), inside: none(), later: none() }
    }

    fn add(&mut self, step: usize, followers: &[Vec<usize>]) {
        self.members.push(step);
        self.inside[step] = true;
        if let Some(later) = followers.get(step) {
            self.later[self.steps] = true;
            for then in later {
                self.later[*then] = true;
            }
        }
    }

    /// Whether an order may come from there when it enters the set first.
    fn enters(&self, from: usize) -> bool {
        from == self.steps || !(self.inside[from] || self.later[from])
    }
}

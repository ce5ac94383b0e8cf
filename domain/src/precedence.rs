//! Required order: pairs over numbered steps, their cycles and their closure.

use alloc::collections::VecDeque;
use alloc::vec::Vec;

/// Pairs `(first, then)` over the steps `0..size`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Precedence {
    next: Vec<Vec<usize>>,
}

impl Precedence {
    /// No pairs yet.
    pub fn new(size: usize) -> Self {
        Self { next: alloc::vec![Vec::new(); size] }
    }

    /// Makes it from pairs `(first, then)`; pairs beyond `size` are left out.
    pub fn from_pairs(size: usize, pairs: &[(usize, usize)]) -> Self {
        let mut all = Self::new(size);
        for &(first, then) in pairs {
            all.add(first, then);
        }
        all
    }

    /// Adds that `first` comes before `then`; adding it twice has no further effect, and a step beyond the size is left
    /// out.
    pub fn add(&mut self, first: usize, then: usize) {
        let size = self.next.len();
        if let Some(followers) = self.next.get_mut(first)
            && then < size
            && let Err(at) = followers.binary_search(&then)
        {
            followers.insert(at, then);
        }
    }

    /// Number of steps there are.
    pub fn size(&self) -> usize {
        self.next.len()
    }

    /// The pairs, sorted.
    pub fn pairs(&self) -> Vec<(usize, usize)> {
        let each = self.next.iter().enumerate();
        each.flat_map(|(first, followers)| followers.iter().map(move |then| (first, *then))).collect()
    }

    /// The shortest cycle through any of the steps given, beginning at its smallest step; of equal ones the first.
    pub fn shortest_cycle_through(&self, steps: &[usize]) -> Option<Vec<usize>> {
        let found = steps.iter().filter(|start| **start < self.size()).filter_map(|start| self.shortest_from(*start));
        let turned = found.map(|mut cycle| {
            let smallest = cycle.iter().enumerate().min_by_key(|(_, step)| **step).map_or(0, |(at, _)| at);
            cycle.rotate_left(smallest);
            cycle
        });
        turned.min_by(|one, other| (one.len(), one).cmp(&(other.len(), other)))
    }

    /// The shortest way from `start` back to itself, as its steps without the repeated end.
    fn shortest_from(&self, start: usize) -> Option<Vec<usize>> {
        let mut came_from: Vec<Option<usize>> = alloc::vec![None; self.size()];
        let mut queue = VecDeque::from([start]);
        while let Some(at) = queue.pop_front() {
            for &then in &self.next[at] {
                if then == start {
                    let mut cycle = alloc::vec![at];
                    let mut back = at;
                    while let Some(earlier) = came_from[back] {
                        cycle.push(earlier);
                        back = earlier;
                    }
                    cycle.reverse();
                    return Some(cycle);
                }
                if came_from[then].is_none() {
                    came_from[then] = Some(at);
                    queue.push_back(then);
                }
            }
        }
        None
    }

    fn reachable(&self, start: usize) -> Vec<bool> {
        let mut seen = alloc::vec![false; self.size()];
        let mut stack = alloc::vec![start];
        while let Some(at) = stack.pop() {
            for &then in &self.next[at] {
                if !seen[then] {
                    seen[then] = true;
                    stack.push(then);
                }
            }
        }
        seen
    }

    /// One shortest cycle for each strongly connected set of steps; empty if an order exists.
    pub fn cycles(&self) -> Vec<Vec<usize>> {
        let mut all: Vec<Vec<usize>> = (0..self.size()).filter_map(|start| self.shortest_from(start)).collect();
        all.sort_by_key(Vec::len);
        let mut kept: Vec<Vec<usize>> = Vec::new();
        let mut done = alloc::vec![false; self.size()];
        for cycle in all {
            let Some(&first) = cycle.first() else { continue };
            if done[first] {
                continue;
            }
            // Steps that lie on a common cycle reach each other: mark the whole set.
            let onward = self.reachable(first);
            for at in 0..self.size() {
                done[at] |= onward[at] && self.reachable(at)[first];
            }
            kept.push(cycle);
        }
        kept.sort();
        kept
    }

    /// For each step, every step that must come before it, directly or through others.
    pub fn ancestors(&self) -> Vec<Vec<usize>> {
        let mut all = alloc::vec![Vec::new(); self.size()];
        for first in 0..self.size() {
            for (then, reached) in self.reachable(first).into_iter().enumerate() {
                if reached {
                    all[then].push(first);
                }
            }
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_knot_gives_its_shortest_cycle() {
        let pairs = [(0, 1), (1, 2), (2, 0), (1, 0), (3, 4), (4, 5), (5, 3), (2, 3)];
        assert_eq!(Precedence::from_pairs(7, &pairs).cycles(), [[0, 1].to_vec(), [3, 4, 5].to_vec()]);
        assert_eq!(Precedence::from_pairs(2, &[(1, 1)]).cycles(), [[1]]);
        let turned = Precedence::from_pairs(4, &[(2, 1), (1, 3), (3, 2)]);
        assert_eq!(turned.shortest_cycle_through(&[0, 3]), Some([1, 3, 2].to_vec()));
        assert_eq!(turned.shortest_cycle_through(&[0]), None);
        assert!(Precedence::from_pairs(4, &[(0, 1), (1, 2), (0, 2), (3, 2)]).cycles().is_empty());
    }

    #[test]
    fn ancestors_pass_through_others() {
        let all = Precedence::from_pairs(4, &[(0, 1), (1, 2)]).ancestors();
        assert_eq!(all, [[].to_vec(), [0].to_vec(), [0, 1].to_vec(), [].to_vec()]);
    }
}

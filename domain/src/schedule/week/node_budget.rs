//! Limits of a search: nodes and time.

/// Limits of a search: its nodes, each of which places one step once, and the time that its caller allows.
#[derive(Clone, Copy)]
pub struct Budget<'a> {
    /// Maximum number of steps that are placed, tries included. If this is the only limit, the same input gives the
    /// same answer.
    pub nodes: u64,
    /// Called now and then; the search ends once it returns true. The domain knows no clock, but its caller does.
    pub stop: Option<&'a dyn Fn() -> bool>,
}

impl Budget<'_> {
    /// Enough for a shop's week: about a second of one core.
    pub const USUAL: Self = Self { nodes: 3_000_000, stop: None };

    /// A limit of that number of nodes.
    pub const fn of_nodes(nodes: u64) -> Self {
        Self { nodes, stop: None }
    }
}

/// Remaining budget of nodes while a search spends it.
pub(super) struct NodeBudget<'a> {
    left: u64,
    until_asked: u64,
    stop: Option<&'a dyn Fn() -> bool>,
}

/// Nodes between two checks whether to stop: a few milliseconds at most.
const ASKED_EVERY: u64 = 5_000;

impl<'a> NodeBudget<'a> {
    pub(super) fn new(budget: &Budget<'a>) -> Self {
        Self { left: budget.nodes, until_asked: ASKED_EVERY, stop: budget.stop }
    }

    pub(super) fn spend(&mut self, nodes: u64) {
        self.left = self.left.saturating_sub(nodes);
        self.until_asked = self.until_asked.saturating_sub(nodes);
        if self.until_asked == 0 {
            self.until_asked = ASKED_EVERY;
            if self.stop.is_some_and(|stop| stop()) {
                self.left = 0;
            }
        }
    }

    /// A part of this node budget; [`NodeBudget::charge`] deducts its use in the end.
    pub(super) fn part(&self, nodes: u64) -> Self {
        Self { left: nodes.min(self.left), until_asked: ASKED_EVERY, stop: self.stop }
    }

    /// Deducts the nodes that a part of `nodes` nodes has used, or everything if the caller asked the search to stop.
    pub(super) fn charge(&mut self, nodes: u64, part: &Self) {
        let spent = nodes.min(self.left).saturating_sub(part.left);
        self.left = self.left.saturating_sub(spent);
        self.spend(0);
    }

    pub(super) fn is_empty(&self) -> bool {
        self.left == 0
    }

    /// Remaining nodes.
    pub(super) fn left(&self) -> u64 {
        self.left
    }
}

//! What a search may spend.

use std::time::Instant;

use super::problem::Budget;
use crate::deadline::Deadline;

/// The budget has run out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Exhausted;

/// A result that the budget may have cut short.
pub(super) type Budgeted<T> = Result<T, Exhausted>;

/// Counts search nodes, and now and then looks at the clock and asks whether to stop.
#[derive(Clone)]
pub(super) struct Meter<'a> {
    pub(super) nodes: u64,
    most: u64,
    /// The node at which the search under way must stop: `most` at the latest.
    stop: u64,
    until: Option<Instant>,
    asked_to_stop: &'a dyn Fn() -> bool,
}

/// For searches that nobody can ask to stop.
pub(super) const NEVER: &dyn Fn() -> bool = &|| false;

impl<'a> Meter<'a> {
    const NODES_A_LOOK: u64 = 4096;

    pub(super) fn new(budget: &Budget, asked_to_stop: &'a dyn Fn() -> bool) -> Self {
        let time = budget.time_ms.map(std::time::Duration::from_millis);
        let until = time.and_then(|time| Instant::now().checked_add(time));
        Self { nodes: 0, most: budget.nodes, stop: budget.nodes, until, asked_to_stop }
    }

    /// The time at which work other than a search must end.
    pub(super) fn deadline(&self) -> Deadline<'a> {
        Deadline::at(self.until, self.asked_to_stop)
    }

    /// Counts other work as nodes, by its operations.
    pub(super) fn spend_operations(&mut self, operations: u64) -> Budgeted<()> {
        /// About so many operations take as long as one node.
        const A_NODE: u64 = 256;
        self.spend(operations / A_NODE)
    }

    /// Allows the next search so many nodes, or all that are left where that is fewer.
    pub(super) fn allow(&mut self, nodes: Option<u64>) {
        let stop = nodes.map_or(u64::MAX, |nodes| self.nodes.saturating_add(nodes));
        self.stop = self.most.min(stop);
    }

    /// The nodes that the search under way may still spend.
    pub(super) fn left(&self) -> u64 {
        self.stop.saturating_sub(self.nodes)
    }

    /// Whether a search stopped at its own allowance, and not at the end of the budget.
    pub(super) fn has_left(&self) -> bool {
        self.nodes <= self.most && !self.is_over()
    }

    /// Allows a side search so many nodes at the most.
    pub(super) fn aside(&mut self, nodes: u64) {
        self.most = self.most.min(self.nodes.saturating_add(nodes));
        self.stop = self.most;
    }

    /// A meter that allows one of so many equal parts of the nodes that are left.
    pub(super) fn part(&self, of: u32) -> Self {
        let nodes = self.most.saturating_sub(self.nodes) / u64::from(of);
        let most = self.nodes.saturating_add(nodes);
        let until = self.until.map(|until| {
            let now = Instant::now();
            now + until.saturating_duration_since(now) / of
        });
        Self { most, stop: most, until, ..self.clone() }
    }

    /// Adds the nodes that a part of this meter has spent.
    pub(super) fn spent_in_part(&mut self, part: &Meter<'_>) {
        self.nodes = part.nodes;
    }

    /// Adds what a copy of this meter has spent.
    pub(super) fn spent(&mut self, copy: &Meter<'_>) {
        (self.nodes, self.most, self.stop) = (copy.nodes, copy.most, copy.most);
    }

    /// Spends one node.
    pub(super) fn step(&mut self) -> Budgeted<()> {
        self.spend(1)
    }

    /// Counts other work as so many nodes.
    pub(super) fn spend(&mut self, nodes: u64) -> Budgeted<()> {
        let before = self.nodes;
        self.nodes = self.nodes.saturating_add(nodes);
        if self.nodes > self.stop {
            return Err(Exhausted);
        }
        if self.nodes / Self::NODES_A_LOOK > before / Self::NODES_A_LOOK && self.is_over() {
            // Whatever is tried next stops at once too.
            self.most = self.nodes - 1;
            return Err(Exhausted);
        }
        Ok(())
    }

    fn is_over(&self) -> bool {
        self.until.is_some_and(|until| Instant::now() >= until) || (self.asked_to_stop)()
    }
}

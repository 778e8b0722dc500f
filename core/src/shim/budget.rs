//! What a search may spend.

use std::time::Instant;

use super::problem::Budget;

/// The budget has run out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Exhausted;

/// A result that the budget may have cut short.
pub(super) type Budgeted<T> = Result<T, Exhausted>;

/// Counts search nodes, and looks at the clock now and then.
#[derive(Debug)]
pub(super) struct Meter {
    pub(super) nodes: u64,
    most: u64,
    until: Option<Instant>,
}

impl Meter {
    const NODES_A_LOOK: u64 = 4096;

    pub(super) fn new(budget: &Budget) -> Self {
        let time = budget.time_ms.map(std::time::Duration::from_millis);
        let until = time.and_then(|time| Instant::now().checked_add(time));
        Self { nodes: 0, most: budget.nodes, until }
    }

    /// Spends one node.
    pub(super) fn step(&mut self) -> Budgeted<()> {
        self.nodes += 1;
        if self.nodes > self.most {
            return Err(Exhausted);
        }
        if self.nodes.is_multiple_of(Self::NODES_A_LOOK)
            && self.until.is_some_and(|until| Instant::now() >= until)
        {
            return Err(Exhausted);
        }
        Ok(())
    }
}

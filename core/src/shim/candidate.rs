//! A stack that can still be part of a plan.

/// So many candidates can be read through in the time of one node.
pub(super) const LISTED_A_NODE: u64 = 16;

/// A stack under one support.
#[derive(Debug, Clone, Copy)]
pub(super) struct Candidate {
    /// Height of the support's top on it.
    pub(super) top: i64,
    /// Scaled cost plus multipliers.
    pub(super) weight: i64,
    pub(super) cost: i64,
    /// Bit k for kind k.
    pub(super) kinds: u128,
    /// Where its counts begin: the same for stacks of a support that differ only in the setting of a piece.
    pub(super) counts: usize,
}

//! What a support starts from.

use crate::shim::{OnlyUnder, Placed};

/// What a support starts from, kind by kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Start {
    /// Pieces in place.
    pub(super) in_place: Vec<u32>,
    /// Whether it may have the kind.
    pub(super) allows: Vec<bool>,
}

impl Start {
    pub(super) fn new(
        kinds: &[usize],
        placed: Option<&Placed>,
        only_under: &[OnlyUnder],
        support: usize,
    ) -> Self {
        let in_place = |&kind: &usize| {
            let stack = placed.map_or(&[][..], |placed| &placed.stacks[support]);
            stack.iter().filter(|&&piece| piece == kind).count() as u32
        };
        let allows = |&kind: &usize| {
            let mut only = only_under.iter().filter(|only| only.kind == kind);
            only.all(|only| only.supports.contains(&support))
        };
        Self {
            in_place: kinds.iter().map(in_place).collect(),
            allows: kinds.iter().map(allows).collect(),
        }
    }

    pub(super) fn pieces(&self) -> u32 {
        self.in_place.iter().sum()
    }
}

//! A plan in the terms of the model.

use std::cmp::Ordering;

use super::candidate::Candidate;
use super::lists::{self, Lists};

/// Pieces of each kind under each support, and what follows from them.
#[derive(Debug, Clone)]
pub(super) struct Stacking {
    /// Of one support after the other.
    pub(super) counts: Vec<u32>,
    pub(super) cost: i64,
    pub(super) tops: Vec<i64>,
    pub(super) kinds: u128,
}

impl Stacking {
    pub(super) fn new(lists: &Lists, plan: &[Candidate]) -> Self {
        let kinds = plan.first().map_or(0, |candidate| lists.counts(candidate).len());
        let mut counts = Vec::with_capacity(plan.len() * kinds);
        plan.iter().for_each(|candidate| counts.extend_from_slice(lists.counts(candidate)));
        Self {
            counts,
            cost: plan.iter().map(|candidate| candidate.cost).sum(),
            tops: plan.iter().map(|candidate| candidate.top).collect(),
            kinds: plan.iter().fold(0, |kinds, candidate| kinds | candidate.kinds),
        }
    }

    /// Pieces of each kind under a support.
    pub(super) fn stack(&self, support: usize) -> &[u32] {
        let kinds = self.counts.len() / self.tops.len();
        &self.counts[support * kinds..(support + 1) * kinds]
    }

    /// The same under each support.
    pub(super) fn stacks(&self) -> impl Iterator<Item = &[u32]> {
        (0..self.tops.len()).map(|support| self.stack(support))
    }

    /// The difference between the highest and the lowest top.
    pub(super) fn range(&self) -> i64 {
        let highest = self.tops.iter().max().copied().unwrap_or(0);
        highest - self.tops.iter().min().copied().unwrap_or(0)
    }

    /// The tie rule between two plans: the first difference, from the lowest support up, decides.
    pub(super) fn prefer(&self, other: &Self) -> Ordering {
        let pairs = self.stacks().zip(&self.tops).zip(other.stacks().zip(&other.tops));
        let mut by_stack =
            pairs.map(|((a, top), (b, other))| lists::prefer(a, b).then(top.cmp(other)));
        by_stack.find(|order| order.is_ne()).unwrap_or(Ordering::Equal)
    }
}

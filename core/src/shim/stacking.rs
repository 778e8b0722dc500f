//! A plan in the terms of the model.

use std::cmp::Ordering;

use super::candidate::Candidate;
use super::lists::{self, Lists};

/// Pieces of each kind under each support, and what follows from them.
#[derive(Debug, Clone)]
pub(super) struct Stacking {
    pub(super) counts: Vec<Vec<u32>>,
    pub(super) cost: i64,
    pub(super) tops: Vec<i64>,
    pub(super) kinds: u128,
}

impl Stacking {
    pub(super) fn new(lists: &Lists, plan: &[Candidate]) -> Self {
        Self {
            counts: plan.iter().map(|candidate| lists.counts(candidate).to_vec()).collect(),
            cost: plan.iter().map(|candidate| candidate.cost).sum(),
            tops: plan.iter().map(|candidate| candidate.top).collect(),
            kinds: plan.iter().fold(0, |kinds, candidate| kinds | candidate.kinds),
        }
    }

    /// The difference between the highest and the lowest top.
    pub(super) fn range(&self) -> i64 {
        let highest = self.tops.iter().max().copied().unwrap_or(0);
        highest - self.tops.iter().min().copied().unwrap_or(0)
    }

    /// The tie rule between two plans: the first difference, from the lowest support up, decides.
    pub(super) fn prefer(&self, other: &Self) -> Ordering {
        let pairs = self.counts.iter().zip(&self.tops).zip(other.counts.iter().zip(&other.tops));
        let mut by_stack =
            pairs.map(|((a, top), (b, other))| lists::prefer(a, b).then(top.cmp(other)));
        by_stack.find(|order| order.is_ne()).unwrap_or(Ordering::Equal)
    }
}

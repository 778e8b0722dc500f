//! The stacks that can still be part of a plan, support by support.

use std::cmp::Ordering;
use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::budget::{Budgeted, Exhausted, Meter};
use super::candidate::Candidate;
use super::model::Model;
use super::split::Split;
use super::stacks::{Stacks, Weights};

/// Candidates of every support.
#[derive(Debug, Clone)]
pub(super) struct Lists {
    pub(super) of: Vec<Vec<Candidate>>,
    /// Shared by what is left of the lists for other costs, windows and kinds.
    counts: Rc<Vec<u32>>,
    kinds: usize,
    /// A lower bound on the weight of the stacks of each support that are not listed, `i64::MAX`
    /// where all are.
    pub(super) floors: Vec<i64>,
    /// The best split of the weights among the spans so far.
    pub(super) split: Option<Split>,
    /// The nodes that it took to list them.
    pub(super) nodes: u64,
}

impl Lists {
    /// The most stacks and the most counts to list: 32 megabytes each.
    const MOST_STACKS: usize = 1 << 19;
    const MOST_COUNTS: usize = 1 << 23;
    /// And so many more stacks for each support, since a large floor needs some for each.
    const STACKS_A_SUPPORT: usize = 64;
    /// With fewer supports it does not pay to look for stacks of the same pieces under another.
    const MANY: usize = 256;

    /// All stacks that bring their support's top into [low, high] and weigh at most `slack` more
    /// than the lightest (`least`) of the support.
    pub(super) fn collect(
        model: &Model,
        stacks: &mut Stacks<'_>,
        weights: &Weights,
        [low, high]: [i64; 2],
        least: &[i64],
        slack: i64,
        meter: &mut Meter,
    ) -> Budgeted<Self> {
        let kinds = model.thickness.len();
        let mut lists = Self {
            of: Vec::with_capacity(least.len()),
            counts: Rc::default(),
            kinds,
            floors: Vec::with_capacity(least.len()),
            split: None,
            nodes: 0,
        };
        let before = meter.nodes;
        let mut all: Vec<u32> = Vec::new();
        // Of many supports most have stacks of the same pieces.
        let many = least.len() >= Self::MANY;
        let mut known: FxHashMap<Box<[u32]>, usize> = FxHashMap::default();
        let mut stacks_left = Self::most(least.len());
        let most_counts = Self::MOST_COUNTS + Self::STACKS_A_SUPPORT * least.len() * kinds;
        for (support, least) in least.iter().enumerate() {
            let mut list: Vec<Candidate> = Vec::new();
            let cap = least.saturating_add(slack);
            let cut = stacks.visit(
                support,
                [low, high],
                cap,
                weights,
                meter,
                &mut |counts, top, weight| {
                    if !model.admits(support, counts) {
                        return cap;
                    }
                    let (cost, kinds) = model.cost(support, counts, top);
                    let last = list.last().map(|last| last.counts);
                    let last = last.filter(|&at| all[at..at + counts.len()] == *counts);
                    let alike = last.or_else(|| known.get(counts).copied());
                    let at = alike.unwrap_or_else(|| {
                        all.extend_from_slice(counts);
                        let at = all.len() - counts.len();
                        if many {
                            known.insert(counts.into(), at);
                        }
                        at
                    });
                    list.push(Candidate { top, weight, cost, kinds, counts: at });
                    if list.len() < stacks_left && all.len() < most_counts { cap } else { -1 }
                },
            )?;
            lists.floors.push(cut);
            stacks_left = stacks_left.saturating_sub(list.len());
            if all.len() >= most_counts || stacks_left == 0 {
                return Err(Exhausted);
            }
            list.shrink_to_fit();
            lists.of.push(list);
        }
        all.shrink_to_fit();
        lists.counts = Rc::new(all);
        lists.nodes = meter.nodes - before;
        Ok(lists)
    }

    /// Those with tops in a window and no other kinds than these.
    pub(super) fn within(&self, [low, high]: [i64; 2], kinds: u128) -> Self {
        let mut lists = self.clone();
        for list in &mut lists.of {
            list.retain(|c| (low..=high).contains(&c.top) && c.kinds & !kinds == 0);
        }
        lists
    }

    /// How many stacks are listed at the most.
    pub(super) fn most(supports: usize) -> usize {
        Self::MOST_STACKS + Self::STACKS_A_SUPPORT * supports
    }

    /// How many stacks are listed.
    pub(super) fn len(&self) -> usize {
        self.of.iter().map(Vec::len).sum()
    }

    /// Weighs all stacks by other multipliers. Every stack that a plan within this cost can have
    /// must be listed, since the weights of others are not known.
    pub(super) fn weigh(&mut self, model: &Model, multipliers: &[i64]) {
        self.floors.fill(i64::MAX);
        for candidate in self.of.iter_mut().flatten() {
            let counts = &self.counts[candidate.counts..candidate.counts + self.kinds];
            let worth = counts.iter().zip(multipliers);
            let worth: i64 = worth.map(|(&count, multiplier)| i64::from(count) * multiplier).sum();
            candidate.weight = candidate.cost * model.scale + worth;
        }
    }

    /// Pieces of each kind in a candidate.
    pub(super) fn counts(&self, candidate: &Candidate) -> &[u32] {
        &self.counts[candidate.counts..candidate.counts + self.kinds]
    }

    /// The tie rule between two stacks of one support.
    pub(super) fn prefer(&self, a: &Candidate, b: &Candidate) -> Ordering {
        prefer(self.counts(a), self.counts(b)).then(a.top.cmp(&b.top))
    }

    /// Every choice of one candidate for each support.
    #[cfg(test)]
    pub(super) fn choices(&self) -> Vec<Vec<Candidate>> {
        let mut all = vec![Vec::new()];
        for list in &self.of {
            let longer = |plan: &Vec<Candidate>| {
                let plan = plan.clone();
                list.iter().map(move |candidate| [&plan[..], &[*candidate]].concat())
            };
            all = all.iter().flat_map(longer).collect();
        }
        all
    }
}

/// The tie rule between two stacks by their pieces of each kind: fewer pieces first, then more of
/// the thickest kind, of the next, and so on. Of stacks of the same pieces the lower one goes first.
pub(super) fn prefer(a: &[u32], b: &[u32]) -> Ordering {
    a.iter().sum::<u32>().cmp(&b.iter().sum()).then_with(|| b.cmp(a))
}

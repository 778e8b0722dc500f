//! What stacks cost: the goals that add up over the supports, as one number.

use crate::shim::{OnlyUnder, Order, Placed, PlanOptions};
use crate::stock::Shim;

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

/// What it costs to put pieces in, take them out and lift supports for it: one number, in which the
/// first goal outweighs the second.
#[derive(Debug)]
pub(super) struct Costs {
    /// A piece of each kind that is put in; one that is taken out costs 1.
    put_in: Vec<u64>,
    /// A support that is lifted.
    lift: u64,
    /// What 1 of the first goal comes to.
    pub(super) unit: u64,
}

impl Costs {
    /// For the fewest pieces, the fewest supports lifted, which come first where pieces are in place, or
    /// the lowest price.
    pub(super) fn new(
        kinds: &[usize],
        stock: &[Shim],
        options: &PlanOptions,
        placed: Option<&Placed>,
        supports: usize,
    ) -> Self {
        let in_place: usize = placed.iter().flat_map(|it| &it.stacks).map(Vec::len).sum();
        // More than any plan moves.
        let end = (supports * PlanOptions::MOST_PIECES as usize + in_place + 1) as u64;
        let alike = vec![1; kinds.len()];
        match options.order {
            Order::Cheapest => {
                let price = |&kind: &usize| u64::from(stock[kind].price) * end + 1;
                Self { put_in: kinds.iter().map(price).collect(), lift: 0, unit: end }
            }
            order if placed.is_some() || order == Order::FewestLifts => {
                Self { put_in: alike, lift: end, unit: end }
            }
            _ => Self { put_in: alike, lift: 0, unit: 1 },
        }
    }

    /// What is moved for so many pieces of a kind, where so many are in place.
    pub(super) fn moved(&self, kind: usize, in_place: u32, count: u32) -> u64 {
        match count.checked_sub(in_place) {
            Some(more) => u64::from(more) * self.put_in[kind],
            None => u64::from(in_place - count),
        }
    }

    /// A support for which so much is moved.
    pub(super) fn of(&self, moved: u64) -> u64 {
        if moved > 0 { moved + self.lift } else { 0 }
    }

    /// The least that a support costs with so many pieces, where so many are in place.
    pub(super) fn least(&self, pieces: u32, in_place: u32) -> u64 {
        let each = self.put_in.iter().min().copied().unwrap_or(1);
        self.of(u64::from(pieces.saturating_sub(in_place)) * each)
    }

    /// The most pieces that a support can have for a cost, where so many are in place.
    pub(super) fn most_pieces(&self, cost: u64, in_place: u32) -> u32 {
        let each = self.put_in.iter().min().copied().unwrap_or(1);
        let more = cost.saturating_sub(self.lift) / each;
        in_place.saturating_add(u32::try_from(more).unwrap_or(u32::MAX))
    }
}

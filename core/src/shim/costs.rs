//! What pieces and lifts cost: the goals that add up over the supports, as one number.

use super::problem::Order;

/// What it costs to put pieces in, take them out and lift supports for it: one number, in which the
/// first goal outweighs the second.
#[derive(Debug, Clone)]
pub(crate) struct Costs {
    /// A piece of each kind that is put in.
    pub(crate) piece: Vec<i64>,
    /// A support that is lifted.
    pub(crate) lift: i64,
    /// What 1 of the first goal comes to.
    pub(crate) unit: i64,
}

impl Costs {
    /// A piece that is taken out, or set anew, where it costs to put one in.
    pub(crate) const MOVE: i64 = 1;

    /// Of plans that move fewer than `end` pieces of kinds at these prices. Where pieces are `placed`,
    /// supports lifted come first, unless the price does.
    pub(crate) fn new(order: Order, placed: bool, prices: &[i64], end: i64) -> Self {
        let alike = vec![1; prices.len()];
        match order {
            Order::Cheapest => {
                let cost = |price: &i64| price.saturating_mul(end).saturating_add(1);
                Self { piece: prices.iter().map(cost).collect(), lift: 0, unit: end }
            }
            Order::FewestPieces | Order::Flattest if !placed => {
                Self { piece: alike, lift: 0, unit: 1 }
            }
            Order::FewestPieces | Order::Flattest | Order::FewestLifts => {
                Self { piece: alike, lift: end, unit: end }
            }
        }
    }

    /// What is moved for so many pieces of a kind, where so many were.
    pub(crate) fn moved(&self, kind: usize, before: u32, count: u32) -> i64 {
        i64::from(count.saturating_sub(before)) * self.piece[kind]
            + i64::from(before.saturating_sub(count)) * Self::MOVE
    }

    /// A support for which so much is moved.
    pub(crate) fn of(&self, moved: i64) -> i64 {
        if moved > 0 { moved + self.lift } else { 0 }
    }
}

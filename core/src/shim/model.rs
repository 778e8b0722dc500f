//! A problem in the form that the search works on: whole numbers, in an order of its own.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::problem::{Order, PlanOptions, ShimProblem};
use crate::error::{Error, ProblemKind};
use crate::length;
use crate::limits::{LimitKind, Span};

/// A problem with supports from the lowest to the highest and kinds from the thickest to the
/// thinnest. Heights are in nanometres above the highest support, so none is above zero.
#[derive(Debug)]
pub(super) struct Model {
    /// Index of each support in the problem.
    pub(super) supports: Vec<usize>,
    /// Index of each kind in the stock.
    pub(super) kinds: Vec<usize>,
    pub(super) heights: Vec<i64>,
    pub(super) thickness: Vec<i64>,
    /// Pieces on hand; `None` where there are more than the supports could take.
    pub(super) counts: Vec<Option<u32>>,
    /// What the first goals add up: a piece of each kind costs this much,
    pub(super) piece_cost: Vec<i64>,
    /// and a support that is lifted this much more.
    pub(super) lift_cost: i64,
    /// Divides a cost down to the first goal's own unit.
    pub(super) cost_unit: i64,
    pub(super) max_pieces: u32,
    pub(super) max_stack: i64,
    /// One of these supports must stay bare.
    pub(super) anchors: Vec<bool>,
    /// Whether only the last one, the highest, may: then it has no other stack.
    pub(super) lone_anchor: bool,
    /// The difference allowed over all supports.
    pub(super) width: i64,
    /// Further spans: members in the order of this model, and the difference allowed.
    pub(super) spans: Vec<(Vec<usize>, i64)>,
    /// More than any plan costs.
    pub(super) cost_end: i64,
    /// Scale of the bounds: a cost of 1 counts as this much, so that multipliers can be fractions.
    pub(super) scale: i64,
    /// No multiplier is larger, so that sums stay in range.
    pub(super) multiplier_end: i64,
    /// A step of cost below which it does not pay to search again.
    pub(super) stride: i64,
}

impl Model {
    /// The problem as it is asked.
    ///
    /// # Errors
    /// Limits that leave two supports without a tie; prices whose sums go beyond 2⁶⁰.
    pub(super) fn new(problem: &ShimProblem) -> Result<Self, Error> {
        Self::within(problem, problem.spans(), problem.options.order)
    }

    /// The problem without its limits: any plan will do that is no worse than no shims at all.
    ///
    /// # Errors
    /// As for [`Model::new`].
    pub(super) fn without_limits(problem: &ShimProblem) -> Result<Self, Error> {
        let width = length::range(problem.supports.iter().map(|support| support.height));
        let members = (0..problem.supports.len()).collect();
        Self::within(
            problem,
            vec![Span { limit: LimitKind::Overall, members, width }],
            Order::Flattest,
        )
    }

    fn within(problem: &ShimProblem, limits: Vec<Span>, order: Order) -> Result<Self, Error> {
        let heights = |at: usize| problem.supports[at].height.nm();
        let mut supports: Vec<usize> = (0..problem.supports.len()).collect();
        supports.sort_by_key(|&at| heights(at));
        let mut place = vec![0; supports.len()];
        for (at, &support) in supports.iter().enumerate() {
            place[support] = at;
        }
        let highest = supports.last().map_or(0, |&at| heights(at));
        let relative: Vec<i64> = supports.iter().map(|&at| heights(at) - highest).collect();

        let mut spans = Vec::new();
        let mut overall = None;
        for span in limits {
            if span.limit == LimitKind::Overall {
                overall = Some(span.width.nm());
            } else {
                let members: Vec<usize> = span.members.iter().map(|&at| place[at]).collect();
                spans.push((members, span.width.nm()));
            }
        }
        let width = match overall {
            Some(width) => width,
            None => width_of_ties(supports.len(), &spans)?,
        };
        let depth = relative.first().map_or(0, |lowest| -lowest);
        spans.retain(|(_, span)| *span < width.min(depth.saturating_add(width)));

        let stock = &problem.stock;
        let mut kinds: Vec<usize> =
            (0..stock.len()).filter(|&kind| stock[kind].count != Some(0)).collect();
        kinds.sort_by_key(|&kind| (Reverse(stock[kind].thickness), kind));
        let thickness: Vec<i64> = kinds.iter().map(|&kind| stock[kind].thickness.nm()).collect();
        let max_stack = problem.options.max_stack.map_or(i64::MAX, |length| length.nm());
        let max_pieces = problem
            .options
            .max_pieces
            .map_or(PlanOptions::MOST_PIECES, |most| most.min(PlanOptions::MOST_PIECES));
        // What the supports could take of a thickness at the most.
        let most = |thickness: i64| -> i64 {
            let of =
                |height: &i64| ((width - height).min(max_stack) / thickness).min(max_pieces.into());
            relative.iter().map(of).fold(0, i64::saturating_add)
        };
        let counts: Vec<Option<u32>> = kinds
            .iter()
            .zip(&thickness)
            .map(|(&kind, &thickness)| {
                stock[kind].count.filter(|&count| i64::from(count) < most(thickness))
            })
            .collect();
        let pieces_of = |(count, thickness): (&Option<u32>, &i64)| {
            count.map_or_else(|| most(*thickness), i64::from)
        };
        let pieces_end = counts
            .iter()
            .zip(&thickness)
            .map(pieces_of)
            .fold(0, i64::saturating_add)
            .min(thickness.last().map_or(0, |&thinnest| most(thinnest)))
            .saturating_add(1);

        let stride = match order {
            Order::Cheapest => {
                let prices = kinds.iter().map(|&kind| i64::from(stock[kind].price));
                let least = prices.filter(|&price| price > 0).min().unwrap_or(1);
                (least * pieces_end / 4).max(1)
            }
            _ => 1,
        };
        let price = |kind: &usize| i64::from(stock[*kind].price);
        let dearest = kinds.iter().map(price).max().unwrap_or(0);
        let (piece_cost, lift_cost, cost_unit) = match order {
            Order::FewestPieces | Order::Flattest => (vec![1; kinds.len()], 0, 1),
            Order::FewestLifts => (vec![1; kinds.len()], pieces_end, pieces_end),
            Order::Cheapest => {
                let cost = |kind: &usize| price(kind).saturating_mul(pieces_end).saturating_add(1);
                (kinds.iter().map(cost).collect(), 0, pieces_end)
            }
        };
        let most_lifts = lift_cost.saturating_mul(relative.len() as i64);
        let most_price = match order {
            Order::Cheapest => dearest.saturating_mul(pieces_end).saturating_mul(pieces_end),
            _ => 0,
        };
        let cost_end = pieces_end.saturating_add(most_lifts).saturating_add(most_price);
        let sum_end = cost_end.saturating_mul(relative.len() as i64);
        if sum_end > 1 << 60 {
            let got = format!("a total of up to {cost_end}");
            let expected = "prices and numbers of pieces whose sums stay below 2^60";
            return Err(Error::new(ProblemKind::Value, "stock.price", got, expected));
        }
        let scale = ((1 << 60) / sum_end).clamp(1, 1 << 10);
        let limited = counts.iter().flatten().map(|&count| i64::from(count)).sum::<i64>().max(1);
        let multiplier_end = (1 << 60) / limited.saturating_mul(relative.len() as i64);

        let kept =
            |height: i64| if problem.options.keep_highest { height == 0 } else { height >= -width };
        let anchors: Vec<bool> = relative.iter().map(|&height| kept(height)).collect();
        Ok(Self {
            lone_anchor: anchors.iter().filter(|&&anchor| anchor).count() == 1,
            anchors,
            supports,
            kinds,
            heights: relative,
            thickness,
            counts,
            piece_cost,
            lift_cost,
            cost_unit,
            max_pieces,
            max_stack,
            width,
            spans,
            cost_end,
            scale,
            multiplier_end,
            stride,
        })
    }

    /// What a stack costs, and its kinds as bits.
    pub(super) fn cost(&self, counts: &[u32]) -> (i64, u128) {
        let (mut cost, mut kinds) = (0, 0);
        for (kind, &count) in counts.iter().enumerate() {
            if count > 0 {
                cost += i64::from(count) * self.piece_cost[kind];
                kinds |= 1 << kind;
            }
        }
        (if kinds == 0 { cost } else { cost + self.lift_cost }, kinds)
    }

    /// Whether the whole stock is thick enough to bring every support up to a level.
    pub(super) fn stock_fills(&self, level: i64) -> bool {
        let need: i128 =
            self.heights.iter().map(|height| i128::from((level - height).max(0))).sum();
        let of = |(thickness, count): (&i64, &Option<u32>)| {
            count.map_or(i128::MAX / 256, |count| i128::from(*thickness) * i128::from(count))
        };
        need <= self.thickness.iter().zip(&self.counts).map(of).sum()
    }

    /// What the stock is worth at these multipliers.
    pub(super) fn worth(&self, multipliers: &[i64]) -> i64 {
        let of = |(multiplier, count): (&i64, &Option<u32>)| {
            count.map_or(0, |count| multiplier * i64::from(count))
        };
        multipliers.iter().zip(&self.counts).map(of).sum()
    }

    /// How far beyond the least possible cost a search looks that was so often in vain.
    pub(super) fn reach(&self, failures: u32) -> i64 {
        match failures {
            0..2 => 0,
            _ => self.stride << (failures - 2).min(20),
        }
    }

    /// The least cost that a scaled lower bound leaves.
    pub(super) fn unscaled(&self, bound: i64) -> i64 {
        bound.div_euclid(self.scale) + i64::from(bound.rem_euclid(self.scale) > 0)
    }
}

/// For each support the spans that it is a member of.
pub(super) fn spans_of(count: usize, spans: &[(Vec<usize>, i64)]) -> Vec<Vec<usize>> {
    let mut spans_of = vec![Vec::new(); count];
    for (span, (members, _)) in spans.iter().enumerate() {
        members.iter().for_each(|&member| spans_of[member].push(span));
    }
    spans_of
}

/// How far apart any two supports can be when only lines and joints tie them: the longest of the
/// shortest ways from one to another, a step within a span being as long as its width.
fn width_of_ties(count: usize, spans: &[(Vec<usize>, i64)]) -> Result<i64, Error> {
    /// With more supports than this, one way doubled bounds all the others well enough.
    const ALL_PAIRS: usize = 256;
    let sources = if count <= ALL_PAIRS { count } else { 1 };
    let spans_of = spans_of(count, spans);
    let mut width = 0;
    for from in 0..sources {
        let mut ways = vec![i64::MAX; count];
        ways[from] = 0;
        // Dijkstra's algorithm; a span is gone through once, from the member reached first.
        let mut open = vec![true; spans.len()];
        let mut heap = BinaryHeap::from([Reverse((0_i64, from))]);
        while let Some(Reverse((way, at))) = heap.pop() {
            for &span in &spans_of[at] {
                if std::mem::replace(&mut open[span], false) {
                    let (members, width) = &spans[span];
                    let end = way.saturating_add(*width);
                    for &member in members {
                        if end < ways[member] {
                            ways[member] = end;
                            heap.push(Reverse((end, member)));
                        }
                    }
                }
            }
        }
        let apart = ways.iter().filter(|&&way| way == i64::MAX).count();
        if apart > 0 {
            let got = format!("{apart} of {count} supports on no line or joint with the others");
            let expected = "limits that tie every support to the others, or an overall limit";
            return Err(Error::new(ProblemKind::Value, "limits", got, expected));
        }
        width = ways.into_iter().fold(width, i64::max);
    }
    let width: i64 = if sources < count { width.saturating_mul(2) } else { width };
    Ok(width.min(i64::MAX / 8))
}

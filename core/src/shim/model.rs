//! A problem in the form that the search works on: whole numbers, in an order of its own.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::costs::Costs;
use super::pieces::Pieces;
use super::placed;
use super::problem::{Order, PlanOptions, ShimProblem};
use crate::error::{Error, ProblemKind};
use crate::length::{self, Length};
use crate::limits::{LimitKind, Span};
use crate::stock::Shim;
use crate::tilt::{self, Tilt};

/// A problem with supports from the lowest to the highest, and kinds from the thickest to the
/// thinnest, adjustable ones after the others. Heights are without shims, in nanometres above the
/// highest support, so none is above zero.
#[derive(Debug)]
pub(super) struct Model {
    /// Index of each support in the problem.
    pub(super) supports: Vec<usize>,
    /// Index of each kind in the stock.
    pub(super) kinds: Vec<usize>,
    pub(super) heights: Vec<i64>,
    /// Thickness under load; of an adjustable kind the greatest.
    pub(super) thickness: Vec<i64>,
    /// Kinds from this one on are adjustable,
    pub(super) adjustable: usize,
    /// and have these settings.
    pub(super) settings: Vec<Settings>,
    /// The part of all plans that is searched, by indices of the problem; all where there is none.
    pub(super) pieces: Option<Pieces>,
    /// Kinds that each support may have, as bits; empty where all may have all.
    allowed: Vec<u128>,
    /// What stands under each support; empty in a first pass.
    homes: Vec<Home>,
    /// Pieces on hand and in place; `None` where there are more than the supports could take.
    pub(super) counts: Vec<Option<u32>>,
    /// The place value of a piece of each kind in the number that stands for the stock used. `None`
    /// where that number does not fit into 128 bits.
    pub(super) radix: Option<Vec<u128>>,
    /// Kinds by cost per thickness.
    pub(super) by_density: Vec<usize>,
    /// What the first goals add up.
    pub(super) costs: Costs,
    pub(super) max_pieces: u32,
    pub(super) max_stack: i64,
    /// One of these supports must stay bare.
    pub(super) anchors: Vec<bool>,
    /// The highest of them: none only above a slope that brings all too low.
    pub(super) anchor: Option<usize>,
    /// The only one, if it is that: then it has no other stack.
    pub(super) lone_anchor: Option<usize>,
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

/// The settings of an adjustable kind: its least thickness, and the step to the next.
#[derive(Debug, Clone, Copy)]
pub(super) struct Settings {
    pub(super) least: i64,
    pub(super) step: i64,
}

/// A stack in place.
#[derive(Debug)]
pub(super) struct Home {
    /// Pieces of each kind.
    pub(super) counts: Vec<u32>,
    pub(super) pieces: u32,
    /// What it lifts by,
    pub(super) lift: i64,
    /// and how much of that is its adjustable piece.
    pub(super) setting: i64,
}

impl Model {
    /// With more supports than this, twice the longest path from one support is bound enough for
    /// how far apart ties let any two be.
    pub(super) const ALL_PAIRS: usize = 256;

    /// The problem without its limits: any plan will do that is no worse than no shims at all.
    pub(super) fn no_limits(problem: &ShimProblem) -> Vec<Span> {
        let width = length::range(problem.bare_heights().into_iter());
        let members = (0..problem.supports.len()).collect();
        vec![Span { limit: LimitKind::Overall, members, width }]
    }

    /// The problem with these limits on heights above a sloping target.
    ///
    /// # Errors
    /// Limits that leave two supports without a tie; prices whose sums go beyond 2⁶⁰.
    pub(super) fn above(
        problem: &ShimProblem,
        tilt: Tilt,
        limits: Vec<Span>,
        order: Order,
    ) -> Result<Self, Error> {
        let bare = problem.bare_heights();
        let top = bare.iter().max().copied().unwrap_or_default();
        let stands_highest: Vec<bool> = bare.iter().map(|&height| height == top).collect();
        let bare = tilt::above(tilt, &problem.places(), &bare);
        let mut supports: Vec<usize> = (0..bare.len()).collect();
        supports.sort_by_key(|&at| bare[at]);
        let mut place = vec![0; supports.len()];
        for (at, &support) in supports.iter().enumerate() {
            place[support] = at;
        }
        let highest = supports.last().map_or(Length::ZERO, |&at| bare[at]);
        let heights: Vec<i64> = supports.iter().map(|&at| (bare[at] - highest).nm()).collect();

        let (width, spans) = width_and_spans(limits, &place, &heights)?;

        let kinds = Kinds::new(problem);
        let options = &problem.options;
        let max_stack = options.max_stack.map_or(i64::MAX, |length| length.nm());
        let most_pieces = PlanOptions::MOST_PIECES;
        let max_pieces = options.max_pieces.map_or(most_pieces, |most| most.min(most_pieces));
        // What the supports could take of a thickness at the most.
        let most = |thickness: i64| -> i64 {
            let of =
                |height: &i64| ((width - height).min(max_stack) / thickness).min(max_pieces.into());
            heights.iter().map(of).fold(0, i64::saturating_add)
        };
        let (counts, pieces_end) = kinds.counts(&problem.stock, heights.len(), most);

        let prices: Vec<i64> =
            kinds.of.iter().map(|&kind| i64::from(problem.stock[kind].price)).collect();
        let costs = Costs::new(order, problem.placed.is_some(), &prices, pieces_end);
        let ends = Ends::new(&costs, order, &prices, pieces_end, heights.len())?;
        let scale = ((1 << 60) / ends.sum_end).clamp(1, 1 << 10);
        let limited = counts.iter().flatten().map(|&count| i64::from(count)).sum::<i64>().max(1);
        let multiplier_end = (1 << 60) / limited.saturating_mul(heights.len() as i64);

        let homes = homes(problem, &supports, &kinds.of);
        let kept = |(at, &height): (usize, &i64)| {
            let bare = homes.get(at).is_some_and(|home: &Home| home.pieces == 0);
            let highest = stands_highest[supports[at]];
            (!problem.options.keep_highest || highest || bare) && height >= -width
        };
        let anchors: Vec<bool> = heights.iter().enumerate().map(kept).collect();
        let allowed = allowed(problem, &supports, &kinds.of);
        let anchor = anchors.iter().rposition(|&anchor| anchor);
        let lone = anchors.iter().filter(|&&anchor| anchor).count() == 1;
        Ok(Self {
            lone_anchor: anchor.filter(|_| lone),
            anchor,
            anchors,
            supports,
            kinds: kinds.of,
            heights,
            radix: radix(&counts),
            by_density: by_density(&costs.piece, &kinds.thickness),
            thickness: kinds.thickness,
            adjustable: kinds.adjustable,
            settings: kinds.settings,
            pieces: None,
            allowed,
            homes,
            counts,
            costs,
            max_pieces,
            max_stack,
            width,
            spans,
            cost_end: ends.end,
            scale,
            multiplier_end,
            stride: ends.stride,
        })
    }

    /// Whether no support can take what another needs, nor is tied to another but by the width, nor is
    /// there a choice of which stays bare: each may have any of its stacks whatever the others have.
    pub(super) fn is_ample(&self) -> bool {
        self.counts.iter().all(Option::is_none)
            && self.spans.is_empty()
            && self.pieces.is_none()
            && self.lone_anchor.is_some()
    }

    /// The stack in place under a support, if any pieces are.
    pub(super) fn home(&self, support: usize) -> Option<&Home> {
        self.homes.get(support).filter(|home| home.pieces > 0)
    }

    /// Height of a support's top as it stands.
    pub(super) fn standing(&self, support: usize) -> i64 {
        self.heights[support] + self.home(support).map_or(0, |home| home.lift)
    }

    /// How high it could stand on the pieces in place.
    pub(super) fn could_stand(&self, support: usize) -> i64 {
        let of = |home: &Home| -> i64 {
            home.counts
                .iter()
                .zip(&self.thickness)
                .map(|(&count, each)| i64::from(count) * each)
                .sum()
        };
        self.heights[support] + self.home(support).map_or(0, of)
    }

    /// Whether every support may have any kind, none has a stack in place, and all plans are searched.
    pub(super) fn is_plain(&self) -> bool {
        self.allowed.is_empty() && self.homes.is_empty() && self.pieces.is_none()
    }

    /// Whether a support may have a kind.
    pub(super) fn allows(&self, support: usize, kind: usize) -> bool {
        self.allowed.get(support).is_none_or(|kinds| kinds >> kind & 1 == 1)
    }

    /// Whether a stack belongs to the part of all plans that is searched.
    pub(super) fn admits(&self, support: usize, counts: &[u32]) -> bool {
        self.pieces.as_ref().is_none_or(|pieces| {
            let mut kinds = counts.iter().zip(&self.kinds);
            kinds.all(|(&count, &kind)| pieces.admit(self.supports[support], kind, count))
        })
    }

    /// What a stack lifts by that has no adjustable piece, or but for that.
    pub(super) fn plain_lift(&self, counts: &[u32]) -> i64 {
        let plain = counts.iter().zip(&self.thickness).take(self.adjustable);
        plain.map(|(&count, each)| i64::from(count) * each).sum()
    }

    /// What it costs to give a support a stack that brings its top to a height, and the stack's
    /// kinds as bits.
    pub(super) fn cost(&self, support: usize, counts: &[u32], top: i64) -> (i64, u128) {
        let (mut cost, mut kinds) = (0, 0);
        let home = self.home(support);
        for (kind, &count) in counts.iter().enumerate() {
            cost += self.costs.moved(kind, home.map_or(0, |home| home.counts[kind]), count);
            kinds |= u128::from(count > 0) << kind;
        }
        let set_anew = home.is_some_and(|home| {
            let adjusted = (self.adjustable..counts.len()).any(|k| counts[k] * home.counts[k] > 0);
            adjusted && top - self.heights[support] - self.plain_lift(counts) != home.setting
        });
        cost += i64::from(set_anew) * Costs::MOVE;
        (self.costs.of(cost), kinds)
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

    /// How far beyond the least possible cost to search after so many failures.
    pub(super) fn reach(&self, failures: u32) -> i64 {
        match failures {
            0..2 => 0,
            _ => self.stride << (failures - 2).min(20),
        }
    }

    /// The least whole cost at or above a scaled lower bound.
    pub(super) fn unscaled(&self, bound: i64) -> i64 {
        bound.div_euclid(self.scale) + i64::from(bound.rem_euclid(self.scale) > 0)
    }
}

/// The kinds of the stock that can be used, in the order of the model, as the fields of [`Model`] have
/// them.
struct Kinds {
    of: Vec<usize>,
    thickness: Vec<i64>,
    adjustable: usize,
    settings: Vec<Settings>,
    /// Pieces in place of each kind of the stock.
    in_place: Vec<u32>,
}

impl Kinds {
    fn new(problem: &ShimProblem) -> Self {
        let stock = &problem.stock;
        let in_place = placed::pieces(problem.placed.as_ref(), stock.len());
        let usable = |kind: &usize| stock[*kind].count != Some(0) || in_place[*kind] > 0;
        let mut of: Vec<usize> = (0..stock.len()).filter(usable).collect();
        let adjusts = |kind: usize| stock[kind].adjusts.is_some();
        of.sort_by_key(|&kind| (adjusts(kind), Reverse(stock[kind].greatest()), kind));
        let adjustable = of.partition_point(|&kind| !adjusts(kind));
        let greatest = |shim: &Shim| shim.loaded(shim.adjusts.map(|_| shim.greatest())).nm();
        let setting = |&kind: &usize| {
            let step = stock[kind].adjusts?.step.nm();
            Some(Settings { least: stock[kind].thickness.nm(), step })
        };
        Self {
            thickness: of.iter().map(|&kind| greatest(&stock[kind])).collect(),
            settings: of[adjustable..].iter().filter_map(setting).collect(),
            of,
            adjustable,
            in_place,
        }
    }

    /// Pieces on hand and in place, `None` where there are more than the supports could take; and a
    /// number of pieces that no plan reaches. `most` is how many pieces of a thickness the supports
    /// could take.
    fn counts(
        &self,
        stock: &[Shim],
        supports: usize,
        most: impl Fn(i64) -> i64,
    ) -> (Vec<Option<u32>>, i64) {
        let most_of = |at: usize| match at < self.adjustable {
            true => most(self.thickness[at]),
            false => supports as i64,
        };
        let count = |(at, &kind): (usize, &usize)| {
            let all = stock[kind].count?.saturating_add(self.in_place[kind]);
            (i64::from(all) < most_of(at)).then_some(all)
        };
        let counts: Vec<Option<u32>> = self.of.iter().enumerate().map(count).collect();
        let placed: i64 = self.in_place.iter().map(|&count| i64::from(count)).sum();
        // Under a support there are plain pieces as many as the thinnest allows, and one more.
        let thinnest = self.thickness[..self.adjustable].iter().min();
        let thinnest = thinnest.map_or(0, |&thinnest| most(thinnest));
        let adjusted = if self.adjustable < self.of.len() { supports as i64 } else { 0 };
        let of_kind =
            |(at, count): (usize, &Option<u32>)| count.map_or_else(|| most_of(at), i64::from);
        let all = counts.iter().enumerate().map(of_kind).fold(0, i64::saturating_add);
        let end = all.min(thinnest.saturating_add(adjusted)).saturating_add(placed + 1);
        (counts, end)
    }
}

/// How far costs go.
struct Ends {
    /// See [`Model::stride`].
    stride: i64,
    /// More than any plan costs,
    end: i64,
    /// and that times the supports.
    sum_end: i64,
}

impl Ends {
    /// Of plans with fewer than `pieces_end` pieces.
    ///
    /// # Errors
    /// Prices whose sums go beyond 2⁶⁰.
    fn new(
        costs: &Costs,
        order: Order,
        prices: &[i64],
        pieces_end: i64,
        supports: usize,
    ) -> Result<Self, Error> {
        let (mut stride, mut most_price) = (1, 0);
        if order == Order::Cheapest {
            let least = prices.iter().copied().filter(|&price| price > 0).min().unwrap_or(1);
            stride = (least * pieces_end / 4).max(1);
            let dearest = prices.iter().copied().max().unwrap_or(0);
            most_price = dearest.saturating_mul(pieces_end).saturating_mul(pieces_end);
        }
        let most_lifts = costs.lift.saturating_mul(supports as i64);
        let end = pieces_end.saturating_add(most_lifts).saturating_add(most_price);
        let sum_end = end.saturating_mul(supports as i64);
        if sum_end > 1 << 60 {
            let got = format!("a total of up to {end}");
            let expected = "prices and numbers of pieces whose sums stay below 2^60";
            return Err(Error::new(ProblemKind::Value, "stock.price", got, expected));
        }
        Ok(Self { stride, end, sum_end })
    }
}

/// Members of each span, and the difference that it allows.
type Spans = Vec<(Vec<usize>, i64)>;

/// The difference allowed over all supports, and the spans that allow less, with members by their
/// `place` in the order of the model.
///
/// # Errors
/// Limits that leave two supports without a tie.
fn width_and_spans(
    limits: Vec<Span>,
    place: &[usize],
    heights: &[i64],
) -> Result<(i64, Spans), Error> {
    let mut spans = Vec::new();
    let mut overall = None;
    for span in limits {
        if span.limit == LimitKind::Overall && span.members.len() == heights.len() {
            overall = Some(span.width.nm());
        } else {
            let members: Vec<usize> = span.members.iter().map(|&at| place[at]).collect();
            spans.push((members, span.width.nm()));
        }
    }
    let width = match overall {
        Some(width) => width,
        None => width_of_ties(heights.len(), &spans)?,
    };
    let depth = heights.first().map_or(0, |lowest| -lowest);
    spans.retain(|(_, span)| *span < width.min(depth.saturating_add(width)));
    Ok((width, spans))
}

/// What is in place under each support, in the order of the model.
fn homes(problem: &ShimProblem, supports: &[usize], kinds: &[usize]) -> Vec<Home> {
    let Some(placed) = &problem.placed else { return Vec::new() };
    let mut place = vec![0; problem.stock.len()];
    kinds.iter().enumerate().for_each(|(at, &kind)| place[kind] = at);
    let home = |&support: &usize| {
        let mut counts = vec![0; kinds.len()];
        placed.stacks[support].iter().for_each(|&kind| counts[place[kind]] += 1);
        Home {
            pieces: counts.iter().sum(),
            counts,
            lift: placed.lift(support, &problem.stock).nm(),
            setting: placed.settings[support].map_or(0, Length::nm),
        }
    };
    supports.iter().map(home).collect()
}

/// The kinds that each support may have, in the order of the model; empty where all may have all.
fn allowed(problem: &ShimProblem, supports: &[usize], kinds: &[usize]) -> Vec<u128> {
    if problem.only_under.is_empty() {
        return Vec::new();
    }
    let mut allowed = vec![u128::MAX; problem.supports.len()];
    for only in &problem.only_under {
        if let Some(at) = kinds.iter().position(|&kind| kind == only.kind) {
            let mut under = vec![false; allowed.len()];
            only.supports.iter().for_each(|&support| under[support] = true);
            let others = allowed.iter_mut().zip(under).filter(|(_, under)| !under);
            others.for_each(|(kinds, _)| *kinds &= !(1 << at));
        }
    }
    supports.iter().map(|&support| allowed[support]).collect()
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
/// shortest paths between two supports, where a step within a span is as long as its width.
fn width_of_ties(count: usize, spans: &[(Vec<usize>, i64)]) -> Result<i64, Error> {
    let sources = if count <= Model::ALL_PAIRS { count } else { 1 };
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

/// The kinds by cost per thickness.
fn by_density(cost: &[i64], thickness: &[i64]) -> Vec<usize> {
    let mut by_density: Vec<usize> = (0..thickness.len()).collect();
    let density = |kind: usize| cost[kind] as f64 / thickness[kind] as f64;
    by_density.sort_by(|&a, &b| density(a).total_cmp(&density(b)));
    by_density
}

/// Mixed-radix places, one a limited kind, so that the stock used is one exact number.
fn radix(counts: &[Option<u32>]) -> Option<Vec<u128>> {
    let mut place = 1_u128;
    let mut radix = Vec::with_capacity(counts.len());
    for count in counts {
        match count {
            None => radix.push(0),
            Some(count) => {
                radix.push(place);
                place = place.checked_mul(u128::from(*count) + 2)?;
            }
        }
    }
    Some(radix)
}

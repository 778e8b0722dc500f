//! How high the lowest top can come where the stock is too small: the stock has to fill all gaps up to
//! a level, whatever stands out above it.
//!
//! Of a plan that does, pieces can be taken out and exchanged so that no support has a piece that it
//! can do without, nor pieces that one thinner piece of those that are left or stand under a later
//! support can replace: what is exchanged lifts the later support no less. So only such stacks are
//! tried (Martello & Toth 1990 and Korf 2003 search bin packing so; from memory). The stock is priced
//! by multipliers λ ≥ 0: where the lightest stacks of all supports weigh more together than the whole
//! stock, there is no plan.

use rustc_hash::FxHashSet;

use super::budget::{Budgeted, Exhausted, Meter};
use super::candidate::LISTED_A_NODE;
use super::levels::Levels;
use super::lists;
use super::model::Model;
use super::stacking::Stacking;
use super::stacks::{Stacks, Weights};

/// What is known of a stock, whatever the level.
pub(super) struct Cover<'a> {
    model: &'a Model,
    stacks: Stacks<'a>,
    counts: Vec<i64>,
    /// The thickness of the whole stock.
    stock: i64,
    /// The multipliers at first, and the best of the last level.
    start: Vec<i64>,
    multipliers: Vec<i64>,
    /// Whether several pieces may be exchanged for one: no support can have too many.
    several: bool,
}

/// What the lightest stack of each support weighs, and how much less than the stock they weigh together.
struct Priced {
    slack: i64,
    least: Vec<i64>,
}

/// A stack that fills the gap of a support.
struct Filling {
    weight: i64,
    top: i64,
    counts: Vec<u32>,
    /// Kinds of which one piece can take the place of thicker pieces, or of several.
    better: u128,
}

impl Levels<'_> {
    /// Raises the bound on the range to what the stock alone allows, and returns the range of the best
    /// plan that this comes upon, or `width`. The further a level is below what is possible, the more
    /// stacks there are to look through, and a level above costs hardly anything: so levels come down
    /// from the bound.
    pub(super) fn flat_by_cover(&mut self, width: i64) -> Budgeted<i64> {
        /// The first level alone takes more, with 24 supports.
        const FEWEST_NODES: u64 = 8_000;
        if self.meter.left() < FEWEST_NODES {
            return Ok(width);
        }
        let Some(mut cover) = Cover::new(self.model) else { return Ok(width) };
        let thinnest = self.model.thickness.iter().min().copied().unwrap_or(0);
        // What the stock covers for sure, and the range of the best plan.
        let (mut covered, mut best) = (width, width);
        let (mut more, mut in_vain) = (thinnest / 8, 0);
        // A part of the nodes stays for where this does not settle it.
        self.meter.allow(Some(self.meter.left() / 8 * 7));
        while self.range_floor < covered {
            let range = match in_vain >= 2 && covered < width {
                true => covered - 1,
                false => (self.range_floor + more).min(covered - 1),
            };
            match cover.reach(-range, &mut self.meter) {
                Ok(Some(plan)) => {
                    covered = range.min(plan.range());
                    if plan.range() < best {
                        best = plan.range();
                        self.best = Some(plan);
                    }
                    in_vain = 0;
                    more = (covered - self.range_floor) / 4;
                }
                Ok(None) => {
                    self.range_floor = range + 1;
                    in_vain += 1;
                    more = more.saturating_mul(2).min((covered - self.range_floor) / 4);
                }
                Err(_) if self.meter.has_left() => break,
                Err(exhausted) => return Err(exhausted),
            }
        }
        self.meter.allow(None);
        Ok(best)
    }
}

impl<'a> Cover<'a> {
    /// Weights are whole numbers; the stock weighs from so much to twice as much at first.
    const WORTH: i64 = 1 << 44;
    /// No multiplier grows beyond so many times what it was, so that sums stay in range.
    const GROWTH: i64 = 16;
    const MOST_SUPPORTS: usize = 1 << 10;
    /// Stacks are tried first that weigh up to such a part of what they may beyond the lightest.
    const FEW: i64 = 8;
    /// Steps of the multipliers before the first look for a plan, and before the next.
    const FEW_STEPS: u32 = 4;
    const STEPS: u32 = 20;
    /// The most stacks to list, of one support and in all.
    const MOST_OF_ONE: usize = 1 << 12;
    const MOST_STACKS: usize = 1 << 16;

    /// None where the stock fills all gaps, or stacks depend on more than pieces and gaps.
    pub(super) fn new(model: &'a Model) -> Option<Self> {
        let counts: Option<Vec<i64>> =
            model.counts.iter().map(|&count| count.map(i64::from)).collect();
        let counts = counts?;
        let of = |(count, thickness): (&i64, &i64)| count.saturating_mul(*thickness);
        let stock = counts.iter().zip(&model.thickness).map(of).fold(0, i64::saturating_add);
        let plain = model.spans.is_empty()
            && model.is_plain()
            && model.adjustable == model.thickness.len()
            && model.max_stack == i64::MAX
            && model.anchor.is_some_and(|anchor| model.heights[anchor] == 0)
            && model.heights.len() <= Self::MOST_SUPPORTS;
        let enough = model.stock_fills(0);
        if enough || !plain || !(1..=Self::WORTH).contains(&stock) {
            return None;
        }
        // Thin pieces are worth more than their thickness.
        let thinnest = model.thickness.iter().min().copied().unwrap_or(0);
        let scale = Self::WORTH / stock;
        let start: Vec<i64> =
            model.thickness.iter().map(|thickness| (thickness + thinnest) * scale).collect();
        Some(Self {
            model,
            stacks: Stacks::new(model),
            multipliers: start.clone(),
            start,
            several: counts.iter().sum::<i64>() <= model.max_pieces.into(),
            counts,
            stock,
        })
    }

    /// A plan whose tops are all at a level, at most zero, or above it; none where there is none.
    pub(super) fn reach(&mut self, level: i64, meter: &mut Meter) -> Budgeted<Option<Stacking>> {
        let model = self.model;
        let lifted = model.heights.partition_point(|&height| height < level);
        let gaps = model.heights[..lifted].iter().map(|height| level - height).sum::<i64>();
        let spare = self.stock - gaps;
        if spare < 0 {
            return Ok(None);
        }
        let tops = [level, level + spare];
        let mut best = None;
        for steps in [Self::FEW_STEPS, Self::STEPS] {
            let Some(priced) = self.price(lifted, tops, steps, meter)? else { return Ok(None) };
            // Most plans are found among the lightest stacks, and of all there are many.
            let few = priced.slack / Self::FEW;
            if let Some(plan) = self.fill([level, spare], &priced, few, meter)? {
                return Ok(Some(plan));
            }
            best = Some(priced);
        }
        let Some(priced) = best else { return Ok(None) };
        self.fill([level, spare], &priced, priced.slack, meter)
    }

    /// A plan whose stacks weigh no more than `slack` beyond the lightest, together.
    fn fill(
        &mut self,
        [level, spare]: [i64; 2],
        priced: &Priced,
        slack: i64,
        meter: &mut Meter,
    ) -> Budgeted<Option<Stacking>> {
        let model = self.model;
        let weights = Weights::of_stock(model, &self.multipliers);
        let (mut lists, mut listed) = (Vec::with_capacity(priced.least.len()), 0);
        for (support, least) in priced.least.iter().enumerate() {
            let cap = least.saturating_add(slack);
            lists.push(self.fillings(support, [level, level + spare], cap, &weights, meter)?);
            listed += lists[support].len();
            if listed > Self::MOST_STACKS {
                return Err(Exhausted);
            }
        }
        let mut wasted = vec![0; lists.len() + 1];
        for at in (0..lists.len()).rev() {
            let least = lists[at].iter().map(|filling| filling.top - level).min();
            wasted[at] = wasted[at + 1] + least.unwrap_or(0);
        }
        let mut search = Fill {
            model,
            level,
            chosen: Vec::with_capacity(lists.len()),
            lists,
            least: &priced.least,
            wasted,
            left: model.counts.iter().map(|count| count.unwrap_or(0)).collect(),
            used: 0,
            failed: FxHashSet::default(),
        };
        let found = search.extend(slack, spare, meter)?;
        Ok(found.then(|| search.plan()))
    }

    fn worth(&self, multipliers: &[i64]) -> i64 {
        self.counts.iter().zip(multipliers).map(|(count, each)| count * each).sum()
    }

    /// Tunes the multipliers; the weight of the lightest stack of each support, or none where they
    /// weigh more than the stock.
    fn price(
        &mut self,
        lifted: usize,
        tops: [i64; 2],
        steps: u32,
        meter: &mut Meter,
    ) -> Budgeted<Option<Priced>> {
        const MOST_VAIN: u32 = 8;
        let model = self.model;
        let kinds = model.thickness.len();
        let mut trial = self.multipliers.clone();
        let mut best = None::<Priced>;
        let mut vain = 0;
        let mut counts = vec![0; kinds];
        for _ in 0..steps {
            let weights = Weights::of_stock(model, &trial);
            let mut used = vec![0_i64; kinds];
            let mut least = Vec::with_capacity(lifted);
            meter.spend(lifted as u64 / LISTED_A_NODE)?;
            for support in 0..lifted {
                counts.fill(0);
                let lightest = self.stacks.lightest(support, tops, &weights, &mut counts, meter)?;
                let Some((weight, _)) = lightest else { return Ok(None) };
                least.push(weight);
                used.iter_mut().zip(&counts).for_each(|(used, &count)| *used += i64::from(count));
            }
            let slack = self.worth(&trial) - least.iter().sum::<i64>();
            if slack < 0 {
                self.multipliers = trial;
                return Ok(None);
            }
            // By thickness, so that a step is one of thickness for all kinds.
            let pull = |kind: usize| {
                let over = (used[kind] - self.counts[kind]) as f64;
                let pull = over * model.thickness[kind] as f64;
                if trial[kind] > 0 { pull } else { pull.max(0.0) }
            };
            let pulls: Vec<f64> = (0..kinds).map(pull).collect();
            let norm: f64 = pulls.iter().map(|pull| pull * pull).sum();
            if best.as_ref().is_none_or(|best| slack < best.slack) {
                best = Some(Priced { slack, least });
                self.multipliers.clone_from(&trial);
                vain = 0;
            } else {
                vain += 1;
            }
            if norm == 0.0 || vain > MOST_VAIN {
                break;
            }
            let step = (slack + 1) as f64 / norm;
            for (kind, multiplier) in trial.iter_mut().enumerate() {
                let more = step * pulls[kind] * model.thickness[kind] as f64;
                let to = (*multiplier as f64 + more).round() as i64;
                *multiplier = to.clamp(0, self.start[kind] * Self::GROWTH);
            }
        }
        Ok(best)
    }

    /// The stacks of a support within a weight that have no needless piece, lightest first.
    fn fillings(
        &mut self,
        support: usize,
        tops: [i64; 2],
        cap: i64,
        weights: &Weights,
        meter: &mut Meter,
    ) -> Budgeted<Vec<Filling>> {
        let (model, several) = (self.model, self.several);
        let mut list = Vec::new();
        self.stacks.visit(support, tops, cap, weights, meter, &mut |counts, top, weight| {
            let waste = top - tops[0];
            let needless = |(&count, &thickness): (&u32, &i64)| count > 0 && thickness <= waste;
            if !counts.iter().zip(&model.thickness).any(needless) {
                let better = better(model, counts, waste, several);
                list.push(Filling { weight, top, counts: counts.to_vec(), better });
            }
            if list.len() < Self::MOST_OF_ONE { cap } else { -1 }
        })?;
        meter.spend((list.len() * model.thickness.len()) as u64 / LISTED_A_NODE)?;
        if list.len() == Self::MOST_OF_ONE {
            return Err(Exhausted);
        }
        list.sort_by(|a, b| {
            a.weight.cmp(&b.weight).then_with(|| lists::prefer(&a.counts, &b.counts))
        });
        Ok(list)
    }
}

/// The kinds of which one piece can replace a thicker piece of a stack that wastes so much, or several
/// of them if they may be.
fn better(model: &Model, counts: &[u32], waste: i64, several: bool) -> u128 {
    /// Of a stack of many pieces not all are looked at.
    const MOST_SUMS: usize = 64;
    // What some of the pieces lift by together, and how many they are.
    let mut sums: Vec<(i64, u32)> = vec![(0, 0)];
    for (&thickness, &count) in model.thickness.iter().zip(counts) {
        let before = sums.len();
        for more in 1..=if several { count } else { count.min(1) } {
            for at in 0..before.min(MOST_SUMS.saturating_sub(sums.len())) {
                let (sum, of) = sums[at];
                if several || of == 0 {
                    sums.push((sum + i64::from(more) * thickness, of + more));
                }
            }
        }
    }
    let mut better = 0;
    for (kind, &thickness) in model.thickness.iter().enumerate() {
        let replaces = |&(sum, of): &(i64, u32)| {
            (thickness..=thickness + waste).contains(&sum) && (of > 1 || sum > thickness)
        };
        better |= u128::from(sums.iter().any(replaces)) << kind;
    }
    better
}

/// The search, support by support from the lowest up.
struct Fill<'a> {
    model: &'a Model,
    level: i64,
    lists: Vec<Vec<Filling>>,
    /// The weight of the lightest stack of each support.
    least: &'a [i64],
    /// What the supports from each on stand out above the level at the least, together.
    wasted: Vec<i64>,
    left: Vec<u32>,
    /// What is used, as one number.
    used: u128,
    /// Depths and stocks used from which there is no plan.
    failed: FxHashSet<(usize, u128)>,
    chosen: Vec<usize>,
}

impl Fill<'_> {
    /// Whether a plan goes on so, of stacks that weigh no more than `slack` beyond the lightest and
    /// stand out by no more than `spare`.
    fn extend(&mut self, slack: i64, spare: i64, meter: &mut Meter) -> Budgeted<bool> {
        /// Subtrees smaller than this are quicker to search again than to look up.
        const WORTH_KEEPING: u64 = 6;
        /// Some 25 megabytes of remembered states.
        const MOST_KEPT: usize = 1 << 19;
        let depth = self.chosen.len();
        if depth == self.lists.len() {
            return Ok(true);
        }
        if spare < self.wasted[depth] || self.failed.contains(&(depth, self.used)) {
            return Ok(false);
        }
        let entered = meter.nodes;
        for at in 0..self.lists[depth].len() {
            let filling = &self.lists[depth][at];
            let slack = slack - (filling.weight - self.least[depth]);
            if slack < 0 {
                break;
            }
            meter.step()?;
            let spare = spare - (filling.top - self.level);
            let used = self.used;
            if !self.take(depth, at) {
                continue;
            }
            if self.extend(slack, spare, meter)? {
                return Ok(true);
            }
            self.chosen.pop();
            self.used = used;
            let counts = &self.lists[depth][at].counts;
            self.left.iter_mut().zip(counts).for_each(|(left, count)| *left += count);
        }
        if self.model.radix.is_some()
            && meter.nodes - entered >= WORTH_KEEPING
            && self.failed.len() < MOST_KEPT
        {
            self.failed.insert((depth, self.used));
        }
        Ok(false)
    }

    /// Gives the next support a stack; false, and nothing is taken, where the stock does not have it or has
    /// what is better.
    fn take(&mut self, depth: usize, at: usize) -> bool {
        let Filling { counts, better, .. } = &self.lists[depth][at];
        let takes = |(kind, (&left, &count)): (usize, (&u32, &u32))| {
            left >= count && (left == count || better >> kind & 1 == 0)
        };
        if !self.left.iter().zip(counts).enumerate().all(takes) {
            return false;
        }
        self.left.iter_mut().zip(counts).for_each(|(left, count)| *left -= count);
        if let Some(radix) = &self.model.radix {
            for (&count, place) in counts.iter().zip(radix) {
                self.used = self.used.wrapping_add(place.wrapping_mul(count.into()));
            }
        }
        self.chosen.push(at);
        true
    }

    /// The plan that was found; supports that need no lifting stay bare.
    fn plan(&self) -> Stacking {
        let model = self.model;
        let chosen = self.chosen.iter().zip(&self.lists).map(|(&at, list)| &list[at]);
        let mut counts: Vec<Vec<u32>> = chosen.map(|filling| filling.counts.clone()).collect();
        counts.resize(model.heights.len(), vec![0; model.thickness.len()]);
        let tops: Vec<i64> = counts
            .iter()
            .zip(&model.heights)
            .map(|(counts, height)| height + model.plain_lift(counts))
            .collect();
        let (mut cost, mut kinds) = (0, 0);
        for (support, counts) in counts.iter().enumerate() {
            let (more, of) = model.cost(support, counts, tops[support]);
            cost += more;
            kinds |= of;
        }
        Stacking { counts: counts.concat(), cost, tops, kinds }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::deadline::Deadline;
    use crate::length::Length;
    use crate::limits::Limits;
    use crate::shim::asked::Asked;
    use crate::shim::budget::NEVER;
    use crate::shim::problem::{Budget, ShimProblem, Support};
    use crate::stock::Shim;

    /// Whether pieces fill all gaps, by every choice of pieces for one gap after the other.
    fn fills(
        gaps: &[i64],
        kinds: &[i64],
        left: &mut [u32],
        [kind, pieces]: [usize; 2],
        most: u32,
    ) -> bool {
        let Some((&gap, others)) = gaps.split_first() else { return true };
        if gap <= 0 {
            return fills(others, kinds, left, [0, 0], most);
        }
        (kind..kinds.len()).any(|kind| {
            if left[kind] == 0 || pieces as u32 == most {
                return false;
            }
            left[kind] -= 1;
            let mut more = gaps.to_vec();
            more[0] -= kinds[kind];
            let filled = fills(&more, kinds, left, [kind, pieces + 1], most);
            left[kind] += 1;
            filled
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(6000))]

        /// A level is covered if and only if some choice of pieces does it, and the plan is one.
        #[test]
        fn a_level_is_covered_where_pieces_fill_its_gaps(
            heights in prop::collection::vec(-24..0_i64, 1..5),
            kinds in prop::collection::vec((1..14_i64, 1..4_u32), 1..5),
            level in -16..=0_i64,
            most in prop::option::of(1..4_u32),
        ) {
            let at = |(place, &height): (usize, &i64)| Support {
                x: Length::from_nm(place as i64),
                y: Length::ZERO,
                height: Length::from_nm(height),
            };
            let heights = [&heights[..], &[0]].concat();
            let stock = kinds.iter().map(|&(nm, count)| Shim::new(Length::from_nm(nm), Some(count)));
            let limits = Limits::overall(Length::from_nm(24));
            let supports = heights.iter().enumerate().map(at).collect();
            let mut problem = ShimProblem::new(supports, stock.collect(), limits);
            problem.options.max_pieces = most;
            let model = Asked::new(&problem, Deadline::never()).unwrap().model().unwrap();
            let Some(mut cover) = Cover::new(&model) else { return Ok(()) };
            let meter = &mut Meter::new(&Budget::default(), NEVER);
            let plan = cover.reach(level, meter).unwrap();

            let gaps: Vec<i64> = heights.iter().map(|height| level - height).collect();
            let (nm, mut left): (Vec<i64>, Vec<u32>) = kinds.iter().copied().unzip();
            let filled = fills(&gaps, &nm, &mut left, [0, 0], most.unwrap_or(u32::MAX));
            prop_assert_eq!(plan.is_some(), filled);
            let Some(plan) = plan else { return Ok(()) };
            prop_assert!(plan.tops.iter().all(|&top| top >= level));
            for (kind, count) in model.counts.iter().enumerate() {
                let used: u32 = plan.stacks().map(|counts| counts[kind]).sum();
                prop_assert!(count.is_none_or(|count| used <= count));
            }
        }
    }
}

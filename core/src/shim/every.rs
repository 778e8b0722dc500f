//! All plans within a cost one by one, where they are few.
//!
//! In a small problem there are only a few plans of the least cost. To go through all of them and keep
//! the best by all goals takes less than to prepare the searches that settle one goal after the other.

use std::cmp::Ordering;

use super::budget::{Budgeted, Meter};
use super::candidate::Candidate;
use super::lists::Lists;
use super::model::Model;
use super::region::Region;
use super::stacking::Stacking;

/// Of the cheapest plans of these regions that cost at most `cost` and come within `width` the best by
/// all goals, if there is any; none where it takes more nodes to go through them.
pub(super) fn every<'a>(
    model: &Model,
    regions: impl Iterator<Item = (&'a Region, &'a Lists)> + Clone,
    [width, cost]: [i64; 2],
    nodes: usize,
    meter: &mut Meter,
) -> Budgeted<Option<Option<Stacking>>> {
    /// With more supports there are hardly ever few plans.
    const MOST_SUPPORTS: usize = 64;
    let supports = model.heights.len();
    let listed: usize = regions.clone().map(|(_, lists)| lists.len() + supports).sum();
    if listed > nodes || supports > MOST_SUPPORTS || !model.spans.is_empty() {
        return Ok(None);
    }
    let nodes = nodes.min(usize::try_from(meter.left()).unwrap_or(usize::MAX));
    let mut left = nodes;
    let mut best = None::<(Goals, Stacking)>;
    let mut all = Some(());
    for (region, lists) in regions {
        let mut order: Vec<usize> = (0..supports).collect();
        order.sort_by_key(|&support| lists.of[support].len());
        let mut plans = Plans {
            model,
            lists,
            region,
            order,
            width,
            most: best.as_ref().map_or([cost, width], |(goals, _)| [goals.0, goals.1]),
            left,
            chosen: Vec::with_capacity(supports),
            used: vec![0; model.thickness.len()],
            best: None,
        };
        all = plans.extend(Partial::none(region.bound));
        left = plans.left;
        if all.is_none() {
            break;
        }
        if let Some((goals, plan)) = plans.best.take() {
            let plan = Stacking::new(lists, &plan);
            let worse = |(best, other): &(Goals, Stacking)| {
                best.cmp(&goals).then_with(|| other.prefer(&plan)).is_le()
            };
            if !best.as_ref().is_some_and(worse) {
                best = Some((goals, plan));
            }
        }
    }
    meter.spend((nodes - left) as u64)?;
    Ok(all.map(|()| best.map(|(_, plan)| plan)))
}

/// What a plan comes to, the first goal first: cost, range, number of kinds, lowest top.
type Goals = (i64, i64, u32, i64);

/// Some supports with a candidate each.
#[derive(Clone, Copy)]
struct Partial {
    /// What a plan that goes on so weighs at the least, less the worth of the stock.
    bound: i64,
    cost: i64,
    low: i64,
    high: i64,
    kinds: u128,
    /// Whether a support that may stay bare does.
    anchored: bool,
}

impl Partial {
    /// No support has one yet.
    fn none(bound: i64) -> Self {
        Self { bound, cost: 0, low: i64::MAX, high: i64::MIN, kinds: 0, anchored: false }
    }

    fn with(self, candidate: &Candidate, least: i64, may_stay_bare: bool) -> Self {
        Self {
            bound: self.bound + candidate.weight - least,
            cost: self.cost + candidate.cost,
            low: self.low.min(candidate.top),
            high: self.high.max(candidate.top),
            kinds: self.kinds | candidate.kinds,
            anchored: self.anchored || (candidate.kinds == 0 && may_stay_bare),
        }
    }

    fn range(&self) -> i64 {
        self.high - self.low
    }
}

struct Plans<'a> {
    model: &'a Model,
    lists: &'a Lists,
    region: &'a Region,
    /// The supports with the fewest candidates first.
    order: Vec<usize>,
    width: i64,
    /// No plan that costs more is of interest, nor one of this cost with a wider range.
    most: [i64; 2],
    /// How many nodes are left.
    left: usize,
    chosen: Vec<Candidate>,
    /// Pieces of each kind used.
    used: Vec<u32>,
    /// The best plan, support by support.
    best: Option<(Goals, Vec<Candidate>)>,
}

impl Plans<'_> {
    /// Goes through all plans that begin so; none where nodes run out.
    fn extend(&mut self, so_far: Partial) -> Option<()> {
        let depth = self.chosen.len();
        let Some(&support) = self.order.get(depth) else {
            self.compare(so_far);
            return Some(());
        };
        let (lists, least) = (self.lists, self.region.least[support]);
        for candidate in &lists.of[support] {
            self.left = self.left.checked_sub(1)?;
            let with = so_far.with(candidate, least, self.model.anchors[support]);
            let cost = self.model.unscaled(with.bound).max(with.cost);
            let [most, range] = self.most;
            if cost > most || with.range() > if cost < most { self.width } else { range } {
                continue;
            }
            let counts = lists.counts(candidate);
            if self.is_in_stock(counts) {
                self.used.iter_mut().zip(counts).for_each(|(used, count)| *used += count);
                self.chosen.push(*candidate);
                let done = self.extend(with);
                self.chosen.pop();
                self.used.iter_mut().zip(counts).for_each(|(used, count)| *used -= count);
                done?;
            }
        }
        Some(())
    }

    fn is_in_stock(&self, counts: &[u32]) -> bool {
        let mut kinds = self.used.iter().zip(counts).zip(&self.model.counts);
        kinds.all(|((used, count), most)| most.is_none_or(|most| used + count <= most))
    }

    /// Keeps a plan if it is better than the best.
    fn compare(&mut self, plan: Partial) {
        if !plan.anchored {
            return;
        }
        let goals = (plan.cost, plan.range(), plan.kinds.count_ones(), plan.low);
        let better = match &self.best {
            None => true,
            Some((best, _)) if goals != *best => goals < *best,
            Some((_, best)) => {
                let mut placed: Vec<(usize, &Candidate)> =
                    self.order.iter().copied().zip(&self.chosen).collect();
                placed.sort_unstable_by_key(|&(support, _)| support);
                let both = placed.iter().zip(best);
                let mut by_stack = both.map(|((_, a), b)| self.lists.prefer(a, b));
                by_stack.find(|order| order.is_ne()).is_some_and(Ordering::is_lt)
            }
        };
        if better {
            let mut best = self.best.take().map_or_else(|| self.chosen.clone(), |(_, best)| best);
            for (&support, candidate) in self.order.iter().zip(&self.chosen) {
                best[support] = *candidate;
            }
            self.best = Some((goals, best));
            self.most = [plan.cost, plan.range()];
        }
    }
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;

    use proptest::prelude::*;
    use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};

    use crate::deadline::Deadline;
    use crate::length::Length;
    use crate::limits::Limits;
    use crate::shim::asked::Asked;
    use crate::shim::budget::{Meter, NEVER};
    use crate::shim::goals::solve;
    use crate::shim::levels::Levels;
    use crate::shim::lists::Lists;
    use crate::shim::model::Model;
    use crate::shim::pieces::Pieces;
    use crate::shim::placed::Placed;
    use crate::shim::problem::{Budget, Order, ShimProblem, Support};
    use crate::shim::region::Region;
    use crate::shim::stacking::Stacking;
    use crate::stock::{Adjusts, Shim};

    /// The best by all goals of every choice of candidates, tried in turn.
    fn best_of_all(model: &Model, lists: &Lists, [width, cost]: [i64; 2]) -> Option<Stacking> {
        let mut all = lists.choices();
        all.retain(|plan| {
            let used = |kind: usize| plan.iter().map(|it| lists.counts(it)[kind]).sum::<u32>();
            let in_stock = |kind: usize| model.counts[kind].is_none_or(|count| used(kind) <= count);
            (0..model.counts.len()).all(in_stock)
                && plan.iter().zip(&model.anchors).any(|(it, &anchor)| anchor && it.kinds == 0)
        });
        let plans = all.iter().map(|plan| Stacking::new(lists, plan));
        let goals = |plan: &Stacking| {
            let low = plan.tops.iter().min().copied();
            (plan.cost, plan.range(), plan.kinds.count_ones(), low)
        };
        plans
            .filter(|plan| plan.cost <= cost && plan.range() <= width)
            .min_by(|a, b| goals(a).cmp(&goals(b)).then_with(|| a.prefer(b)))
    }

    /// Of so many kinds at most one piece under each support.
    fn in_place(of: &[Option<usize>], kinds: usize) -> Placed {
        let stack = |kind: &Option<usize>| kind.iter().map(|kind| kind % kinds).collect();
        Placed { stacks: of.iter().map(stack).collect(), settings: vec![None; of.len()] }
    }

    fn told(plan: &Stacking) -> (Vec<u32>, Vec<i64>) {
        (plan.counts.clone(), plan.tops.clone())
    }

    /// Of one region or of its halves, at the least cost or above it, the best of all plans comes out.
    #[test]
    fn the_best_comes_out_of_regions_in_any_order() {
        let problems = (
            prop::collection::vec(-9..=0_i64, 3..5),
            prop::collection::vec((2..7_i64, 1..4_u32, 0..4_u32), 2..4),
            (1..6_i64, 0..4_i64, 30..70_i64),
            prop::sample::select(vec![Order::FewestPieces, Order::FewestLifts, Order::Cheapest]),
            prop::option::weighted(0.7, prop::collection::vec(prop::option::of(0..3_usize), 4)),
            prop::bool::weighted(0.7),
        );
        // Plans that are cheaper and wider than others, and halves that tie but for the later goals.
        let (wider, ties) = (Cell::new(0), Cell::new(0));
        let config =
            ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(8000) };
        let rng = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
        let tried = TestRunner::new_with_rng(config, rng).run(&problems, |problem| {
            let (heights, kinds, (width, more, cut), order, placed, keep_highest) = problem;
            let at = |(place, &height): (usize, &i64)| Support {
                x: Length::from_nm(place as i64),
                y: Length::ZERO,
                height: Length::from_nm(height),
            };
            let shim = |&(thickness, count, price): &(i64, u32, u32)| Shim {
                price,
                ..Shim::new(Length::from_nm(thickness), Some(count))
            };
            let supports = heights.iter().enumerate().map(at).collect();
            let limits = Limits::overall(Length::from_nm(width));
            let mut problem = ShimProblem::new(supports, kinds.iter().map(shim).collect(), limits);
            problem.options.order = order;
            problem.options.keep_highest = keep_highest;
            problem.placed = placed.map(|of| in_place(&of[..heights.len()], kinds.len()));
            let asked = Asked::new(&problem, Deadline::never()).unwrap();
            let model = asked.model().unwrap();
            let Some(anchor) = model.anchor else { return Ok(()) };
            let mut levels = Levels::new(&model, Meter::new(&Budget::default(), NEVER));
            let root = Region::root(width, anchor, &model);
            let [low, high] = root.range;
            let middle = low + (high - low) * cut / 100;
            let parts = [[low, high], [low, middle], [middle + 1, high]];
            let mut lists = |range: [i64; 2], cost: Option<i64>| {
                let mut region = root.clone();
                region.range = range;
                let meter = &mut Meter::new(&Budget::default(), NEVER);
                let target = cost.unwrap_or(0);
                let any = region.exclude(&model, &mut levels.stacks, width, target, meter).unwrap();
                let cost = cost.unwrap_or(region.floor + more * model.costs.unit);
                any.then(|| (levels.lists(&region, width, cost).unwrap(), region, cost))
            };
            let Some((whole, region, cost)) = lists(parts[0], None) else { return Ok(()) };
            if whole.of.iter().map(Vec::len).product::<usize>() > 10_000 {
                return Ok(());
            }
            let best = best_of_all(&model, &whole, [width, cost]);
            let every = |regions: &[(&Region, &Lists)]| {
                let meter = &mut Meter::new(&Budget::default(), NEVER);
                let regions = regions.iter().copied();
                super::every(&model, regions, [width, cost], 1_000_000, meter).unwrap().unwrap()
            };
            let is = best.as_ref().map(told);
            prop_assert_eq!(every(&[(&region, &whole)]).as_ref().map(told), is.clone());
            let halves: Vec<_> = parts[1..]
                .iter()
                .filter(|[low, high]| low <= high)
                .filter_map(|&range| lists(range, Some(cost)))
                .collect();
            let mut halves: Vec<_> =
                halves.iter().map(|(lists, region, _)| (region, lists)).collect();
            for _ in 0..2 {
                prop_assert_eq!(every(&halves).as_ref().map(told), is.clone());
                halves.reverse();
            }
            let each: Vec<_> = halves.iter().filter_map(|&half| every(&[half])).collect();
            if let (Some(best), [a, b]) = (best, &each[..]) {
                let narrower = best_of_all(&model, &whole, [best.range() - 1, cost]);
                wider.set(wider.get() + usize::from(narrower.is_some()));
                let same = a.cost == b.cost && a.range() == b.range() && told(a) != told(b);
                ties.set(ties.get() + usize::from(same));
            }
            Ok(())
        });
        tried.unwrap();
        assert!(wider.get() > 100 && ties.get() > 20, "{wider:?}, {ties:?}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1000))]

        /// The best of all plans, or of a part of them, is what the goals come to one after the other, and
        /// there is none flatter than the flattest.
        #[test]
        fn the_best_of_all_is_what_the_goals_come_to(
            heights in prop::collection::vec(-30..=0_i64, 1..8),
            kinds in prop::collection::vec((1..12_i64, prop::option::of(1..6_u32), 0..4_u32), 1..5),
            width in 0..9_i64,
            wedge in prop::option::of((2..9_i64, 1..4_i64)),
            order in prop::sample::select(
                vec![Order::FewestPieces, Order::FewestLifts, Order::Cheapest, Order::Flattest]),
            keep_highest in any::<bool>(),
            placed in prop::option::of(prop::collection::vec(prop::option::of(0..4_usize), 7)),
            part in prop::option::of((0..7_usize, 0..4_usize, 0..3_u32)),
        ) {
            let at = |(place, &height): (usize, &i64)| Support {
                x: Length::from_nm(place as i64),
                y: Length::ZERO,
                height: Length::from_nm(height),
            };
            let shim = |&(thickness, count, price): &(i64, Option<u32>, u32)| {
                Shim { price, ..Shim::new(Length::from_nm(thickness), count) }
            };
            let mut stock: Vec<Shim> = kinds.iter().map(shim).collect();
            stock.extend(wedge.map(|(from, step)| Shim {
                adjusts: Some(Adjusts { to: Length::from_nm(from + 3 * step), step: Length::from_nm(step) }),
                ..Shim::new(Length::from_nm(from), Some(2))
            }));
            let limits = Limits::overall(Length::from_nm(width));
            let supports = heights.iter().enumerate().map(at).collect();
            let mut problem = ShimProblem::new(supports, stock, limits);
            problem.options.order = order;
            problem.options.keep_highest = keep_highest;
            problem.placed = placed.map(|of| in_place(&of[..heights.len()], kinds.len()));
            let asked = Asked::new(&problem, Deadline::never()).unwrap();
            let mut model = asked.model().unwrap();
            model.pieces = part.and_then(|(support, kind, at)| {
                let all = Pieces::all(heights.len(), problem.stock.len());
                all.split(support % heights.len(), kind % kinds.len(), at).pop()
            });
            let solved = |few, many| {
                let budget = Budget { nodes: 20_000, time_ms: None };
                let mut levels = Levels::new(&model, Meter::new(&budget, NEVER));
                (levels.few, levels.many) = (few, many);
                solve(&mut levels, order)
            };
            let (Ok(all), Ok(staged)) = (solved(200, 65), solved(0, 65)) else { return Ok(()) };
            prop_assert_eq!(all.as_ref().map(told), staged.as_ref().map(told));
            // By the sweep where nothing runs out.
            if let Ok(swept) = solved(0, 0) {
                prop_assert_eq!(all.as_ref().map(told), swept.as_ref().map(told));
            }
            if let (Order::Flattest, Some(plan)) = (order, all)
                && plan.range() > 0
            {
                let meter = Meter::new(&Budget { nodes: 200_000, time_ms: None }, NEVER);
                let flatter = Levels::new(&model, meter).least_cost(plan.range() - 1);
                prop_assert!(flatter.map_or(true, |flatter| flatter.is_none()), "{plan:?}");
            }
        }
    }
}

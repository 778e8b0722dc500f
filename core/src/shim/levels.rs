//! The goals, one level after the other.

use std::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;

use rustc_hash::FxHashSet;

use super::budget::{Budgeted, Meter};
use super::greedy::greedy;
use super::kinds::{Lack, Needs};
use super::lists::{Candidate, Lists};
use super::model::Model;
use super::region::Region;
use super::search::{Query, find};
use super::stacks::{Stacks, Weights};
use super::windows::{narrowest, profile};

/// A plan in the terms of the model: pieces of each kind under each support.
#[derive(Debug, Clone)]
pub(super) struct Stacking {
    pub(super) counts: Vec<Vec<u32>>,
    pub(super) cost: i64,
    pub(super) tops: Vec<i64>,
    pub(super) kinds: u128,
}

impl Stacking {
    fn new(lists: &Lists, plan: &[Candidate]) -> Self {
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
    fn prefer(&self, other: &Self) -> Ordering {
        let pairs = self.counts.iter().zip(&other.counts);
        let by_stack = |(a, b): (&Vec<u32>, &Vec<u32>)| {
            a.iter().sum::<u32>().cmp(&b.iter().sum()).then_with(|| b.cmp(a))
        };
        pairs.map(by_stack).find(|order| order.is_ne()).unwrap_or(Ordering::Equal)
    }
}

/// All that the levels share.
pub(super) struct Levels<'a> {
    pub(super) model: &'a Model,
    stacks: Stacks<'a>,
    pub(super) meter: Meter<'a>,
    /// The best plan so far, for when the budget runs out.
    pub(super) best: Option<Stacking>,
    /// The proven bound on the cost so far.
    pub(super) floor: i64,
    /// The proven bound on the range of tops so far.
    pub(super) range_floor: i64,
}

/// What the first level leaves behind.
pub(super) struct Least {
    pub(super) stacking: Stacking,
    /// The width that it was found for.
    width: i64,
    /// The regions that may hold other plans of the same cost.
    open: Vec<Region>,
}

impl<'a> Levels<'a> {
    pub(super) fn new(model: &'a Model, meter: Meter<'a>) -> Self {
        Self { model, stacks: Stacks::new(model), meter, best: None, floor: 0, range_floor: 0 }
    }

    /// The least cost at which all tops come within `width` of each other, with a plan; none where
    /// no cost does it.
    ///
    /// Regions of the level are taken least floor first. A wide one whose bound is far below its
    /// floor is halved; another is searched at its floor, and beyond it the further the more often
    /// it was looked into in vain.
    pub(super) fn least_cost(&mut self, width: i64) -> Budgeted<Option<Least>> {
        let model = self.model;
        let mut best: Option<Stacking> = None;
        let mut regions = vec![Region::root(width, model)];
        while let Some(at) = (0..regions.len()).min_by_key(|&at| regions[at].turn()) {
            self.floor = regions[at].floor;
            if best.as_ref().is_some_and(|best| best.cost <= self.floor) {
                break;
            }
            let mut region = regions.swap_remove(at);
            let reach = region.floor.saturating_add(model.reach(region.failures));
            let most = best.as_ref().map_or(model.cost_end, |best| best.cost - 1).min(reach);
            let floor = region.floor;
            if region.least.is_empty() || (region.failures > 0 && region.attempts == 0) {
                if !region.exclude(model, &mut self.stacks, width, most, &mut self.meter)? {
                    continue;
                }
                if region.floor > floor {
                    region.failures += u32::from(2 * (region.floor - floor) < model.stride);
                    regions.push(region);
                    continue;
                }
            }
            if region.is_coarse(model, floor) {
                regions.extend(region.halves());
                continue;
            }
            let attempt = Self::ATTEMPT + Self::ATTEMPT_A_SUPPORT * model.heights.len() as u64;
            self.meter.allow(Some(attempt << region.attempts.min(30)));
            let (found, next) = self.search(&region, width, most);
            self.meter.allow(None);
            if let Some(found) = found {
                region.failures = 0;
                region.floor = region.floor.max(next.unwrap_or(0).min(found.cost));
                self.best = Some(found.clone());
                best = Some(found);
            } else if let Ok(next) = next {
                region.failures += 1;
                region.floor = next;
            }
            match next {
                Ok(_) => region.attempts = 0,
                Err(_) if self.meter.has_left() => {
                    region.attempts += 1;
                    if self.best.is_none() {
                        self.best = greedy(model).filter(|plan| plan.range() <= width);
                        best = self.best.clone();
                    }
                }
                Err(exhausted) => return Err(exhausted),
            }
            if region.floor < model.cost_end {
                regions.push(region);
            }
        }
        Ok(best.map(|stacking| Least { stacking, width, open: regions }))
    }

    /// What the first search of a region may spend; each further one twice as much. So an easy
    /// region with a plan is found before a hard one of the same floor is proven to have none.
    const ATTEMPT: u64 = 1_000;
    const ATTEMPT_A_SUPPORT: u64 = 200;

    /// The cheapest plan in a region that costs at most `cost`, or any at the region's floor; and
    /// a lower bound on the cost of all others in the region.
    fn search(
        &mut self,
        region: &Region,
        width: i64,
        mut cost: i64,
    ) -> (Option<Stacking>, Budgeted<i64>) {
        let model = self.model;
        let lists = match self.lists(region, width, cost) {
            Ok(lists) => lists,
            Err(exhausted) => return (None, Err(exhausted)),
        };
        let worth = model.worth(&region.multipliers);
        let (mut best, mut least) = (None, i64::MAX);
        for (low, weight) in profile(&lists, region.range, width) {
            let next = model.unscaled(weight.saturating_sub(worth));
            if next > cost {
                least = least.min(next);
                continue;
            }
            let query = Query {
                lists: &lists,
                multipliers: &region.multipliers,
                window: [low, low + width],
                cost,
                enough: region.floor,
                kinds: u128::MAX,
                ties: false,
            };
            let found = match find(model, &query, &mut self.meter) {
                Ok(found) => found,
                Err(exhausted) => return (best, Err(exhausted)),
            };
            least = least.min(found.next);
            if let Some(plan) = found.plan {
                let plan = Stacking::new(&lists, &plan);
                cost = plan.cost - 1;
                best = Some(plan);
                if cost < region.floor {
                    return (best, Ok(region.floor));
                }
            }
        }
        (best, Ok(least))
    }

    /// The candidates of a region for plans of at most `cost`.
    fn lists(&mut self, region: &Region, width: i64, cost: i64) -> Budgeted<Lists> {
        let model = self.model;
        let weights = Weights::new(model, &region.multipliers);
        // Where a search was in vain, what is just beyond tells where to look next.
        let beyond = if region.failures > 0 { model.scale } else { 0 };
        let slack = region.slack(model, cost).max(beyond);
        let tops = region.tops(width);
        Lists::collect(
            model,
            &mut self.stacks,
            &weights,
            tops,
            &region.least,
            slack,
            &mut self.meter,
        )
    }

    /// The least cost at the narrowest range of tops that any cost reaches, at least `floor`; found
    /// by halving, since a plan for one range is a plan for every wider one.
    pub(super) fn flattest(&mut self, mut least: Least, floor: i64) -> Budgeted<Least> {
        self.range_floor = floor;
        while self.range_floor < least.width {
            let middle = self.range_floor + (least.width - self.range_floor) / 2;
            let narrower = middle.min(least.stacking.range());
            match self.least_cost(narrower)? {
                Some(found) => least = found,
                None => self.range_floor = narrower + 1,
            }
        }
        Ok(least)
    }

    /// Supports (by index in the problem) that no stack brings within the width, whatever the
    /// others get.
    pub(super) fn unreachable(&mut self) -> Vec<usize> {
        let model = self.model;
        let weights = Weights::new(model, &vec![0; model.thickness.len()]);
        let mut counts = vec![0; model.thickness.len()];
        let tops = [-model.width, model.width];
        let (stacks, meter) = (&mut self.stacks, &mut self.meter);
        let mut lost = |support: &usize| {
            let lightest = stacks.lightest(*support, tops, &weights, &mut counts, meter);
            matches!(lightest, Ok(None))
        };
        let mut supports: Vec<usize> =
            (0..model.heights.len()).filter(|at| lost(at)).map(|at| model.supports[at]).collect();
        supports.sort_unstable();
        supports
    }

    /// Of the plans that cost no more than the least, the one with the narrowest range of tops,
    /// of those one with the fewest kinds, and of those the first by the tie rule: lowest target,
    /// then stack by stack from the lowest support up.
    pub(super) fn narrow(&mut self, least: Least) -> Budgeted<Stacking> {
        let Least { stacking, width, mut open } = least;
        let cost = stacking.cost;
        let mut settled = Vec::new();
        while let Some(mut region) = open.pop() {
            if region.floor > cost {
                continue;
            }
            if region.least.is_empty() {
                let plans =
                    region.exclude(self.model, &mut self.stacks, width, cost, &mut self.meter)?;
                if !plans || region.floor > cost {
                    continue;
                }
            }
            if region.is_coarse(self.model, cost) {
                open.extend(region.halves());
            } else {
                region.failures = 0;
                let lists = self.lists(&region, width, cost)?;
                settled.push((region, lists));
            }
        }
        let width = stacking.range();
        Narrowing { levels: self, settled, cost, width }.run(stacking)
    }
}

/// The later levels, at a settled cost.
struct Narrowing<'l, 'a> {
    levels: &'l mut Levels<'a>,
    settled: Vec<(Region, Lists)>,
    cost: i64,
    width: i64,
}

/// A window and the region that it belongs to.
type Place = (usize, [i64; 2]);

impl Narrowing<'_, '_> {
    fn run(&mut self, least: Stacking) -> Budgeted<Stacking> {
        let (mut best, places) = self.narrowest(least)?;
        for &place in &places {
            while let Some(fewer) = self.fewer_kinds(place, &best)? {
                best = fewer;
                self.levels.best = Some(best.clone());
            }
        }
        let kinds = best.kinds.count_ones();
        let mut first: Option<Stacking> = None;
        // Places come lowest first: the first that holds a plan with so few kinds holds the
        // plan sought.
        for &place in &places {
            for kinds in self.kinds_within(place, kinds, false)? {
                if let Some(plan) = self.find(place, kinds, true)?
                    && first.as_ref().is_none_or(|first| plan.prefer(first).is_lt())
                {
                    first = Some(plan);
                }
            }
            if first.is_some() {
                break;
            }
        }
        Ok(first.unwrap_or(best))
    }

    /// A plan with the narrowest range, and every window of that range that may hold one, lowest
    /// first.
    fn narrowest(&mut self, mut best: Stacking) -> Budgeted<(Stacking, Vec<Place>)> {
        let mut heap: BinaryHeap<Reverse<(i64, i64, i64, usize)>> = BinaryHeap::new();
        for (at, (region, lists)) in self.settled.iter().enumerate() {
            let cap =
                self.cost * self.levels.model.scale + self.levels.model.worth(&region.multipliers);
            let windows = narrowest(lists, region.range, self.width, cap);
            heap.extend(
                windows.into_iter().map(|[low, high]| Reverse((high - low, low, high, at))),
            );
        }
        let mut places = Vec::new();
        // Narrowest first, and lowest first among equals: once a window is as wide as the best
        // plan's range, all narrower ones have been searched in vain.
        while let Some(Reverse((range, low, high, at))) = heap.pop() {
            let place = (at, [low, high]);
            if range > best.range() {
                break;
            }
            if range == best.range() {
                places.push(place);
            } else if let Some(plan) = self.find(place, u128::MAX, false)? {
                self.levels.best = Some(plan.clone());
                best = plan;
                places.push(place);
            } else {
                let tops = self.settled[at].1.of.iter().flatten().map(|candidate| candidate.top);
                if let Some(next) = tops.filter(|&top| top > high && top - low <= self.width).min()
                {
                    heap.push(Reverse((next - low, low, next, at)));
                }
            }
        }
        Ok((best, places))
    }

    fn find(&mut self, (at, window): Place, kinds: u128, ties: bool) -> Budgeted<Option<Stacking>> {
        let (region, lists) = &self.settled[at];
        let query = Query {
            lists,
            multipliers: &region.multipliers,
            window,
            cost: self.cost,
            enough: self.cost,
            kinds,
            ties,
        };
        let found = find(self.levels.model, &query, &mut self.levels.meter)?;
        Ok(found.plan.map(|plan| Stacking::new(lists, &plan)))
    }

    /// A plan at a place with fewer kinds than `best` has.
    fn fewer_kinds(&mut self, place: Place, best: &Stacking) -> Budgeted<Option<Stacking>> {
        let Some(most) = best.kinds.count_ones().checked_sub(1) else {
            return Ok(None);
        };
        match self.kinds_within(place, most, true)?.first() {
            Some(&kinds) => self.find(place, kinds, false),
            None => Ok(None),
        }
    }

    /// Sets of at most `most` kinds that suffice at a place: one, or all that no smaller one
    /// makes needless.
    fn kinds_within(&mut self, place: Place, most: u32, one: bool) -> Budgeted<Vec<u128>> {
        let mut sufficient = Vec::new();
        let mut seen = FxHashSet::default();
        let mut open = vec![0_u128];
        let (region, lists) = &self.settled[place.0];
        let cap =
            self.cost * self.levels.model.scale + self.levels.model.worth(&region.multipliers);
        let needs = Needs::new(lists, place.1);
        while let Some(kinds) = open.pop() {
            if kinds.count_ones() > most || !seen.insert(kinds) {
                continue;
            }
            self.levels.meter.step()?;
            let lack = needs.lack(kinds, cap);
            if let Lack::Choice(choices) = lack {
                open.extend(choices.iter().map(|(needed, _)| kinds | needed));
            } else if lack == Lack::Nothing && self.find(place, kinds, false)?.is_some() {
                sufficient.push(kinds);
                if one {
                    break;
                }
            } else {
                let more = (0..self.levels.model.thickness.len()).map(|kind| kinds | 1 << kind);
                open.extend(more.filter(|more| *more != kinds));
            }
        }
        Ok(sufficient)
    }
}

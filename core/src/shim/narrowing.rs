//! The later goals, at a settled cost: the narrowest range of tops, the fewest kinds, the tie rule.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use rustc_hash::FxHashSet;

use super::answers::{Answers, Question};
use super::budget::{Budgeted, Exhausted};
use super::candidate::LISTED_A_NODE;
use super::every::every;
use super::kinds::{Lack, Needs};
use super::levels::{Least, Levels};
use super::lists::Lists;
use super::opening::Query;
use super::region::Region;
use super::search::find;
use super::stacking::Stacking;
use super::tied::{Patience, Tied, Wanted, thin};
use super::windows::narrowest;

impl Levels<'_> {
    /// Of the plans that cost no more than the least, the one with the narrowest range of tops,
    /// of those one with the fewest kinds, and of those the first by the tie rule: lowest target,
    /// then stack by stack from the lowest support up.
    pub(super) fn narrow(&mut self, least: Least) -> Budgeted<Stacking> {
        let Least { stacking, width, mut open, tied, settled } = least;
        if settled {
            return Ok(stacking);
        }
        let cost = stacking.cost;
        let (mut settled, mut listed) = (Vec::new(), 0);
        if let Some(tied) = tied
            && let Some(mut region) = open.pop()
        {
            region.multipliers = tied.multipliers;
            let mut lists = tied.lists;
            thin(self.model, &mut lists, &region.multipliers, cost, width, &mut self.meter)?;
            settled.push((region, lists));
        }
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
                open.extend(region.halves(self.model));
            } else {
                region.failures = 0;
                let lists = self.lists(&region, width, cost)?;
                listed += lists.len();
                if listed > 4 * Lists::most(region.least.len()) {
                    return Err(Exhausted);
                }
                settled.push((region, lists));
            }
        }
        let width = stacking.range();
        let regions = settled.iter().map(|(region, lists)| (region, lists));
        let nodes = self.few * self.model.heights.len();
        if let Some(best) = every(self.model, regions, [width, cost], nodes, &mut self.meter)? {
            return Ok(best.unwrap_or(stacking));
        }
        let answers = Answers::of(stacking.clone());
        Narrowing { levels: self, settled, cost, width, answers }.run(stacking)
    }
}

/// Regions that may hold plans of the settled cost, with their lists.
struct Narrowing<'l, 'a> {
    levels: &'l mut Levels<'a>,
    settled: Vec<(Region, Lists)>,
    cost: i64,
    /// The widest range of tops that is still of interest.
    width: i64,
    answers: Answers,
}

/// A window and the region that it belongs to.
type Place = (usize, [i64; 2]);

impl Narrowing<'_, '_> {
    /// The best of the plans, `least` being one of them.
    fn run(&mut self, least: Stacking) -> Budgeted<Stacking> {
        let (mut best, places) = if self.levels.model.spans.is_empty() {
            self.narrowest(least)?
        } else {
            self.narrowest_tied(least)?
        };
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
            let sufficient = self.kinds_within(place, kinds, false)?;
            let place = self.lowest(place, &sufficient)?;
            for (kinds, _) in sufficient {
                if let Some(plan) = self.first(place, kinds)?
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

    /// A plan with the narrowest range where spans bind the supports, and the regions that may hold
    /// such a plan, lowest first. What the spans tell is computed for all windows at once.
    fn narrowest_tied(&mut self, mut best: Stacking) -> Budgeted<(Stacking, Vec<Place>)> {
        self.settled.sort_by_key(|(region, _)| region.range);
        for at in 0..self.settled.len() {
            while best.range() > 0 {
                self.width = best.range() - 1;
                let place = (at, self.settled[at].0.tops(self.width));
                let Some(plan) = self.find(place, u128::MAX)? else { break };
                self.levels.best = Some(plan.clone());
                best = plan;
            }
        }
        self.width = best.range();
        for (region, lists) in &mut self.settled {
            let Levels { model, meter, .. } = &mut *self.levels;
            thin(model, lists, &region.multipliers, self.cost, self.width, meter)?;
        }
        let all = self.settled.iter().enumerate();
        let places = all.map(|(at, (region, _))| (at, region.tops(self.width))).collect();
        Ok((best, places))
    }

    /// The lowest window of this range, at a place, that holds a plan with one of these sets of
    /// kinds. `sufficient` has one plan for each set.
    fn lowest(
        &mut self,
        (at, [low, high]): Place,
        sufficient: &[(u128, Stacking)],
    ) -> Budgeted<Place> {
        let lowest_of = |plan: &Stacking| plan.tops.iter().min().copied().unwrap_or(low);
        let Some(mut lowest) = sufficient.iter().map(|(_, plan)| lowest_of(plan)).min() else {
            return Ok((at, [low, high]));
        };
        if high - low <= self.width {
            return Ok((at, [low, high]));
        }
        let mut lows: Vec<i64> = self.settled[at].1.of.iter().flatten().map(|c| c.top).collect();
        lows.retain(|&top| top >= low);
        lows.sort_unstable();
        lows.dedup();
        for &(kinds, _) in sufficient {
            let mut first = 0;
            let mut last = lows.partition_point(|&top| top < lowest);
            // A search often comes upon the lowest at once, so the one below is tried first.
            let mut middle = last.saturating_sub(1);
            while first < last {
                let place = (at, [low, lows[middle] + self.width]);
                match self.find(place, kinds)? {
                    Some(plan) => {
                        lowest = lowest_of(&plan);
                        last = lows.partition_point(|&top| top < lowest);
                    }
                    None => first = middle + 1,
                }
                middle = first + (last - first) / 2;
            }
        }
        Ok((at, [lowest, lowest + self.width]))
    }

    /// A plan with the narrowest range, and every window of that range that may hold one, lowest
    /// first.
    fn narrowest(&mut self, mut best: Stacking) -> Budgeted<(Stacking, Vec<Place>)> {
        let mut heap: BinaryHeap<Reverse<(i64, i64, i64, usize)>> = BinaryHeap::new();
        for (at, (region, lists)) in self.settled.iter().enumerate() {
            let cap = region.cap(self.levels.model, self.cost);
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
            } else if let Some(plan) = self.find(place, u128::MAX)? {
                self.levels.best = Some(plan.clone());
                best = plan;
                places.push(place);
            } else {
                let lists = &self.settled[at].1;
                self.levels.meter.spend(lists.len() as u64 / LISTED_A_NODE)?;
                let tops = lists.of.iter().flatten().map(|candidate| candidate.top);
                if let Some(next) = tops.filter(|&top| top > high && top - low <= self.width).min()
                {
                    heap.push(Reverse((next - low, low, next, at)));
                }
            }
        }
        Ok((best, places))
    }

    /// A plan at a place from these kinds.
    fn find(&mut self, place: Place, kinds: u128) -> Budgeted<Option<Stacking>> {
        let (region, window) = place;
        let asked = Question { region, window, width: self.width, kinds };
        if let Some(answer) = self.answers.known(asked, &mut self.levels.meter)? {
            return Ok(answer.cloned());
        }
        let plan = match self.look(place, kinds, false)? {
            Some(plan) => plan,
            None => match self.tied(place, kinds)? {
                Some(tied) => {
                    let wanted = self.wanted(place);
                    let Levels { model, meter, .. } = &mut *self.levels;
                    tied.search(model, wanted, Patience::SECOND, meter)?.plan
                }
                None => None,
            },
        };
        self.answers.keep(asked, plan.as_ref());
        Ok(plan)
    }

    /// The first plan by the tie rule at a place from these kinds.
    fn first(&mut self, place: Place, kinds: u128) -> Budgeted<Option<Stacking>> {
        if let Some(first) = self.look(place, kinds, true)? {
            return Ok(first);
        }
        let Some(plan) = self.find(place, kinds)? else { return Ok(None) };
        let Some(tied) = self.tied(place, kinds)? else { return Ok(None) };
        let wanted = self.wanted(place);
        tied.first(self.levels.model, wanted, plan, &mut self.levels.meter).map(Some)
    }

    /// What a search in the order of the supports tells, the first plan by the tie rule or any; none
    /// where it takes long and spans would tell more.
    fn look(
        &mut self,
        (at, window): Place,
        kinds: u128,
        ties: bool,
    ) -> Budgeted<Option<Option<Stacking>>> {
        /// The nodes that a search may spend before the multipliers are tuned for it.
        const UNTUNED: u64 = 2_000;
        let (region, lists) = &self.settled[at];
        let query = Query {
            lists,
            multipliers: &region.multipliers,
            window,
            width: (window[1] - window[0] > self.width).then_some(self.width),
            cost: self.cost,
            enough: self.cost,
            kinds,
            ties,
        };
        let Levels { model, meter, .. } = &mut *self.levels;
        let tied = !model.spans.is_empty();
        meter.allow(tied.then_some(UNTUNED));
        let found = find(model, &query, meter);
        meter.allow(None);
        match found {
            Ok(found) => Ok(Some(found.plan.map(|plan| Stacking::new(lists, &plan)))),
            Err(_) if tied && meter.has_left() => Ok(None),
            Err(exhausted) => Err(exhausted),
        }
    }

    /// What spans tell of the plans at a place from these kinds, if there are any.
    fn tied(&mut self, (at, window): Place, kinds: u128) -> Budgeted<Option<Tied>> {
        let (region, lists) = &self.settled[at];
        let lists = lists.within(window, kinds);
        let Levels { model, meter, .. } = &mut *self.levels;
        let tied = Tied::new(model, lists, &region.multipliers, self.cost, self.width, meter)?;
        Ok(tied.ok())
    }

    /// What is sought at a place.
    fn wanted(&self, (_, [low, high]): Place) -> Wanted {
        let range = [low, high - self.width];
        Wanted { range, width: self.width, costs: [self.cost, self.cost] }
    }

    /// A plan at a place with fewer kinds than `best` has.
    fn fewer_kinds(&mut self, place: Place, best: &Stacking) -> Budgeted<Option<Stacking>> {
        let Some(most) = best.kinds.count_ones().checked_sub(1) else {
            return Ok(None);
        };
        Ok(self.kinds_within(place, most, true)?.pop().map(|(_, plan)| plan))
    }

    /// Sets of at most `most` kinds that suffice at a place, each with a plan: one set, or all sets
    /// that no smaller one makes needless.
    fn kinds_within(
        &mut self,
        place: Place,
        most: u32,
        one: bool,
    ) -> Budgeted<Vec<(u128, Stacking)>> {
        /// The most sets to keep: some 50 megabytes.
        const MOST_SETS: usize = 1 << 20;
        let mut sufficient = Vec::new();
        let mut seen = FxHashSet::default();
        let mut open = vec![0_u128];
        let (region, lists) = &self.settled[place.0];
        let cap = region.cap(self.levels.model, self.cost);
        let needs = Needs::new(lists, place.1, &mut self.levels.meter)?;
        while let Some(kinds) = open.pop() {
            if kinds.count_ones() > most || !seen.insert(kinds) {
                continue;
            }
            self.levels.meter.step()?;
            if seen.len() + open.len() > MOST_SETS {
                return Err(Exhausted);
            }
            let lack = needs.lack(kinds, cap, &mut self.levels.meter)?;
            if let Lack::Choice(choices) = lack {
                open.extend(choices.iter().map(|(needed, _)| kinds | needed));
            } else if lack == Lack::Nothing
                && let Some(plan) = self.find(place, kinds)?
            {
                sufficient.push((kinds, plan));
                if one {
                    break;
                }
            } else {
                let all = self.levels.model.thickness.len();
                self.levels.meter.spend(all as u64 / LISTED_A_NODE)?;
                let more = (0..all).map(|kind| kinds | 1 << kind);
                open.extend(more.filter(|more| *more != kinds));
            }
        }
        Ok(sufficient)
    }
}

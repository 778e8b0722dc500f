//! The first goal: the least cost, and the least cost at the narrowest range of tops.

use super::ample::least_in;
use super::budget::{Budgeted, Meter};
use super::every::every;
use super::greedy::{at_level, greedy};
use super::lists::Lists;
use super::model::Model;
use super::opening::Query;
use super::region::Region;
use super::search::find;
use super::stacking::Stacking;
use super::stacks::{Stacks, Weights};
use super::tied::{Patience, Tied, Wanted};
use super::windows::profile;

/// All that the levels share.
pub(super) struct Levels<'a> {
    pub(super) model: &'a Model,
    pub(super) stacks: Stacks<'a>,
    pub(super) meter: Meter<'a>,
    /// The best plan so far, for when the budget runs out.
    pub(super) best: Option<Stacking>,
    /// The proven bound on the cost so far.
    pub(super) floor: i64,
    /// The proven bound on the range of tops so far.
    pub(super) range_floor: i64,
    /// Going through all plans may take so many nodes a support.
    pub(super) few: usize,
    /// What the last search looked through: the next question is often of the same stacks.
    listed: Option<Listed>,
    /// From so many supports on, one sweep finds the least cost where nothing runs out.
    pub(super) many: usize,
}

/// The stacks of a region: its range and multipliers, the width of its windows, and how much more than the lightest
/// its stacks may weigh.
struct Listed {
    of: ([i64; 2], Vec<i64>, i64, i64),
    lists: Lists,
}

/// What the first level leaves behind.
pub(super) struct Least {
    pub(super) stacking: Stacking,
    /// The width that it was found for.
    pub(super) width: i64,
    /// The regions that may hold other plans of the same cost.
    pub(super) open: Vec<Region>,
    /// Where spans tie supports, what is known of all of them.
    pub(super) tied: Option<Tied>,
    /// Whether no plan is better by any goal.
    pub(super) settled: bool,
}

/// What the search of a region has told.
struct Searched {
    plan: Option<Stacking>,
    /// A lower bound on the cost of all others in the region, if the search came to an end.
    next: Budgeted<i64>,
    /// Whether the plan is the best of the region by all goals.
    settled: bool,
}

impl<'a> Levels<'a> {
    /// See `few`: not much more than the searches that it saves.
    const FEW: usize = 16;

    /// See `many`: with fewer there are often so few plans that one goes through all of them.
    const MANY: usize = 65;

    pub(super) fn new(model: &'a Model, meter: Meter<'a>) -> Self {
        Self {
            model,
            stacks: Stacks::new(model),
            meter,
            best: None,
            floor: 0,
            range_floor: 0,
            few: Self::FEW,
            listed: None,
            many: Self::MANY,
        }
    }

    /// The least cost at which all tops come within `width` of each other, with a plan; none where
    /// no cost does it.
    ///
    /// Search the region with the lowest floor first. Halve a wide region whose bound is far below
    /// its floor. Search any other at its floor; if that finds nothing, raise its floor and put it
    /// back. Each failure raises the floor further.
    pub(super) fn least_cost(&mut self, width: i64) -> Budgeted<Option<Least>> {
        self.cheapest(width, false)
    }

    /// Some cost at which all tops come within `width` of each other, with a plan; none where no cost does
    /// it.
    pub(super) fn some_cost(&mut self, width: i64) -> Budgeted<Option<Least>> {
        self.cheapest(width, true)
    }

    /// The least cost, or any at all.
    fn cheapest(&mut self, width: i64, any: bool) -> Budgeted<Option<Least>> {
        let model = self.model;
        if !model.spans.is_empty() {
            return self.cheapest_tied(width, any);
        }
        let (mut best, mut tried, mut settled) = (None::<Stacking>, false, false);
        let mut few = self.few * model.heights.len();
        let Some(anchor) = model.anchor.filter(|&anchor| model.heights[anchor] >= -width) else {
            return Ok(None);
        };
        if model.is_ample()
            && model.heights.len() >= self.many
            && let Some(found) = self.cheapest_of_ample(width, anchor)?
        {
            return Ok(found);
        }
        let mut regions = vec![Region::root(width, anchor, model)];
        while let Some(at) = (0..regions.len()).min_by_key(|&at| regions[at].turn()) {
            self.floor = regions[at].floor;
            if best.as_ref().is_some_and(|best| any || best.cost <= self.floor) {
                break;
            }
            let mut region = regions.swap_remove(at);
            let reach = region.floor.saturating_add(model.reach(region.failures));
            let most = best.as_ref().map_or(model.cost_end, |best| best.cost - 1).min(reach);
            let floor = region.floor;
            if region.least.is_empty() || (region.failures > 0 && region.attempts == 0) {
                // Where any plan will do, a region is best excluded whatever its plans would cost.
                let target = if any { model.cost_end } else { most };
                if !region.exclude(model, &mut self.stacks, width, target, &mut self.meter)? {
                    continue;
                }
                if region.floor > floor {
                    region.failures += u32::from(2 * (region.floor - floor) < model.stride);
                    regions.push(region);
                    continue;
                }
            }
            if region.is_coarse(model, floor) {
                regions.extend(region.halves(model));
                continue;
            }
            let attempt = Self::ATTEMPT + Self::ATTEMPT_A_SUPPORT * model.heights.len() as u64;
            self.meter.allow(Some(attempt << region.attempts.min(30)));
            let searched = self.search(&region, width, most, std::mem::take(&mut few));
            let next = searched.next;
            self.meter.allow(None);
            if let Some(found) = searched.plan {
                settled = searched.settled;
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
                    if self.best.is_none() && !std::mem::replace(&mut tried, true) {
                        self.best = greedy(model, model.width).filter(|plan| plan.range() <= width);
                        best = self.best.clone();
                    }
                }
                Err(exhausted) => return Err(exhausted),
            }
            if region.floor < model.cost_end {
                regions.push(region);
            }
        }
        Ok(best.map(|stacking| {
            let open = regions.iter().filter(|region| region.floor <= stacking.cost).count();
            let settled = settled && open == 1;
            Least { stacking, width, open: regions, tied: None, settled }
        }))
    }

    /// The least cost where nothing runs out; none where the sweep would take long.
    fn cheapest_of_ample(&mut self, width: i64, anchor: usize) -> Budgeted<Option<Option<Least>>> {
        const SWEPT_A_SUPPORT: u64 = 2_000;
        let model = self.model;
        self.meter.allow(Some(SWEPT_A_SUPPORT * model.heights.len() as u64));
        let range = [-width, model.heights[anchor]];
        let swept = least_in(model, &mut self.stacks, range, width, &mut self.meter);
        self.meter.allow(None);
        let (cost, levels) = match swept {
            Ok(Some(found)) => found,
            Ok(None) => return Ok(Some(None)),
            Err(_) if self.meter.has_left() => return Ok(None),
            Err(exhausted) => return Err(exhausted),
        };
        self.floor = cost;
        let mut open = Vec::with_capacity(levels.len());
        for range in levels {
            let mut region = Region::root(width, anchor, model);
            region.range = range;
            if region.exclude(model, &mut self.stacks, width, cost, &mut self.meter)? {
                region.floor = cost;
                open.push(region);
            }
        }
        for region in &open {
            let searched = self.search(region, width, cost, 0);
            searched.next?;
            if let Some(stacking) = searched.plan {
                self.best = Some(stacking.clone());
                return Ok(Some(Some(Least { stacking, width, open, tied: None, settled: false })));
            }
        }
        Ok(None)
    }

    /// The nodes that the first search of a region may spend. Each further search may spend twice
    /// as many, so that an easy region with a plan is found before a hard one is proven to have
    /// none.
    const ATTEMPT: u64 = 1_000;
    const ATTEMPT_A_SUPPORT: u64 = 600;

    /// The cheapest plan in a region that costs at most `cost`, or any at the region's floor; and
    /// a lower bound on the cost of all others in the region. If that takes no more than `few` nodes, the
    /// best of all.
    fn search(&mut self, region: &Region, width: i64, cost: i64, few: usize) -> Searched {
        let cut = |exhausted| Searched { plan: None, next: Err(exhausted), settled: false };
        let lists = match self.lists(region, width, cost) {
            Ok(lists) => lists,
            Err(exhausted) => return cut(exhausted),
        };
        let all = std::iter::once((region, &lists));
        let searched = match every(self.model, all, [width, cost], few, &mut self.meter) {
            Ok(Some(Some(plan))) => {
                return Searched { next: Ok(plan.cost), plan: Some(plan), settled: true };
            }
            Ok(_) => self.search_lists(&lists, region, width, cost),
            Err(exhausted) => return cut(exhausted),
        };
        let of = (region.range, region.multipliers.clone(), width, self.slack(region, cost));
        self.listed = Some(Listed { of, lists });
        searched
    }

    /// The same among these candidates.
    fn search_lists(
        &mut self,
        lists: &Lists,
        region: &Region,
        width: i64,
        mut cost: i64,
    ) -> Searched {
        let model = self.model;
        let worth = model.worth(&region.multipliers);
        let (mut best, mut least) = (None, i64::MAX);
        for (low, weight) in profile(lists, region.range, width) {
            let next = model.unscaled(weight.saturating_sub(worth));
            if next > cost {
                least = least.min(next);
                continue;
            }
            let query = Query {
                lists,
                multipliers: &region.multipliers,
                window: [low, low + width],
                width: None,
                cost,
                enough: region.floor,
                kinds: u128::MAX,
                ties: false,
            };
            let found = match find(model, &query, &mut self.meter) {
                Ok(found) => found,
                Err(exhausted) => {
                    return Searched { plan: best, next: Err(exhausted), settled: false };
                }
            };
            least = least.min(found.next);
            if let Some(plan) = found.plan {
                let plan = Stacking::new(lists, &plan);
                cost = plan.cost - 1;
                best = Some(plan);
                if cost < region.floor {
                    return Searched { plan: best, next: Ok(region.floor), settled: false };
                }
            }
        }
        Searched { plan: best, next: Ok(least), settled: false }
    }

    /// The least cost, or any at all, where spans tie supports to each other.
    fn cheapest_tied(&mut self, width: i64, any: bool) -> Budgeted<Option<Least>> {
        let model = self.model;
        let Some(anchor) = model.anchor.filter(|&anchor| model.heights[anchor] >= -width) else {
            return Ok(None);
        };
        let mut region = Region::root(width, anchor, model);
        let mut floor = i64::MIN;
        while floor < region.floor {
            floor = region.floor;
            let target = if any { model.cost_end } else { floor };
            if !region.exclude(model, &mut self.stacks, width, target, &mut self.meter)? {
                return Ok(None);
            }
        }
        let mut floor = region.floor;
        while floor < model.cost_end {
            self.floor = floor;
            let most = floor.saturating_add(floor / 5 + model.stride).min(model.cost_end - 1);
            let lists = self.lists(&region, width, most)?;
            let tied = Tied::new(model, lists, &region.multipliers, most, width, &mut self.meter)?;
            let mut tied = match tied {
                Ok(tied) => tied,
                Err(next) => {
                    floor = next.max(most + 1);
                    continue;
                }
            };
            floor = floor.max(tied.floor);
            while floor <= most {
                self.floor = floor;
                let costs = match any {
                    true => [most, most],
                    false => [floor, (floor + model.stride - 1).min(most)],
                };
                match tied.up_to(model, costs[1], &mut self.meter)? {
                    Err(next) => floor = next.max(costs[1] + 1),
                    Ok(mut up_to) => {
                        let wanted = Wanted { range: region.range, width, costs };
                        let found =
                            up_to.search(model, wanted, Patience::FIRST, &mut self.meter)?;
                        tied.weigh(model, found.multipliers.clone());
                        if let Some(stacking) = found.plan {
                            self.best = Some(stacking.clone());
                            up_to.weigh(model, found.multipliers);
                            let (open, tied) = (vec![region], Some(up_to));
                            let settled = false;
                            return Ok(Some(Least { stacking, width, open, tied, settled }));
                        }
                        floor = found.next.max(costs[1] + 1);
                    }
                }
            }
        }
        Ok(None)
    }

    /// The candidates of a region for plans of at most `cost`.
    pub(super) fn lists(&mut self, region: &Region, width: i64, cost: i64) -> Budgeted<Lists> {
        let model = self.model;
        let slack = self.slack(region, cost);
        let (range, multipliers) = (region.range, &region.multipliers);
        let is_asked = |listed: &mut Listed| {
            let (of, known, at, weight) = &listed.of;
            *of == range && known == multipliers && *at == width && *weight == slack
        };
        if let Some(Listed { lists, .. }) = self.listed.take_if(is_asked) {
            // As many nodes as ever, so that what is found does not depend on what was kept.
            self.meter.spend(lists.nodes)?;
            return Ok(lists);
        }
        let weights = Weights::new(model, multipliers);
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

    /// How much more than the lightest the stacks may weigh that are listed.
    fn slack(&self, region: &Region, cost: i64) -> i64 {
        // Where a search was in vain, what is just beyond tells where to look next.
        let beyond = if region.failures > 0 { self.model.scale } else { 0 };
        region.slack(self.model, cost).max(beyond)
    }

    /// The least cost at the narrowest range of tops that any cost reaches. A plan for one range is a
    /// plan for every wider one, so what is between the bound and the best plan is halved; and in turns
    /// it is asked whether there is any better plan, since the proof that there is none takes about as
    /// long just below the best plan as a little further down.
    pub(super) fn flattest(&mut self, least: Least) -> Budgeted<Least> {
        // The range of a plan; of what cost is settled once there is no narrower one.
        let mut width = least.stacking.range();
        self.raise_range_floor(width);
        width = self.flat_by_cover(width)?;
        width = self.flat_by_rule(width)?;
        let mut halve = true;
        while self.range_floor < width {
            let range = match halve {
                true => self.range_floor + (width - self.range_floor) / 2,
                false => width - 1,
            };
            match self.some_cost(range)? {
                Some(found) => width = found.stacking.range(),
                None => self.range_floor = range + 1,
            }
            halve = !halve;
        }
        if width == least.width {
            return Ok(least);
        }
        // There is a plan, so there is a cheapest one.
        Ok(self.least_cost(width)?.unwrap_or(least))
    }

    /// Raises the bound on the range, which a plan has reached that is `width` wide: the lowest top is
    /// no further below the highest support, and up to there the stock has to fill.
    fn raise_range_floor(&mut self, mut width: i64) {
        while self.range_floor < width {
            let middle = self.range_floor + (width - self.range_floor) / 2;
            match self.model.stock_fills(-middle) {
                true => width = middle,
                false => self.range_floor = middle + 1,
            }
        }
    }

    /// The range of a plan by rule of thumb that is less than `width`, or `width`: further and further
    /// up from the bound, and back by halves.
    fn flat_by_rule(&mut self, width: i64) -> Budgeted<i64> {
        let thinnest = self.model.thickness.iter().min().copied().unwrap_or(width);
        let (mut vain, mut more) = (self.range_floor, thinnest);
        let mut width = width;
        while vain + more < width {
            match self.by_rule(vain + more)? {
                Some(range) => {
                    width = range;
                    more = (width - vain) / 2;
                }
                None => {
                    vain += more;
                    more = more.saturating_mul(2).min((width - vain) / 2);
                }
            }
            if more <= thinnest / 4 {
                break;
            }
        }
        Ok(width)
    }

    /// The range of a plan by rule of thumb with its tops within a range.
    fn by_rule(&mut self, range: i64) -> Budgeted<Option<i64>> {
        let mut meter = self.meter.clone();
        let plan = at_level(self.model, [-range, 0], &mut meter);
        self.meter.spent(&meter);
        self.meter.spend(0)?;
        let Some(plan) = plan else { return Ok(None) };
        let range = plan.range();
        self.best = Some(plan);
        Ok(Some(range))
    }

    /// The supports, by index in the problem, that no stack brings within the width, whatever the
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
}

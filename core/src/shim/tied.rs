//! The first goal where lines and joints tie supports to each other.
//!
//! What the spans tell (`split`) brings the bound so close to the cost that levels need not be taken
//! region by region: all windows are searched at once, the width over all supports being one more
//! span, and the cost goes up from the bound. All candidates up to some cost are bounded once,
//! roughly; for the cost in question those are taken that it leaves, which are few, and bounded well.
//! Where a search of them takes long, the multipliers of the stock are tuned with the spans in view, by
//! the same subgradient steps as in `region`; and where it still does, one support's candidates are
//! parted by their pieces of a scarce kind (`parting`), and each part is bounded, tuned and searched by
//! itself.

use std::cmp::{Ordering, Reverse};

use super::budget::{Budgeted, Meter};
use super::candidate::LISTED_A_NODE;
use super::lists::{Lists, prefer};
use super::model::Model;
use super::opening::{Query, order};
use super::parting::Parting;
use super::search::{Found, find};
use super::split::Split;
use super::stacking::Stacking;

/// What is known of the plans, up to some cost, of a problem with spans.
#[derive(Debug, Clone)]
pub(super) struct Tied {
    /// The candidates of all plans that cost no more, and how their weights are split.
    pub(super) lists: Lists,
    pub(super) multipliers: Vec<i64>,
    /// No plan costs less.
    pub(super) floor: i64,
    /// Nor do those that are left out.
    pub(super) next: i64,
    /// The supports in the order in which they are settled.
    order: Vec<usize>,
    /// All spans, that over all supports too.
    spans: Vec<(Vec<usize>, i64)>,
}

/// What a search is for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted {
    /// The lowest top lies in this range,
    pub(super) range: [i64; 2],
    /// and the others are no further above it than this.
    pub(super) width: i64,
    /// The cheapest plan is sought that costs no more than the second, or one that costs no more than
    /// the first.
    pub(super) costs: [i64; 2],
}

/// The nodes that a search may spend before it gets more help.
#[derive(Debug, Clone, Copy)]
pub(super) struct Patience {
    /// So many before the multipliers are tuned,
    pub(super) untuned: u64,
    /// and so many for each support before the candidates are parted, and again in each part.
    pub(super) a_support: u64,
}

impl Patience {
    /// For a first look.
    pub(super) const FIRST: Self = Self { untuned: 1_000, a_support: 40 };
    /// Where a search without tuned multipliers has already looked.
    pub(super) const SECOND: Self = Self { untuned: 0, ..Self::FIRST };
}

/// What a search has told.
#[derive(Debug)]
pub(super) struct Told {
    pub(super) plan: Option<Stacking>,
    /// No other plan costs less.
    pub(super) next: i64,
    /// The multipliers of all that was searched, as they were tuned for it.
    pub(super) multipliers: Vec<i64>,
}

impl Tied {
    /// Passes of a rough split, there and back.
    const ROUGH: usize = 3;
    /// Steps of the multipliers,
    const STEPS: usize = 48;
    /// and in a part.
    const STEPS_OF_PART: usize = 24;

    /// Of lists that have all candidates of plans that cost at most `cost` and come within `width`;
    /// where there are no such plans, what others cost at the least.
    pub(super) fn new(
        model: &Model,
        lists: Lists,
        multipliers: &[i64],
        cost: i64,
        width: i64,
        meter: &mut Meter,
    ) -> Budgeted<Result<Self, i64>> {
        let mut spans = model.spans.clone();
        spans.push(((0..lists.of.len()).collect(), width));
        let order = order(model, &model.spans);
        let (multipliers, next) = (multipliers.to_vec(), cost + 1);
        let tied = Self { lists, multipliers, floor: 0, next, order, spans };
        tied.thinned(model, cost, Self::ROUGH, meter)
    }

    /// What is left of it where plans cost at most `cost`; where there are none, what others cost at
    /// the least.
    pub(super) fn up_to(
        &self,
        model: &Model,
        cost: i64,
        meter: &mut Meter,
    ) -> Budgeted<Result<Self, i64>> {
        let mut tied = self.clone();
        if let Some(split) = &self.lists.split {
            let mut left_out = i64::MAX;
            split.prune(&mut tied.lists.of, self.cap(model, cost), &mut left_out, meter)?;
            tied.leave_out(model, left_out);
        }
        tied.thinned(model, cost, Split::PASSES, meter)
    }

    fn thinned(
        mut self,
        model: &Model,
        cost: i64,
        passes: usize,
        meter: &mut Meter,
    ) -> Budgeted<Result<Self, i64>> {
        if self.bound(model) > cost * model.scale {
            return Ok(Err(self.next.min(model.unscaled(self.bound(model)))));
        }
        let cap = self.cap(model, cost);
        let start = self.lists.split.take();
        let (lists, start) = (&mut self.lists.of, start.as_ref());
        let (order, mut left_out) = (&self.order, i64::MAX);
        let split =
            Split::within(&self.spans, lists, order, start, (cap, passes), &mut left_out, meter)?;
        self.leave_out(model, left_out);
        let Some(split) = split else { return Ok(Err(self.next)) };
        self.lists.split = Some(split);
        self.floor = model.unscaled(self.bound(model));
        Ok(Ok(self))
    }

    /// The bound on what plans of its candidates cost, scaled.
    fn bound(&self, model: &Model) -> i64 {
        let split = self.lists.split.as_ref();
        split.map_or(i64::MIN, |split| split.bound() - model.worth(&self.multipliers))
    }

    fn leave_out(&mut self, model: &Model, weight: i64) {
        let cost = model.unscaled(weight.saturating_sub(model.worth(&self.multipliers)));
        self.next = self.next.min(cost);
    }

    /// What plans weigh that cost so much.
    fn cap(&self, model: &Model, cost: i64) -> i64 {
        (cost * model.scale).saturating_add(model.worth(&self.multipliers))
    }

    /// Searches for a plan, with the multipliers as they are, and where that takes long, with tuned ones
    /// and part by part.
    pub(super) fn search(
        &self,
        model: &Model,
        mut wanted: Wanted,
        Patience { untuned, a_support }: Patience,
        meter: &mut Meter,
    ) -> Budgeted<Told> {
        let mut told = Told { plan: None, next: i64::MAX, multipliers: self.multipliers.clone() };
        if untuned > 0
            && let Some(found) = self.find_within(untuned, model, wanted, meter)?
        {
            told.take(self, found);
            return Ok(told);
        }
        let mut tied = self.clone();
        tied.tune(model, wanted.costs[1], Self::STEPS, meter)?;
        told.multipliers.clone_from(&tied.multipliers);
        let tied = tied.thinned(model, wanted.costs[1], Split::PASSES, meter)?;
        let mut open = Vec::from_iter(told.left(tied));
        while let Some(tied) = open.pop() {
            let nodes = a_support * tied.lists.of.len() as u64 + tied.opening();
            let found = match tied.find_within(nodes, model, wanted, meter)? {
                Some(found) => found,
                None => match tied.parting(meter)? {
                    Some(parting) => {
                        let mut parts = Vec::with_capacity(2);
                        for more in [true, false] {
                            let part = tied.part(model, &parting, more, wanted.costs[1], meter)?;
                            parts.extend(told.left(part));
                        }
                        parts.sort_by_key(|part| Reverse(part.bound(model)));
                        open.extend(parts);
                        continue;
                    }
                    None => tied.find(model, wanted, meter)?,
                },
            };
            let better = found.plan.is_some();
            told.take(&tied, found);
            if let (true, Some(plan)) = (better, &told.plan) {
                wanted.costs[1] = plan.cost - 1;
                if wanted.costs[1] < wanted.costs[0] {
                    break;
                }
            }
        }
        Ok(told)
    }

    /// The first by the tie rule of the plans that are wanted; `plan` is any of them. Support by support it is
    /// asked for a plan with a stack that goes before that of the first so far.
    pub(super) fn first(
        mut self,
        model: &Model,
        wanted: Wanted,
        mut plan: Stacking,
        meter: &mut Meter,
    ) -> Budgeted<Stacking> {
        let cost = wanted.costs[1];
        self.tune(model, cost, Self::STEPS, meter)?;
        for support in 0..plan.tops.len() {
            let Ok(tied) = self.thinned(model, cost, Split::PASSES, meter)? else { break };
            self = tied;
            loop {
                let mut before = self.clone();
                before.keep(support, &plan, Ordering::is_lt);
                if before.lists.of[support].is_empty() {
                    break;
                }
                let Ok(before) = before.thinned(model, cost, Split::PASSES, meter)? else { break };
                match before.search(model, wanted, Patience::FIRST, meter)?.plan {
                    Some(first) => plan = first,
                    None => break,
                }
            }
            self.keep(support, &plan, Ordering::is_eq);
        }
        Ok(plan)
    }

    /// Leaves a support the stacks that stand so to that of a plan by the tie rule.
    fn keep(&mut self, support: usize, plan: &Stacking, is: impl Fn(Ordering) -> bool) {
        let mut list = std::mem::take(&mut self.lists.of[support]);
        let (counts, top) = (plan.stack(support), &plan.tops[support]);
        list.retain(|stack| is(prefer(self.lists.counts(stack), counts).then(stack.top.cmp(top))));
        self.lists.of[support] = list;
    }

    /// What a search finds.
    fn find(
        &self,
        model: &Model,
        Wanted { range, width, costs }: Wanted,
        meter: &mut Meter,
    ) -> Budgeted<Found> {
        let query = Query {
            lists: &self.lists,
            multipliers: &self.multipliers,
            window: [range[0], range[1] + width],
            width: Some(width),
            cost: costs[1],
            enough: costs[0],
            kinds: u128::MAX,
            ties: false,
        };
        find(model, &query, meter)
    }

    /// What a search finds with so many nodes at the most; none where it takes more.
    fn find_within(
        &self,
        nodes: u64,
        model: &Model,
        wanted: Wanted,
        meter: &mut Meter,
    ) -> Budgeted<Option<Found>> {
        meter.allow(Some(nodes));
        let found = self.find(model, wanted, meter);
        meter.allow(None);
        match found {
            Ok(found) => Ok(Some(found)),
            Err(_) if meter.has_left() => Ok(None),
            Err(exhausted) => Err(exhausted),
        }
    }

    /// The nodes that it takes to look through the candidates before a search, at the most.
    fn opening(&self) -> u64 {
        let work = self.lists.split.as_ref().map_or(0, Split::work);
        4 * (self.lists.len() as u64 + work) / LISTED_A_NODE
    }

    /// How to part what is open, if any kind parts it.
    fn parting(&self, meter: &mut Meter) -> Budgeted<Option<Parting>> {
        let Some(split) = &self.lists.split else { return Ok(None) };
        let kinds = self.multipliers.len() as u64;
        meter.spend((split.work() + kinds * self.lists.len() as u64) / LISTED_A_NODE)?;
        Ok(Parting::of(&self.lists, split, &self.multipliers))
    }

    /// What is left of one part where plans cost at most `cost`, with the multipliers tuned for it.
    fn part(
        &self,
        model: &Model,
        parting: &Parting,
        more: bool,
        cost: i64,
        meter: &mut Meter,
    ) -> Budgeted<Result<Self, i64>> {
        let mut part = self.clone();
        parting.take(more, &mut part.lists);
        match part.thinned(model, cost, Split::PASSES, meter)? {
            Ok(mut part) => {
                part.tune(model, cost, Self::STEPS_OF_PART, meter)?;
                part.thinned(model, cost, Split::PASSES, meter)
            }
            none => Ok(none),
        }
    }

    /// Tunes the multipliers for plans that cost at most `cost`, in so many steps.
    fn tune(&mut self, model: &Model, cost: i64, steps: usize, meter: &mut Meter) -> Budgeted<()> {
        let Some(mut split) = self.lists.split.take() else { return Ok(()) };
        let bound = |split: &Split, multipliers: &[i64]| split.bound() - model.worth(multipliers);
        let mut multipliers = self.multipliers.clone();
        let mut best = (bound(&split, &multipliers), multipliers.clone(), split.clone());
        let mut reach = model.scale;
        for step in 0..steps {
            if !step_up(model, &self.lists, &split, reach, &mut multipliers) {
                break;
            }
            self.lists.weigh(model, &multipliers);
            split.weigh(&self.lists.of);
            split.improve(&self.order, step % 2 == 0, meter)?;
            let now = bound(&split, &multipliers);
            if now > best.0 {
                best = (now, multipliers.clone(), split.clone());
            } else {
                reach = reach * 7 / 8;
            }
            if now > cost * model.scale {
                break;
            }
        }
        (_, self.multipliers, split) = best;
        self.lists.weigh(model, &self.multipliers);
        self.lists.split = Some(split);
        Ok(())
    }

    /// Takes over tuned multipliers.
    pub(super) fn weigh(&mut self, model: &Model, multipliers: Vec<i64>) {
        if multipliers != self.multipliers
            && let Some(mut split) = self.lists.split.take()
        {
            self.lists.weigh(model, &multipliers);
            split.weigh(&self.lists.of);
            self.lists.split = Some(split);
            self.multipliers = multipliers;
        }
    }
}

impl Told {
    /// Takes over what was found among some candidates.
    fn take(&mut self, tied: &Tied, found: Found) {
        self.next = self.next.min(found.next).min(tied.next);
        self.plan = found.plan.map(|plan| Stacking::new(&tied.lists, &plan)).or(self.plan.take());
    }

    /// The candidates that are left, if any plans are.
    fn left(&mut self, left: Result<Tied, i64>) -> Option<Tied> {
        left.map_err(|next| self.next = self.next.min(next)).ok()
    }
}

/// Moves the multipliers by the difference between the stock and what the lightest plan of the
/// bound uses. False where there is no difference to move by.
fn step_up(
    model: &Model,
    lists: &Lists,
    split: &Split,
    reach: i64,
    multipliers: &mut [i64],
) -> bool {
    let mut used = vec![0_i64; multipliers.len()];
    for candidate in split.lightest(&lists.of) {
        let counts = lists.counts(candidate);
        used.iter_mut().zip(counts).for_each(|(used, &count)| *used += i64::from(count));
    }
    let pull = |kind: usize| match model.counts[kind] {
        Some(count) if used[kind] > count.into() || multipliers[kind] > 0 => {
            (used[kind] - i64::from(count)) as f64
        }
        _ => 0.0,
    };
    let pulls: Vec<f64> = (0..used.len()).map(pull).collect();
    let norm: f64 = pulls.iter().map(|pull| pull * pull).sum();
    if norm == 0.0 {
        return false;
    }
    let length = reach as f64 / norm;
    for (multiplier, pull) in multipliers.iter_mut().zip(&pulls) {
        let to = (*multiplier as f64 + length * pull).round() as i64;
        *multiplier = to.clamp(0, model.multiplier_end);
    }
    true
}

/// Leaves in the lists what plans that cost at most `cost` and come within `width` can have, with the
/// split of their weights; false where there are no such plans.
pub(super) fn thin(
    model: &Model,
    lists: &mut Lists,
    multipliers: &[i64],
    cost: i64,
    width: i64,
    meter: &mut Meter,
) -> Budgeted<bool> {
    let mut spans = model.spans.clone();
    spans.push(((0..lists.of.len()).collect(), width));
    let order = order(model, &model.spans);
    let cap = (cost * model.scale).saturating_add(model.worth(multipliers));
    let start = lists.split.take();
    let (start, mut left_out) = (start.as_ref(), i64::MAX);
    let passes = Split::PASSES;
    lists.split =
        Split::within(&spans, &mut lists.of, &order, start, (cap, passes), &mut left_out, meter)?;
    Ok(lists.split.is_some())
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
    use crate::shim::candidate::Candidate;
    use crate::shim::levels::Levels;
    use crate::shim::problem::{Budget, ShimProblem, Support};
    use crate::shim::region::Region;
    use crate::stock::Shim;

    /// The costs of all plans of the lists that keep to limits and stock, with their candidates.
    fn plans(model: &Model, lists: &Lists, width: i64) -> Vec<(i64, Vec<Candidate>)> {
        let mut all = lists.choices();
        let mut spans = model.spans.clone();
        spans.push(((0..lists.of.len()).collect(), width));
        all.retain(|plan| {
            let tops = |members: &[usize]| -> Vec<i64> {
                members.iter().map(|&member| plan[member].top).collect()
            };
            let in_stock = (0..model.counts.len()).all(|kind| {
                let used = plan.iter().map(|candidate| lists.counts(candidate)[kind]).sum();
                model.counts[kind].is_none_or(|count| count >= used)
            });
            in_stock
                && plan.iter().zip(&model.anchors).any(|(c, &anchor)| anchor && c.kinds == 0)
                && spans.iter().all(|(members, width)| {
                    let tops = tops(members);
                    tops.iter().max().zip(tops.iter().min()).is_none_or(|(a, b)| a - b <= *width)
                })
        });
        all.into_iter().map(|plan| (plan.iter().map(|c| c.cost).sum(), plan)).collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1500))]

        /// Whatever is left out, tuned and taken over: no plan within the cost is lost, and no plan
        /// costs less than is told.
        #[test]
        fn no_plan_is_lost(
            heights in prop::collection::vec(-16..=0_i64, 4..7),
            kinds in prop::collection::vec((1..9_i64, 1..4_u32), 2..4),
            widths in (0..5_i64, 0..5_i64, 1..8_i64),
            reach in 0..12_i64,
            patience in (0..2_u64, 0..2_u64),
        ) {
            let patience = Patience { untuned: patience.0, a_support: patience.1 };
            let at = |(place, &height): (usize, &i64)| Support {
                x: Length::from_nm(place as i64 / 2 * 1_000_000_000),
                y: Length::from_nm(place as i64 % 2 * 1_000_000_000),
                height: Length::from_nm(height),
            };
            let shim = |&(thickness, count): &(i64, u32)| {
                Shim::new(Length::from_nm(thickness), Some(count))
            };
            let mut limits = Limits::overall(Length::from_nm(widths.2));
            limits.along = Some(Length::from_nm(widths.0));
            limits.across = Some(Length::from_nm(widths.1));
            let supports = heights.iter().enumerate().map(at).collect();
            let problem = ShimProblem::new(supports, kinds.iter().map(shim).collect(), limits);
            let asked = Asked::new(&problem, Deadline::never()).unwrap();
            let model = asked.model().unwrap();
            let anchor = model.anchor.unwrap();
            let mut levels = Levels::new(&model, Meter::new(&Budget::default(), NEVER));
            let mut region = Region::root(model.width, anchor, &model);
            let target = model.cost_end;
            let meter = &mut Meter::new(&Budget::default(), NEVER);
            if !region.exclude(&model, &mut levels.stacks, model.width, target, meter).unwrap() {
                return Ok(());
            }
            let most = (region.floor + reach).min(model.cost_end);
            let lists = levels.lists(&region, model.width, most).unwrap();
            if lists.of.iter().map(Vec::len).product::<usize>() > 20_000 {
                return Ok(());
            }
            let all = plans(&model, &lists, model.width);
            let least = all.iter().map(|&(cost, _)| cost).min().unwrap_or(i64::MAX);
            let told = Tied::new(&model, lists, &region.multipliers, most, model.width, meter);
            let mut tied = match told.unwrap() {
                Ok(tied) => tied,
                Err(next) => {
                    prop_assert!(least >= next && next > most, "{least} is below {next}");
                    return Ok(());
                }
            };
            prop_assert!(tied.floor <= least);
            for cost in tied.floor..=most {
                let holds = |told: &Result<Tied, i64>| match told {
                    Ok(tied) => {
                        let left = plans(&model, &tied.lists, model.width);
                        let within = |plans: &[(i64, Vec<Candidate>)]| {
                            plans.iter().filter(|(of, _)| *of <= cost).count()
                        };
                        tied.floor <= least && tied.next > cost && within(&left) == within(&all)
                            && all.iter().filter(|(of, _)| *of > cost).all(|(of, _)| {
                                *of >= tied.next || left.iter().any(|(other, _)| of == other)
                            })
                    }
                    Err(next) => *next > cost && least >= *next,
                };
                let up_to = tied.up_to(&model, cost, meter).unwrap();
                prop_assert!(holds(&up_to), "up to {cost}, {least}");
                let Ok(up_to) = up_to else { continue };
                for floor in [tied.floor, cost] {
                    let wanted =
                        Wanted { range: region.range, width: model.width, costs: [floor, cost] };
                    let told = up_to.search(&model, wanted, patience, meter).unwrap();
                    match told.plan {
                        Some(plan) if floor == cost => prop_assert!(plan.cost <= cost),
                        Some(plan) => prop_assert_eq!(plan.cost, least),
                        None => prop_assert!(least > cost && told.next <= least && told.next > cost),
                    }
                }
                let wanted =
                    Wanted { range: region.range, width: model.width, costs: [cost, cost] };
                let told = up_to.search(&model, wanted, patience, meter).unwrap();
                if let Some(plan) = told.plan {
                    let first = up_to.clone().first(&model, wanted, plan, meter).unwrap();
                    let within = all.iter().filter(|(of, _)| *of <= cost);
                    let within = within.map(|(_, plan)| Stacking::new(&up_to.lists, plan));
                    let before = within.min_by(Stacking::prefer).map(|plan| plan.counts);
                    prop_assert_eq!(Some(first.counts), before);
                }
                let mut tuned = up_to.clone();
                tuned.tune(&model, cost, Tied::STEPS, meter).unwrap();
                let multipliers = tuned.multipliers.clone();
                let tuned = tuned.thinned(&model, cost, Split::PASSES, meter).unwrap();
                prop_assert!(holds(&tuned), "tuned up to {cost}, {least}");
                tied.weigh(&model, multipliers);
            }
        }
    }
}

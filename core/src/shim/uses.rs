//! What plans take from the stock: of one plan that meets the limits, and of all up to a cost.

use super::asked::Asked;
use super::budget::{Budgeted, Meter};
use super::candidate::Candidate;
use super::levels::Levels;
use super::lists::Lists;
use super::model::Model;
use super::problem::{Budget, ShimProblem};
use super::region::Region;
use super::solver::plan_within_limits;
use crate::error::Error;

/// The pieces of a plan that meets the limits.
pub(crate) enum Use {
    /// Of each kind of the stock.
    Pieces(Vec<u32>),
    /// There is no plan.
    None,
    /// The search ended before it was known.
    Unknown,
}

/// What some plan takes that meets the limits; a plan of the least cost where one is soon found. It may take so
/// many nodes, or the budget of the problem.
pub(crate) fn use_if_possible(
    problem: &ShimProblem,
    nodes: Option<u64>,
    stop: &dyn Fn() -> bool,
) -> Result<Use, Error> {
    /// The least cost is not looked for any longer.
    const SOON: u64 = 4_000;
    let budget = problem.options.budget;
    let within = |nodes: u64| Budget { nodes: nodes.min(budget.nodes), ..budget };
    let mut meter = Meter::new(&within(nodes.unwrap_or(u64::MAX)), stop);
    let asked = Asked::new(problem, meter.deadline())?;
    let model = asked.model()?;
    if problem.limits.allow_tilt() || asked.guard.is_some() {
        return Ok(match plan_within_limits(&asked, &model, &mut meter)? {
            Some(plan) if plan.meets_limits => Use::Pieces(plan.used),
            Some(_) => Use::Unknown,
            None => Use::None,
        });
    }
    let soon = Meter::new(&within(nodes.unwrap_or(SOON)), stop);
    let least = Levels::new(&model, soon).least_cost(model.width);
    let found = least.or_else(|_| Levels::new(&model, meter).some_cost(model.width));
    Ok(match found {
        Ok(Some(least)) => {
            let mut used = vec![0; problem.stock.len()];
            for counts in least.stacking.stacks() {
                counts.iter().zip(&model.kinds).for_each(|(count, &kind)| used[kind] += count);
            }
            Use::Pieces(used)
        }
        Ok(None) => Use::None,
        Err(_) => Use::Unknown,
    })
}

/// Pieces of each kind as one number: seven bits a kind, and one that stays free.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Packed(u128);

impl Packed {
    const BITS: usize = 8;
    /// The most kinds, and the most pieces of a kind.
    pub(crate) const KINDS: usize = 16;
    pub(crate) const MOST: u32 = 127;
    const FREE: u128 = u128::from_ne_bytes([0x80; 16]);

    /// Counts within [`Packed::KINDS`] and [`Packed::MOST`].
    pub(crate) fn of(counts: impl Iterator<Item = u32>) -> Self {
        let place = |(kind, count): (usize, u32)| u128::from(count) << (Self::BITS * kind);
        Self(counts.enumerate().map(place).sum())
    }

    pub(crate) fn count(self, kind: usize) -> u32 {
        (self.0 >> (Self::BITS * kind)) as u32 & Self::MOST
    }

    /// Both together, unless that is more than so many of a kind.
    fn plus(self, other: Self, most: Self) -> Option<Self> {
        let sum = self.0 + other.0;
        let fits =
            sum & Self::FREE == 0 && ((most.0 | Self::FREE) - sum) & Self::FREE == Self::FREE;
        fits.then_some(Self(sum))
    }
}

/// Visits what the plans take that meet the limits and whose first goal comes to less than `end`. Some may be
/// visited more than once, and some that take no less than others are left out. False where there are too many,
/// or where limits other than the overall one bind.
pub(crate) fn each_use(
    problem: &ShimProblem,
    end: u64,
    stop: &dyn Fn() -> bool,
    visitor: &mut dyn FnMut(Packed),
) -> Result<bool, Error> {
    let mut meter = Meter::new(&Budget { nodes: Uses::NODES, time_ms: None }, stop);
    let asked = Asked::new(problem, meter.deadline())?;
    let model = asked.model()?;
    let most = |count: Option<u32>| count.is_some_and(|count| count <= Packed::MOST);
    if problem.limits.allow_tilt()
        || asked.guard.is_some()
        || problem.placed.is_some()
        || !model.spans.is_empty()
        || model.adjustable < model.kinds.len()
        || problem.stock.len() > Packed::KINDS
        || !problem.stock.iter().all(|shim| most(shim.count))
    {
        return Ok(false);
    }
    let end = i64::try_from(end).unwrap_or(i64::MAX).saturating_mul(model.costs.unit);
    let most = Packed::of(problem.stock.iter().map(|shim| shim.count.unwrap_or(0)));
    let mut uses = Uses { model: &model, most, cost: end.min(model.cost_end) - 1 };
    Ok(uses.each(&mut meter, visitor).is_ok())
}

/// Plans up to a cost.
struct Uses<'a> {
    model: &'a Model,
    most: Packed,
    cost: i64,
}

/// Stacks of some of the supports.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Part {
    taken: Packed,
    low: i64,
    high: i64,
    /// Whether one of those is bare that may stay so.
    bare: bool,
    cost: i64,
}

impl Uses<'_> {
    /// What is worth it for one problem: some tens of milliseconds.
    const NODES: u64 = 1_000_000;

    fn each(&mut self, meter: &mut Meter<'_>, visitor: &mut dyn FnMut(Packed)) -> Budgeted<()> {
        let model = self.model;
        let mut levels = Levels::new(model, meter.clone());
        let Some(anchor) = model.anchor.filter(|&anchor| model.heights[anchor] >= -model.width)
        else {
            return Ok(());
        };
        let mut region = Region::root(model.width, anchor, model);
        let Levels { stacks, meter, .. } = &mut levels;
        if !region.exclude(model, stacks, model.width, self.cost, meter)?
            || region.floor > self.cost
        {
            return Ok(());
        }
        let lists = levels.lists(&region, model.width, self.cost)?;
        self.combine(&lists, &mut levels.meter, visitor)
    }

    /// Puts the stacks of all supports together, one support after the other.
    fn combine(
        &self,
        lists: &Lists,
        meter: &mut Meter<'_>,
        visitor: &mut dyn FnMut(Packed),
    ) -> Budgeted<()> {
        let packed = |candidate: &Candidate| {
            let mut counts = [0; Packed::KINDS];
            for (&count, &kind) in lists.counts(candidate).iter().zip(&self.model.kinds) {
                counts[kind] = count;
            }
            (*candidate, Packed::of(counts.into_iter()))
        };
        let mut supports: Vec<(Vec<(Candidate, Packed)>, bool)> = lists
            .of
            .iter()
            .zip(&self.model.anchors)
            .map(|(list, &anchor)| (list.iter().map(packed).collect(), anchor))
            .collect();
        supports.sort_by_key(|(list, _)| list.len());
        let least = |list: &[(Candidate, Packed)]| list.iter().map(|(it, _)| it.cost).min();
        let mut rest: i64 = supports.iter().filter_map(|(list, _)| least(list)).sum();
        let none = Packed::of(std::iter::empty());
        let mut parts =
            vec![Part { taken: none, low: i64::MAX, high: i64::MIN, bare: false, cost: 0 }];
        for (at, (list, anchor)) in supports.iter().enumerate() {
            rest -= least(list).unwrap_or(0);
            let is_last = at + 1 == supports.len();
            let mut longer = Vec::new();
            for part in &parts {
                meter.spend(1 + list.len() as u64 / 8)?;
                for (candidate, pieces) in list {
                    let (low, high) = (part.low.min(candidate.top), part.high.max(candidate.top));
                    let cost = part.cost + candidate.cost;
                    let bare = part.bare || (*anchor && candidate.kinds == 0);
                    if high - low > self.model.width
                        || cost + rest > self.cost
                        || (is_last && !bare)
                    {
                        continue;
                    }
                    let Some(taken) = part.taken.plus(*pieces, self.most) else { continue };
                    match is_last {
                        true => visitor(taken),
                        false => longer.push(Part { taken, low, high, bare, cost }),
                    }
                }
            }
            longer.sort_unstable();
            longer.dedup();
            parts = longer;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::length::Length;
    use crate::limits::Limits;
    use crate::shim::budget::NEVER;
    use crate::shim::{Order, Support, plan_if_possible};
    use crate::stock::Shim;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        /// A kit that costs less than the end has a plan where it has the pieces of a plan that was visited,
        /// and nowhere else.
        #[test]
        fn kits_have_the_plans_that_were_visited(
            heights in prop::collection::vec(0..24_i64, 2..5),
            kinds in prop::collection::vec((1..9_i64, 0..4_u32), 2..4),
            width in 1..4_i64,
            end in 1..12_u64,
            keep_highest: bool,
            cheapest: bool,
        ) {
            let um = |um: i64| Length::from_nm(um * 1000);
            let support = |(at, &height): (usize, &i64)| {
                Support { x: um(1000 * at as i64), y: um(0), height: um(3 * height) }
            };
            let shim = |&(thickness, price): &(i64, u32)| {
                Shim { price, ..Shim::new(um(10 * thickness), Some(4)) }
            };
            let mut problem = ShimProblem::new(
                heights.iter().enumerate().map(support).collect(),
                kinds.iter().map(shim).collect(),
                Limits::overall(um(2 * width)),
            );
            problem.options.keep_highest = keep_highest;
            problem.options.order = if cheapest { Order::Cheapest } else { Order::FewestPieces };
            let mut visited = Vec::new();
            let visit = &mut |pieces: Packed| {
                visited.push((0..kinds.len()).map(|kind| pieces.count(kind)).collect::<Vec<_>>());
            };
            prop_assert!(each_use(&problem, end, NEVER, visit).unwrap());
            for number in 0..5_u32.pow(kinds.len() as u32) {
                let kit: Vec<u32> = (0..kinds.len()).map(|at| number / 5_u32.pow(at as u32) % 5).collect();
                let price = |kind: usize| if cheapest { kinds[kind].1 } else { 1 };
                let cost: u32 = (0..kit.len()).map(|kind| kit[kind] * price(kind)).sum();
                if u64::from(cost) >= end {
                    continue;
                }
                let mut stocked = problem.clone();
                stocked.stock.iter_mut().zip(&kit).for_each(|(shim, &n)| shim.count = Some(n));
                let plan = plan_if_possible(&stocked, NEVER).unwrap();
                let below = |used: &Vec<u32>| used.iter().zip(&kit).all(|(used, kit)| used <= kit);
                prop_assert_eq!(plan.is_some(), visited.iter().any(below), "{:?}", kit);
            }
        }
    }
}

//! The least cost where nothing runs out.
//!
//! No support takes what another needs, so in every window each has the cheapest stack of its own. As a
//! window moves up, that changes only where a stack leaves it below or comes in above; one sweep over
//! these levels adds up what all supports cost.

use super::budget::{Budgeted, Meter};
use super::model::Model;
use super::stacks::{Stacks, Weights};

/// The least cost of a plan with all tops in [L, L + `width`] for some L in the range, and all such L, in
/// few ranges; none where no window has room for all supports. The range begins at -`width` and goes up
/// to zero at the most, so every window is around zero.
pub(super) fn least_in(
    model: &Model,
    stacks: &mut Stacks<'_>,
    [low, high]: [i64; 2],
    width: i64,
    meter: &mut Meter,
) -> Budgeted<Option<(i64, Vec<[i64; 2]>)>> {
    let weights = Weights::new(model, &vec![0; model.thickness.len()]);
    let none = model.cost_end * model.scale;
    // What all supports weigh in the first window, and by how much that changes at each level.
    let mut first = 0;
    let mut changes: Vec<(i64, i64)> = Vec::new();
    for support in 0..model.heights.len() {
        let mut best = Best::new(width);
        stacks.visit(
            support,
            [-width, width],
            i64::MAX,
            &weights,
            meter,
            &mut |_, top, weight| best.add(top, weight),
        )?;
        let mut levels: Vec<i64> = best.below.iter().map(|(top, _)| top + 1).collect();
        levels.extend(best.above.iter().map(|(top, _)| top - width));
        levels.retain(|level| (low + 1..=high).contains(level));
        levels.sort_unstable();
        levels.dedup();
        let mut before = best.at(low).unwrap_or(none);
        first += before;
        for level in levels {
            let weight = best.at(level).unwrap_or(none);
            if weight != before {
                changes.push((level, weight - before));
                before = weight;
            }
        }
    }
    meter.spend(changes.len() as u64 / 4)?; // as tops are sorted
    changes.sort_unstable();
    let (least, ranges) = least_of(first, &changes, [low, high]);
    let cost = model.unscaled(least);
    Ok((cost < model.cost_end).then_some((cost, ranges)))
}

/// The least of a sum that changes at levels of a range, and where it is that: in ranges one after the
/// other, of which there are few.
fn least_of(first: i64, changes: &[(i64, i64)], [low, high]: [i64; 2]) -> (i64, Vec<[i64; 2]>) {
    /// Neighbours are taken together beyond so many.
    const MOST_RANGES: usize = 4;
    let mut pieces = vec![(low, first)];
    let (mut least, mut sum) = (first, first);
    for at in changes.chunk_by(|a, b| a.0 == b.0) {
        sum += at.iter().map(|(_, change)| change).sum::<i64>();
        if sum < least {
            least = sum;
            pieces.clear();
        }
        // A higher sum ends the range.
        let open = pieces.last().is_some_and(|piece| piece.1 == least);
        if sum == least || open {
            pieces.push((at[0].0, sum));
        }
    }
    let mut ranges: Vec<[i64; 2]> = Vec::new();
    for (at, piece) in pieces.iter().enumerate().filter(|(_, piece)| piece.1 == least) {
        let end = pieces.get(at + 1).map_or(high, |next| next.0 - 1);
        let full = ranges.len() == MOST_RANGES;
        match ranges.last_mut() {
            Some(last) if last[1] + 1 == piece.0 || full => last[1] = end,
            _ => ranges.push([piece.0, end]),
        }
    }
    (least, ranges)
}

/// The lightest stacks of a support: of those below zero with the top no lower than that of a heavier
/// one, of those above no higher. What is at zero is both.
struct Best {
    width: i64,
    below: Vec<(i64, i64)>,
    above: Vec<(i64, i64)>,
    /// A heavier stack is the lightest of no window.
    cap: i64,
}

impl Best {
    fn new(width: i64) -> Self {
        Self { width, below: Vec::new(), above: Vec::new(), cap: i64::MAX }
    }

    /// Adds a stack, and returns what another may weigh at the most.
    fn add(&mut self, top: i64, weight: i64) -> i64 {
        let (below, above) = (&mut self.below, &mut self.above);
        if top <= 0 && !below.iter().any(|other| other.0 >= top && other.1 <= weight) {
            below.retain(|other| other.0 > top || other.1 < weight);
            below.push((top, weight));
        }
        if top >= 0 && !above.iter().any(|other| other.0 <= top && other.1 <= weight) {
            above.retain(|other| other.0 < top || other.1 < weight);
            above.push((top, weight));
        }
        // Of two stacks on both sides of zero no further apart than a window is wide, every window has
        // one.
        let pairs = below.iter().flat_map(|a| above.iter().map(move |b| (a, b)));
        let near = pairs.filter(|(a, b)| b.0 - a.0 <= self.width);
        self.cap = near.map(|(a, b)| a.1.max(b.1) - 1).min().unwrap_or(self.cap).min(self.cap);
        self.cap
    }

    /// The least weight in the window whose lower end is at a level; none where it has no stack.
    fn at(&self, level: i64) -> Option<i64> {
        let below = self.below.iter().filter(|(top, _)| *top >= level);
        let above = self.above.iter().filter(|(top, _)| *top - level <= self.width);
        below.chain(above).map(|(_, weight)| *weight).min()
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

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(4000))]

        /// At every level the sweep adds up the lightest stacks of all supports, tried one by one.
        #[test]
        fn the_sweep_is_what_all_windows_cost(
            heights in prop::collection::vec(-30..0_i64, 0..5),
            kinds in prop::collection::vec((1..12_i64, 0..6_u32), 1..4),
            width in 0..12_i64,
        ) {
            let at = |(place, height): (usize, i64)| Support {
                x: Length::from_nm(place as i64),
                y: Length::ZERO,
                height: Length::from_nm(height),
            };
            let supports = heights.iter().copied().chain([0]).enumerate().map(at).collect();
            let stock = kinds.iter().map(|&(nm, price)| Shim {
                price,
                ..Shim::new(Length::from_nm(nm), None)
            });
            let limits = Limits::overall(Length::from_nm(width));
            let mut problem = ShimProblem::new(supports, stock.collect(), limits);
            problem.options.order = crate::shim::problem::Order::Cheapest;
            let asked = Asked::new(&problem, Deadline::never()).unwrap();
            let model = asked.model().unwrap();
            prop_assert!(model.is_ample());
            let meter = &mut Meter::new(&Budget::default(), NEVER);
            let width = model.width;
            let weights = Weights::new(&model, &vec![0; model.thickness.len()]);
            let mut counts = vec![0; model.thickness.len()];
            let mut cost = |low: i64| {
                let lightest = |support| {
                    let tops = [low, low + width];
                    let stacks = &mut Stacks::new(&model);
                    let found = stacks.lightest(support, tops, &weights, &mut counts, meter);
                    found.unwrap().map(|(weight, _)| weight / model.scale)
                };
                (0..model.heights.len()).map(lightest).sum::<Option<i64>>()
            };
            let all: Vec<(i64, Option<i64>)> = (-width..=0).map(|low| (low, cost(low))).collect();
            let least = all.iter().filter_map(|(_, cost)| *cost).min();
            let meter = &mut Meter::new(&Budget::default(), NEVER);
            let found = least_in(&model, &mut Stacks::new(&model), [-width, 0], width, meter).unwrap();
            prop_assert_eq!(found.as_ref().map(|found| found.0), least);
            for (low, cost) in all.into_iter().filter(|(_, cost)| cost.is_some() && *cost == least) {
                let ranges = &found.as_ref().unwrap().1;
                prop_assert!(ranges.iter().any(|range| (range[0]..=range[1]).contains(&low)), "{cost:?}");
            }
        }

        #[test]
        fn ranges_are_where_the_sum_is_least(
            first in 0..3_i64,
            changes in prop::collection::vec((1..20_i64, -2..3_i64), 0..12),
        ) {
            let mut changes = changes;
            changes.sort_unstable();
            let sum = |at: i64| {
                let before = changes.iter().filter(|(level, _)| *level <= at);
                first + before.map(|(_, change)| change).sum::<i64>()
            };
            let (least, ranges) = least_of(first, &changes, [0, 20]);
            prop_assert_eq!(Some(least), (0..=20).map(sum).min());
            let inside = |at: i64| ranges.iter().any(|range| (range[0]..=range[1]).contains(&at));
            for at in 0..=20 {
                prop_assert!(inside(at) || sum(at) > least);
                prop_assert!(!inside(at) || sum(at) == least || ranges.len() == 4);
            }
        }
    }
}

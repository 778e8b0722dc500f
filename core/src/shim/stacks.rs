//! Reachable stacks: the multisets of shims whose thickness falls into a window.
//!
//! Stacks are built kind by kind from the thickest down, most pieces first, an adjustable piece
//! last. A branch is left as soon as the kinds that remain cannot reach the window, cannot hit it
//! (their greatest common divisor steps over it), or cannot do it within the weight allowed, told
//! by the least weight per thickness and per piece among them. Where a stack is in place, its
//! pieces are held to be there for the least that they can weigh.

use super::budget::{Budgeted, Meter};
use super::candidate::LISTED_A_NODE;
use super::costs::Costs;
use super::model::{Home, Model};

/// The weight of a piece of each kind and of a lift: the costs, scaled, plus the multipliers.
#[derive(Debug, Clone)]
pub(super) struct Weights {
    /// Of each kind, and of none after the last.
    kinds: Vec<KindWeights>,
    /// The weight of a piece taken out, or set anew,
    moved: i64,
    /// and of a lift.
    lift: i64,
}

/// What pieces of a kind weigh, and what is known of it and of the kinds after it.
#[derive(Debug, Clone, Copy)]
struct KindWeights {
    piece: i64,
    /// The weight of a piece that stays where it is: the multiplier alone.
    kept: i64,
    /// Least weight per thickness from this kind on, a hair too small.
    density: f64,
    /// Least weight of a piece from this kind on, and the greatest thickness.
    lightest: i64,
    thickest: i64,
}

impl Weights {
    pub(super) fn new(model: &Model, multipliers: &[i64]) -> Self {
        let cost = |kind: usize| model.costs.piece[kind] * model.scale;
        let lift = model.costs.lift * model.scale;
        Self::with(model, multipliers, (cost, lift))
    }

    /// Those of the multipliers alone, whatever pieces and lifts cost.
    pub(super) fn of_stock(model: &Model, multipliers: &[i64]) -> Self {
        Self::with(model, multipliers, (|_| 0, 0))
    }

    fn with(
        model: &Model,
        multipliers: &[i64],
        (cost, lift): (impl Fn(usize) -> i64, i64),
    ) -> Self {
        let after = KindWeights {
            piece: 0,
            kept: 0,
            density: f64::INFINITY,
            lightest: i64::MAX,
            thickest: 1,
        };
        let mut kinds = vec![after; multipliers.len() + 1];
        let mut from = after;
        for at in (0..multipliers.len()).rev() {
            let piece = cost(at) + multipliers[at];
            // Rounding must not make the bound too large.
            let own = piece as f64 / model.thickness[at] as f64 * (1.0 - 1e-12);
            from = KindWeights {
                piece,
                kept: multipliers[at],
                density: from.density.min(own),
                lightest: from.lightest.min(piece),
                thickest: from.thickest.max(model.thickness[at]),
            };
            kinds[at] = from;
        }
        Self { kinds, moved: Costs::MOVE * model.scale, lift }
    }

    /// The least that a thickness weighs in kinds from `from` on.
    fn of(&self, thickness: i64, from: usize) -> i64 {
        if thickness <= 0 {
            return 0;
        }
        // Pieces are whole.
        let pieces = (thickness - 1) / self.kinds[from].thickest + 1;
        self.filled(thickness, from).max(pieces.saturating_mul(self.kinds[from].lightest))
    }

    /// The least that it weighs if pieces could be parted.
    fn filled(&self, thickness: i64, from: usize) -> i64 {
        (thickness as f64 * self.kinds[from].density) as i64
    }

    /// What so many pieces of a kind weigh where so many were in place.
    fn pieces(&self, kind: usize, count: i64, before: i64) -> i64 {
        if before == 0 {
            return count * self.kinds[kind].piece;
        }
        (count - before).max(0) * self.kinds[kind].piece
            + count.min(before) * self.kinds[kind].kept
            + (before - count).max(0) * self.moved
    }
}

/// Facts about the kinds from each on, shared by all searches of a model.
#[derive(Debug)]
pub(super) struct Stacks<'a> {
    model: &'a Model,
    /// All pieces of the kinds from each on, one on top of the other; nothing after the last.
    room: Vec<i64>,
    /// Greatest common divisor of the thicknesses of the kinds from each on.
    step: Vec<i64>,
    /// The least that can go on top of a stack.
    thinnest: i64,
    /// Pieces left of each limited kind.
    left: Vec<Option<u32>>,
    /// The stack being built: pieces of each kind.
    counts: Vec<u32>,
    /// What is in place.
    before: Before,
}

/// The stack in place under the support at hand; all zero where there is none.
#[derive(Debug)]
struct Before {
    counts: Vec<i64>,
    setting: i64,
    /// Of its pieces of the kinds from each on: the least that they weigh,
    least: Vec<i64>,
    /// what they weigh if they are all taken out,
    out: Vec<i64>,
    /// and what they lift by.
    lift: Vec<i64>,
}

impl Before {
    fn none(kinds: usize) -> Self {
        let zeros = || vec![0; kinds + 1];
        Self { counts: zeros(), setting: 0, least: zeros(), out: zeros(), lift: zeros() }
    }

    fn new(home: &Home, model: &Model, weights: &Weights) -> Self {
        let kinds = home.counts.len();
        let mut before = Self { setting: home.setting, ..Self::none(kinds) };
        for at in (0..kinds).rev() {
            let count = i64::from(home.counts[at]);
            let out = count * weights.moved;
            before.counts[at] = count;
            before.least[at] = before.least[at + 1] + out.min(count * weights.kinds[at].kept);
            before.out[at] = before.out[at + 1] + out;
            before.lift[at] = before.lift[at + 1] + count * model.thickness[at];
        }
        before
    }
}

/// A window of thickness and the most weight that a stack may have.
#[derive(Debug, Clone, Copy)]
struct Aim {
    low: i64,
    high: i64,
    cap: i64,
    /// A lower bound on the weight of what was left out for its weight.
    cut: i64,
}

/// A stack that is being built.
#[derive(Debug, Clone, Copy)]
struct Partial {
    sum: i64,
    weight: i64,
    pieces: u32,
}

/// Is given the pieces of each kind of a stack, the support's top on it, and what it weighs;
/// returns the cap from there on.
pub(super) type Visitor<'v> = dyn FnMut(&[u32], i64, i64) -> i64 + 'v;

impl<'a> Stacks<'a> {
    pub(super) fn new(model: &'a Model) -> Self {
        let kinds = model.thickness.len();
        let mut step = vec![0; kinds];
        let mut divisor = 0;
        for at in (0..kinds).rev() {
            divisor = match at.checked_sub(model.adjustable) {
                None => gcd(model.thickness[at], divisor),
                Some(at) => gcd(model.settings[at].least, gcd(model.settings[at].step, divisor)),
            };
            step[at] = divisor;
        }
        let left = model.counts.clone();
        let (counts, before) = (vec![0; kinds], Before::none(kinds));
        let plain = &model.thickness[..model.adjustable];
        let settings = model.settings.iter().map(|settings| settings.least);
        let thinnest = plain.iter().copied().chain(settings).min().unwrap_or(i64::MAX);
        let room = vec![0; kinds + 1];
        let mut stacks = Self { model, room, step, thinnest, left, counts, before };
        stacks.measure();
        stacks
    }

    /// Takes pieces out of what is left.
    pub(super) fn take(&mut self, counts: &[u32]) {
        for (left, count) in self.left.iter_mut().zip(counts) {
            *left = left.map(|left| left.saturating_sub(*count));
        }
        self.measure();
    }

    /// Measures the room that is left.
    fn measure(&mut self) {
        for at in (0..self.left.len()).rev() {
            let all = |count: u32| self.model.thickness[at].saturating_mul(count.into());
            self.room[at] = self.room[at + 1].saturating_add(self.left[at].map_or(i64::MAX, all));
        }
    }

    /// The lightest stack that brings a support's top into [low, high], with its weight and top;
    /// fills `counts`.
    pub(super) fn lightest(
        &mut self,
        support: usize,
        [low, high]: [i64; 2],
        weights: &Weights,
        counts: &mut [u32],
        meter: &mut Meter,
    ) -> Budgeted<Option<(i64, i64)>> {
        let mut best = None;
        self.visit(support, [low, high], i64::MAX, weights, meter, &mut |stack, top, weight| {
            best = Some((weight, top));
            counts.copy_from_slice(stack);
            weight - 1
        })?;
        Ok(best)
    }

    /// Visits every stack of at most `cap` weight that brings a support's top into [low, high].
    /// Returns a lower bound on the weight of the stacks left out for it, `i64::MAX` for none.
    pub(super) fn visit(
        &mut self,
        support: usize,
        [low, high]: [i64; 2],
        cap: i64,
        weights: &Weights,
        meter: &mut Meter,
        visitor: &mut Visitor<'_>,
    ) -> Budgeted<i64> {
        let model = self.model;
        let height = model.heights[support];
        let mut aim = Aim {
            low: (low - height).max(0),
            high: (high - height).min(model.max_stack),
            cap,
            cut: i64::MAX,
        };
        if aim.low > aim.high {
            return Ok(i64::MAX);
        }
        // A support that alone must stay bare has no other stack.
        let bare_only = model.lone_anchor == Some(support);
        let home = model.home(support);
        if let Some(home) = home {
            self.before = Before::new(home, model, weights);
            if !bare_only {
                self.stay(support, home, &mut aim, weights, visitor);
            }
        }
        if aim.low == 0 {
            let weight = self.before.out[0] + if home.is_some() { weights.lift } else { 0 };
            if weight <= aim.cap {
                aim.cap = visitor(&self.counts, height, weight);
            } else {
                aim.cut = aim.cut.min(weight);
            }
        }
        let empty = Partial { sum: 0, weight: weights.lift, pieces: 0 };
        let done = match bare_only {
            true => Ok(()),
            false => self.descend(support, 0, empty, &mut aim, weights, meter, visitor),
        };
        if home.is_some() {
            self.before = Before::none(self.counts.len());
        }
        done.map(|()| aim.cut)
    }

    /// Visits the stack in place, which costs nothing.
    fn stay(
        &self,
        support: usize,
        home: &Home,
        aim: &mut Aim,
        weights: &Weights,
        visitor: &mut Visitor<'_>,
    ) {
        let allowed = |(kind, &count): (usize, &u32)| {
            let in_stock = self.left[kind].is_none_or(|left| count <= left);
            count == 0 || (in_stock && self.model.allows(support, kind))
        };
        if !(aim.low..=aim.high).contains(&home.lift)
            || home.pieces > self.model.max_pieces
            || !home.counts.iter().enumerate().all(allowed)
        {
            return;
        }
        let height = self.model.heights[support];
        let kept = |(&count, kind): (&u32, &KindWeights)| i64::from(count) * kind.kept;
        let weight = home.counts.iter().zip(&weights.kinds).map(kept).sum();
        if weight <= aim.cap {
            aim.cap = visitor(&home.counts, height + home.lift, weight);
        } else {
            aim.cut = aim.cut.min(weight);
        }
    }

    /// Visits what kinds from `from` on make of a stack, each with at least one more piece.
    #[expect(clippy::too_many_arguments, reason = "the state of one recursion, kept in registers")]
    fn descend(
        &mut self,
        support: usize,
        from: usize,
        so_far: Partial,
        aim: &mut Aim,
        weights: &Weights,
        meter: &mut Meter,
        visitor: &mut Visitor<'_>,
    ) -> Budgeted<()> {
        let model = self.model;
        let height = model.heights[support];
        let Partial { sum, mut weight, pieces } = so_far;
        for kind in from..model.adjustable {
            let thickness = model.thickness[kind];
            let (need, slack) = (aim.low - sum, aim.high - sum);
            let before = self.before.counts[kind];
            if slack < thickness {
                // The next kind is asked for the rest.
                weight += before * weights.moved;
                continue;
            }
            let step = self.step[kind];
            if self.room[kind] < need
                || (aim.high - aim.low < step && slack.div_euclid(step) * step < need)
            {
                return Ok(());
            }
            let least = weight
                .saturating_add(self.before.least[kind])
                .saturating_add(weights.of(need - self.before.lift[kind], kind));
            if least > aim.cap {
                aim.cut = aim.cut.min(least);
                return Ok(());
            }
            let most = if model.allows(support, kind) {
                (slack / thickness)
                    .min(self.left[kind].map_or(i64::MAX, i64::from))
                    .min((model.max_pieces - pieces).into())
            } else {
                0
            };
            for count in (1..=most).rev() {
                meter.step()?;
                let sum = sum + count * thickness;
                let rest = aim.low - sum;
                if rest > self.room[kind + 1] {
                    break;
                }
                let weight = weight + weights.pieces(kind, count, before);
                let rest_kept = rest - self.before.lift[kind + 1];
                let later = weight.saturating_add(self.before.least[kind + 1]);
                let least = later.saturating_add(weights.of(rest_kept, kind + 1));
                if least > aim.cap {
                    // With fewer pieces of this kind thinner ones have to make up for it, and where
                    // they weigh no less for their thickness, that is in vain too. It holds for
                    // parts of pieces; whole ones may fit better with fewer of this kind.
                    let filled = later.saturating_add(weights.filled(rest_kept.max(0), kind + 1));
                    let dense = weights.kinds[kind + 1].density * thickness as f64;
                    if rest_kept > 0
                        && filled > aim.cap
                        && weights.kinds[kind].piece as f64 <= dense
                    {
                        aim.cut = aim.cut.min(filled);
                        break;
                    }
                    aim.cut = aim.cut.min(least);
                    continue;
                }
                self.counts[kind] = count as u32;
                if rest <= 0 && !self.stays() {
                    let weight = weight + self.before.out[kind + 1];
                    if weight <= aim.cap {
                        if let Err(exhausted) = meter.spend(Self::keeping(model)) {
                            self.counts[kind] = 0;
                            return Err(exhausted);
                        }
                        aim.cap = visitor(&self.counts, height + sum, weight);
                    } else {
                        aim.cut = aim.cut.min(weight);
                    }
                }
                if aim.high - sum < self.thinnest {
                    self.counts[kind] = 0;
                    continue;
                }
                let longer = Partial { sum, weight, pieces: pieces + count as u32 };
                let deeper = self.descend(support, kind + 1, longer, aim, weights, meter, visitor);
                self.counts[kind] = 0;
                deeper?;
            }
            weight += before * weights.moved;
        }
        if model.settings.is_empty() {
            return Ok(());
        }
        self.adjust(support, Partial { sum, weight, pieces }, aim, weights, meter, visitor)
    }

    /// Visits what an adjustable piece makes of a stack of plain ones.
    fn adjust(
        &mut self,
        support: usize,
        plain: Partial,
        aim: &mut Aim,
        weights: &Weights,
        meter: &mut Meter,
        visitor: &mut Visitor<'_>,
    ) -> Budgeted<()> {
        let model = self.model;
        for (at, settings) in model.settings.iter().enumerate() {
            let kind = model.adjustable + at;
            if plain.pieces >= model.max_pieces
                || self.left[kind] == Some(0)
                || !model.allows(support, kind)
            {
                continue;
            }
            let before = self.before.counts[kind];
            let out = self.before.out[model.adjustable] - before * weights.moved;
            let weight = plain.weight + out + weights.pieces(kind, 1, before);
            let need = (aim.low - plain.sum - settings.least).max(0);
            let room = aim.high.min(plain.sum + model.thickness[kind]);
            let first = plain.sum
                + settings.least
                + (need + settings.step - 1) / settings.step * settings.step;
            if weight > aim.cap {
                if first <= room {
                    aim.cut = aim.cut.min(weight);
                }
                continue;
            }
            self.counts[kind] = 1;
            for sum in (first..=room).step_by(settings.step as usize) {
                if let Err(exhausted) = meter.step() {
                    self.counts[kind] = 0;
                    return Err(exhausted);
                }
                let set_anew = before > 0 && sum - plain.sum != self.before.setting;
                if before > 0 && !set_anew && self.stays() {
                    continue;
                }
                if weight > aim.cap {
                    aim.cut = aim.cut.min(weight);
                    break;
                }
                let weight = weight + if set_anew { weights.moved } else { 0 };
                if weight > aim.cap {
                    aim.cut = aim.cut.min(weight);
                    continue;
                }
                if let Err(exhausted) = meter.spend(Self::keeping(model)) {
                    self.counts[kind] = 0;
                    return Err(exhausted);
                }
                aim.cap = visitor(&self.counts, model.heights[support] + sum, weight);
            }
            self.counts[kind] = 0;
        }
        Ok(())
    }

    /// The nodes that a stack counts for besides: of many kinds, it takes as long to keep as to find.
    fn keeping(model: &Model) -> u64 {
        2 * (model.thickness.len() as u64 / LISTED_A_NODE)
    }

    /// Whether the stack being built has the pieces of the one in place.
    fn stays(&self) -> bool {
        self.before.lift[0] > 0
            && self.counts.iter().zip(&self.before.counts).all(|(&a, &b)| i64::from(a) == b)
    }
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::length::Length;
    use crate::limits::Limits;
    use crate::shim::asked::Asked;
    use crate::shim::budget::NEVER;
    use crate::shim::problem::{Budget, ShimProblem, Support};
    use crate::stock::Shim;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(4000))]

        /// Whatever the weights: every stack within the cap is visited, once, and none of the
        /// others is lighter than what is told of them.
        #[test]
        fn no_stack_is_lost(
            kinds in proptest::collection::vec((1..40_i64, 0..5_u32, 0..4000_i64), 1..5),
            gap in 0..80_i64,
            width in 0..12_i64,
            cap in 0..20_000_i64,
            alike in any::<bool>(),
        ) {
            // Weights by thickness make many stacks nearly as heavy as each other.
            let multiplier = |&(thickness, _, more): &(i64, u32, i64)| {
                if alike { (400 * thickness - 1024).max(0) + more / 80 } else { more }
            };
            let cap = if alike { 400 * gap + cap / 10 } else { cap };
            let at = |x: i64, height: i64| Support {
                x: Length::from_nm(x),
                y: Length::ZERO,
                height: Length::from_nm(height),
            };
            let stock: Vec<Shim> = kinds
                .iter()
                .map(|&(thickness, count, _)| Shim::new(Length::from_nm(thickness), Some(count + 1)))
                .collect();
            let limits = Limits::overall(Length::from_nm(width));
            let problem = ShimProblem::new(vec![at(0, 0), at(9, -gap)], stock, limits);
            let model = Asked::new(&problem, crate::deadline::Deadline::never()).unwrap().model().unwrap();
            let multipliers: Vec<i64> = model.kinds.iter().map(|&kind| multiplier(&kinds[kind])).collect();
            let weights = Weights::new(&model, &multipliers);
            let window = [-width, width];

            let mut found = Vec::new();
            let mut meter = Meter::new(&Budget::default(), NEVER);
            let cut = Stacks::new(&model)
                .visit(0, window, cap, &weights, &mut meter, &mut |counts, top, weight| {
                    found.push((counts.to_vec(), top, weight));
                    cap
                })
                .unwrap();

            let mut all = vec![vec![]];
            for (kind, count) in model.counts.iter().enumerate() {
                let most = count.map_or(2 * gap / model.thickness[kind] + 24, i64::from) as u32;
                let longer = |stack: &Vec<u32>| {
                    let stack = stack.clone();
                    (0..=most.min(8)).map(move |count| [stack.clone(), vec![count]].concat())
                };
                all = all.iter().flat_map(longer).collect();
            }
            let sum = |stack: &[u32], of: &[i64]| -> i64 {
                stack.iter().zip(of).map(|(&count, each)| i64::from(count) * each).sum()
            };
            let mut expected = Vec::new();
            for stack in all {
                let top = sum(&stack, &model.thickness) - gap;
                let weight = sum(&stack, &weights.kinds.iter().map(|kind| kind.piece).collect::<Vec<_>>());
                if !(window[0]..=window[1]).contains(&top) {
                    continue;
                }
                if weight <= cap {
                    expected.push((stack, top, weight));
                } else {
                    prop_assert!(cut <= weight, "{stack:?} weighs {weight}, told {cut}");
                }
            }
            found.sort();
            expected.sort();
            prop_assert_eq!(found, expected);
        }
    }
}

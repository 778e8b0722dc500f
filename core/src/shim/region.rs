//! A range of levels and the Lagrangian bound over it.
//!
//! A plan's lowest top L decides which stacks may be used at all: every top lies in [L, L + W].
//! Over a range of L the shared stock is priced by multipliers λ ≥ 0, and
//! Σᵢ min (cost + λ·use) − λ·stock bounds the cost of every plan from below; the minimum for a
//! support runs over whole stacks, so the bound is that of the Dantzig-Wolfe relaxation, stronger
//! than the linear one. Source: Geoffrion, Lagrangean relaxation for integer programming (1974),
//! from memory. The multipliers are raised by subgradient steps of Polyak's length towards the
//! cost that is to be excluded. All of it is in whole numbers, so a bound is a proof.

use super::budget::{Budgeted, Meter};
use super::model::Model;
use super::stacks::{Stacks, Weights};

/// So many supports with a single stack can be priced in the time of one node.
const SUPPORTS_A_NODE: u64 = 16;

/// A range of levels not yet settled.
#[derive(Debug, Clone)]
pub(super) struct Region {
    /// The lowest top of the plans lies in this range.
    pub(super) range: [i64; 2],
    pub(super) multipliers: Vec<i64>,
    /// Weight of the lightest stack of each support; empty until the region is priced.
    pub(super) least: Vec<i64>,
    /// Scaled lower bound of the cost.
    pub(super) bound: i64,
    /// No plan here costs less.
    pub(super) floor: i64,
    /// How many searches of it, or of the region that it is a half of, found nothing.
    pub(super) failures: u32,
    /// How often a search of it was broken off.
    pub(super) attempts: u32,
    /// How many times in a row halving has not raised the bound.
    stalled: u32,
}

impl Region {
    /// All levels: none is above the highest support that may stay bare.
    pub(super) fn root(width: i64, anchor: usize, model: &Model) -> Self {
        Self {
            range: [-width, model.heights[anchor]],
            multipliers: vec![0; model.thickness.len()],
            least: Vec::new(),
            bound: i64::MIN,
            floor: 0,
            failures: 0,
            attempts: 0,
            stalled: 0,
        }
    }

    /// The two halves of the region, neither of them priced yet. Where costs are dense, each half
    /// is searched from its floor again.
    pub(super) fn halves(&self, model: &Model) -> [Self; 2] {
        let failures = if model.stride > 1 { self.failures } else { 0 };
        let [low, high] = self.range;
        let middle = low + (high - low) / 2;
        let half = |range| Self { range, least: Vec::new(), failures, attempts: 0, ..self.clone() };
        [half([low, middle]), half([middle + 1, high])]
    }

    /// Whether the bound is far below a cost and halving the region may raise it.
    pub(super) fn is_coarse(&self, model: &Model, cost: i64) -> bool {
        const MOST_STALLED: u32 = 3;
        let [low, high] = self.range;
        low < high && self.stalled < MOST_STALLED && self.slack(model, cost) > 2 * model.scale
    }

    /// The range of tops in the region.
    pub(super) fn tops(&self, width: i64) -> [i64; 2] {
        [self.range[0], self.range[1] + width]
    }

    /// By what regions are taken, least first.
    pub(super) fn turn(&self) -> (i64, u32, [i64; 2]) {
        (self.floor, self.attempts, self.range)
    }

    /// How far the bound is below a cost.
    pub(super) fn slack(&self, model: &Model, cost: i64) -> i64 {
        cost * model.scale - self.bound
    }

    /// The most that the candidates of a plan of this cost can weigh.
    pub(super) fn cap(&self, model: &Model, cost: i64) -> i64 {
        cost * model.scale + model.worth(&self.multipliers)
    }

    /// Raises bound and floor towards excluding a cost; false where there is no plan in the
    /// region at all: some support has no stack in it, or the bound passes every cost.
    pub(super) fn exclude(
        &mut self,
        model: &Model,
        stacks: &mut Stacks<'_>,
        width: i64,
        target: i64,
        meter: &mut Meter,
    ) -> Budgeted<bool> {
        let first = self.least.is_empty();
        let weights = Weights::new(model, &self.multipliers);
        if first
            && (!model.stock_fills(self.range[0])
                || !self.has_level(model, stacks, &weights, meter)?)
        {
            return Ok(false);
        }
        let before = self.bound;
        self.least.resize(model.heights.len(), 0);
        let mut used = vec![0_i64; model.thickness.len()];
        if !self.price(model, stacks, (width, &weights), &mut used, meter)? {
            return Ok(false);
        }
        if first {
            let raised = self.bound > before.saturating_add(model.scale / 8);
            self.stalled = if raised { 0 } else { self.stalled + 1 };
        }
        self.raise(model, stacks, width, target, used, meter)?;
        Ok(self.floor < model.cost_end)
    }

    /// Whether any support has a stack whose top lies in the range: a plan's lowest must.
    fn has_level(
        &self,
        model: &Model,
        stacks: &mut Stacks<'_>,
        weights: &Weights,
        meter: &mut Meter,
    ) -> Budgeted<bool> {
        let mut counts = vec![0; model.thickness.len()];
        for support in (0..model.heights.len()).rev() {
            if stacks.lightest(support, self.range, weights, &mut counts, meter)?.is_some() {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Raises the bound towards excluding `target`.
    fn raise(
        &mut self,
        model: &Model,
        stacks: &mut Stacks<'_>,
        width: i64,
        target: i64,
        mut used: Vec<i64>,
        meter: &mut Meter,
    ) -> Budgeted<()> {
        const STEPS: usize = 24;
        let aim = (target + 1).saturating_mul(model.scale);
        let mut trial = self.clone();
        for _ in 0..STEPS {
            // Use beyond the stock pulls a multiplier up; use below it lets one that is up fall.
            let pull = |kind: usize| match model.counts[kind] {
                Some(count) if used[kind] > count.into() || trial.multipliers[kind] > 0 => {
                    (used[kind] - i64::from(count)) as f64
                }
                _ => 0.0,
            };
            let pulls: Vec<f64> = (0..used.len()).map(pull).collect();
            let norm: f64 = pulls.iter().map(|pull| pull * pull).sum();
            if norm == 0.0 || trial.bound >= aim {
                break;
            }
            let step = (aim - trial.bound) as f64 / norm;
            for (multiplier, pull) in trial.multipliers.iter_mut().zip(&pulls) {
                let to = (*multiplier as f64 + step * pull).round() as i64;
                *multiplier = to.clamp(0, model.multiplier_end);
            }
            let weights = Weights::new(model, &trial.multipliers);
            if !trial.price(model, stacks, (width, &weights), &mut used, meter)? {
                break;
            }
            if trial.bound > self.bound {
                self.clone_from(&trial);
            }
        }
        self.floor = self.floor.max(model.unscaled(self.bound));
        Ok(())
    }

    /// Finds the lightest stacks by the weights of its multipliers, what they use together, and the bound; false
    /// where a support has none.
    fn price(
        &mut self,
        model: &Model,
        stacks: &mut Stacks<'_>,
        (width, weights): (i64, &Weights),
        used: &mut [i64],
        meter: &mut Meter,
    ) -> Budgeted<bool> {
        let mut counts = vec![0_u32; used.len()];
        used.fill(0);
        let mut bound = -model.worth(&self.multipliers);
        meter.spend(self.least.len() as u64 / SUPPORTS_A_NODE)?;
        for support in 0..self.least.len() {
            counts.fill(0);
            let Some((weight, _)) =
                stacks.lightest(support, self.tops(width), weights, &mut counts, meter)?
            else {
                return Ok(false);
            };
            self.least[support] = weight;
            bound += weight;
            used.iter_mut().zip(&counts).for_each(|(used, &count)| *used += i64::from(count));
        }
        self.bound = bound;
        Ok(true)
    }
}

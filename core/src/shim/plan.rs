//! What the solver answers.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::problem::ShimProblem;
use crate::length::Length;

/// How a search ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum Status {
    /// The plan meets every limit and no plan is better in the order of goals.
    Proven,
    /// The budget ran out: the plan is the best that was found, and better ones may exist.
    Budget,
    /// No plan from this stock meets the limits. The plan given is the flattest one found, whatever
    /// the limits; that no plan is flatter is proven where its worst deviation is the bound.
    Infeasible,
}

/// A stack of shims for every support.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct ShimPlan {
    /// How the search ended.
    pub status: Status,
    /// The stack under each support: indices into the stock, one a piece, thickest first.
    pub stacks: Vec<Vec<usize>>,
    /// What each stack lifts its support by.
    pub lifts: Vec<Length>,
    /// Height of each support on its stack.
    pub tops: Vec<Length>,
    /// Pieces of each kind used.
    pub used: Vec<u32>,
    /// Pieces in all.
    pub pieces: usize,
    /// Whether the tops meet every limit; false only if the status is not
    /// [`Proven`](Status::Proven).
    pub meets_limits: bool,
    /// The proven lower bound of the first goal in its own unit: pieces, mm of worst deviation,
    /// supports lifted or price. When proven, the plan reaches it; when infeasible, it is that of
    /// the worst deviation in mm.
    pub bound: f64,
    /// Supports that no stack from the whole stock brings within the limits, whatever the
    /// others get.
    pub unreachable: Vec<usize>,
    /// Search nodes spent.
    pub nodes: u64,
}

impl ShimPlan {
    /// A plan with these stacks and no claim about them.
    pub(super) fn from_stacks(problem: &ShimProblem, mut stacks: Vec<Vec<usize>>) -> Self {
        let stock = &problem.stock;
        let mut used = vec![0; stock.len()];
        for stack in &mut stacks {
            stack.sort_by_key(|&kind| (-stock[kind].thickness, kind));
            for &kind in stack.iter() {
                used[kind] += 1;
            }
        }
        let thickness = |stack: &Vec<usize>| stack.iter().map(|&kind| stock[kind].thickness).sum();
        let lifts: Vec<Length> = stacks.iter().map(thickness).collect();
        let tops: Vec<Length> = problem
            .supports
            .iter()
            .zip(&lifts)
            .map(|(support, &lift)| support.height + lift)
            .collect();
        let meets_limits = problem.spans().iter().all(|span| span.found(&tops) <= span.width);
        Self {
            status: Status::Budget,
            pieces: stacks.iter().map(Vec::len).sum(),
            stacks,
            lifts,
            tops,
            used,
            meets_limits,
            bound: 0.0,
            unreachable: Vec::new(),
            nodes: 0,
        }
    }

    /// No shims at all.
    pub(super) fn bare(problem: &ShimProblem) -> Self {
        Self::from_stacks(problem, vec![Vec::new(); problem.supports.len()])
    }

    /// The difference between the highest and the lowest top.
    pub fn range(&self) -> Length {
        let [lowest, highest] = self.extremes();
        highest - lowest
    }

    /// The worst deviation from the target in millimetres: half the range, so a multiple of half
    /// a nanometre.
    pub fn worst_mm(&self) -> f64 {
        self.range().nm() as f64 / 2e6
    }

    /// The level from which the worst deviation is smallest: midway between the highest and the
    /// lowest top, in millimetres.
    pub fn target_mm(&self) -> f64 {
        let [lowest, highest] = self.extremes();
        (lowest + highest).nm() as f64 / 2e6
    }

    /// Height of a support's top above the target in millimetres.
    pub(crate) fn deviation_mm(&self, support: usize) -> f64 {
        let [lowest, highest] = self.extremes();
        let doubled = self.tops[support] * 2 - (lowest + highest);
        doubled.nm() as f64 / 2e6
    }

    fn extremes(&self) -> [Length; 2] {
        let lowest = self.tops.iter().min().copied().unwrap_or_default();
        let highest = self.tops.iter().max().copied().unwrap_or_default();
        [lowest, highest]
    }
}

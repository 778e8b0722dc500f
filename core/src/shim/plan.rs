//! What the solver answers.

use nalgebra::DMatrix;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::placed::{self, Placed};
use super::problem::ShimProblem;
use crate::error::{Error, ProblemKind};
use crate::length::Length;
use crate::stock::Shim;
use crate::tilt::{self, Tilt};

/// How a search ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum Status {
    /// The plan meets every limit, and no plan is better in the order of goals.
    Proven,
    /// The budget ran out. The plan is the best that was found; a better one may exist.
    Budget,
    /// No plan from this stock meets the limits. The plan given is the flattest one found within the
    /// budget, regardless of the limits. That no plan is flatter is proven where its worst deviation
    /// equals the bound.
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
    /// The thickness at which the adjustable piece of each stack is set; `None` where it has none.
    pub settings: Vec<Option<Length>>,
    /// What each stack lifts its support by.
    pub lifts: Vec<Length>,
    /// Height of each support on its stack.
    pub tops: Vec<Length>,
    /// The slope of the target along and across, µm/m: level unless the limits allow another.
    pub tilt_um_per_m: [i64; 2],
    /// The tops above that slope.
    pub(crate) above: Vec<Length>,
    /// Pieces of each kind used.
    pub used: Vec<u32>,
    /// Pieces of each kind left on hand once the plan is carried out: those on hand and those in
    /// place, less those it uses; `None` for as many as it takes. The next pass, with this plan in
    /// place, has them on hand.
    pub left: Vec<Option<u32>>,
    /// Pieces in all.
    pub pieces: usize,
    /// The supports that have to be lifted for it: whose stack is not what is in place.
    pub lifted: Vec<usize>,
    /// Pieces to put in, take out or set anew.
    pub moved: usize,
    /// Whether the tops meet every limit; false only if the status is not
    /// [`Proven`](Status::Proven).
    pub meets_limits: bool,
    /// The proven lower bound of the first goal in its own unit: pieces, mm of worst deviation,
    /// supports lifted (as always with stacks in place, unless they are to be flattest or
    /// cheapest) or price. When proven, the plan reaches it; when infeasible, it is that of
    /// the worst deviation in mm.
    pub bound: f64,
    /// Supports that no stack from the whole stock brings within the limits, whatever the
    /// others get.
    pub unreachable: Vec<usize>,
    /// Search nodes spent.
    pub nodes: u64,
}

impl From<&ShimPlan> for Placed {
    /// The stacks of a plan that was carried out.
    fn from(plan: &ShimPlan) -> Self {
        Self { stacks: plan.stacks.clone(), settings: plan.settings.clone() }
    }
}

impl ShimPlan {
    /// A plan with these stacks and settings above a slope, and no claim about them.
    pub(crate) fn from_stacks(
        problem: &ShimProblem,
        mut stacks: Vec<Vec<usize>>,
        settings: Vec<Option<Length>>,
        tilt: Tilt,
    ) -> Self {
        let stock = &problem.stock;
        let mut used = vec![0; stock.len()];
        for stack in &mut stacks {
            stack.sort_by_key(|&kind| {
                (stock[kind].adjusts.is_some(), -stock[kind].greatest(), kind)
            });
            for &kind in stack.iter() {
                used[kind] += 1;
            }
        }
        let in_place = placed::pieces(problem.placed.as_ref(), stock.len());
        let left = |((shim, in_place), &used): ((&Shim, u32), &u32)| {
            shim.count.map(|count| count.saturating_add(in_place).saturating_sub(used))
        };
        let left = stock.iter().zip(in_place).zip(&used).map(left).collect();
        let lift = |(stack, &setting): (&Vec<usize>, _)| placed::lift(stack, setting, stock);
        let lifts: Vec<Length> = stacks.iter().zip(&settings).map(lift).collect();
        let tops: Vec<Length> =
            problem.bare_heights().iter().zip(&lifts).map(|(&bare, &lift)| bare + lift).collect();
        let above = tilt::above(tilt, &problem.places(), &tops);
        let moves: Vec<usize> =
            (0..stacks.len()).map(|at| moves(problem, at, &stacks[at], settings[at])).collect();
        Self {
            status: Status::Budget,
            pieces: stacks.iter().map(Vec::len).sum(),
            lifted: (0..stacks.len()).filter(|&at| moves[at] > 0).collect(),
            moved: moves.iter().sum(),
            stacks,
            settings,
            lifts,
            tops,
            tilt_um_per_m: tilt,
            above,
            used,
            left,
            meets_limits: false,
            bound: 0.0,
            unreachable: Vec::new(),
            nodes: 0,
        }
    }

    /// The difference between the highest and the lowest top, above the slope of the target.
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
    /// lowest top, in millimetres; where the target slopes, its height at x = y = 0.
    pub fn target_mm(&self) -> f64 {
        let [lowest, highest] = self.extremes();
        (lowest + highest).nm() as f64 / 2e6
    }

    /// How far each support settled: the height that the plan had for its top, less the height read
    /// after the plan was carried out. What gave way is more than zero.
    ///
    /// The next plan needs no more than the readings, with the stacks in place
    /// ([`ShimProblem::placed`]): the settlement is in the heights. Where a stack is taken out and
    /// built anew, or the same table is planned from its first readings, take what settled off the
    /// first heights. Where the pieces rather than the floor gave way, by much the same share of
    /// every lift, that share is one less [`Shim::loaded_factor`](crate::Shim::loaded_factor).
    ///
    /// # Errors
    /// Another number of heights than supports.
    pub fn settlement(&self, heights: &[Length]) -> Result<Vec<Length>, Error> {
        if heights.len() != self.tops.len() {
            let got = format!("{} values", heights.len());
            let expected = format!("{}, one for each support", self.tops.len());
            return Err(Error::new(ProblemKind::Shape, "heights", got, expected));
        }
        Ok(self.tops.iter().zip(heights).map(|(&expected, &read)| expected - read).collect())
    }

    /// Checks that this plan can be one for a problem: it uses nothing that the problem lacks.
    ///
    /// # Errors
    /// A plan that cannot.
    pub(crate) fn check_for(&self, problem: &ShimProblem) -> Result<(), Error> {
        let (count, kinds) = (problem.supports.len(), problem.stock.len());
        let fits = self.stacks.len() == count
            && self.stacks.iter().flatten().all(|&kind| kind < kinds)
            && [self.lifts.len(), self.tops.len(), self.above.len(), self.settings.len()]
                == [count; 4]
            && problem.joints.iter().flatten().all(|&side| side < count);
        let placed_fits = problem.placed.as_ref().is_none_or(|placed| {
            placed.stacks.len() == count
                && placed.settings.len() == count
                && placed.stacks.iter().flatten().all(|&kind| kind < kinds)
        });
        if fits && placed_fits {
            return Ok(());
        }
        let got = format!("{} stacks that are not the problem's", self.stacks.len());
        let expected = format!("the plan of this problem of {count} supports");
        Err(Error::new(ProblemKind::Shape, "plan", got, expected))
    }

    /// Height of a support's top above the target in millimetres.
    pub(crate) fn deviation_mm(&self, support: usize) -> f64 {
        let [lowest, highest] = self.extremes();
        let doubled = self.above[support] * 2 - (lowest + highest);
        doubled.nm() as f64 / 2e6
    }

    /// Covariance of what the pieces put in or taken out add to the tops, mm², n × n: each piece has
    /// an error of its own, and those of a kind share one.
    pub(crate) fn covariance_of_pieces(&self, problem: &ShimProblem) -> DMatrix<f64> {
        let supports = self.stacks.len();
        let changes: Vec<Changes> = (0..supports)
            .map(|at| Changes::new(problem, at, &self.stacks[at], self.settings[at]))
            .collect();
        let variance = |sigma: Length, shim: &Shim| (sigma.mm() * shim.loaded_factor).powi(2);
        let variances = |shim: &Shim| [shim.common_sigma, shim.sigma].map(|it| variance(it, shim));
        let kinds = problem.stock.iter().map(variances).enumerate();
        let uncertain: Vec<_> = kinds.filter(|(_, variances)| *variances != [0.0; 2]).collect();
        DMatrix::from_fn(supports, supports, |a, b| {
            let of = |&(kind, [of_all, of_each]): &(usize, [f64; 2])| {
                let common = changes[a].more[kind] * changes[b].more[kind];
                let own = if a == b { changes[a].moved(kind) } else { 0 };
                common as f64 * of_all + own as f64 * of_each
            };
            uncertain.iter().map(of).sum()
        })
    }

    fn extremes(&self) -> [Length; 2] {
        let lowest = self.above.iter().min().copied().unwrap_or_default();
        let highest = self.above.iter().max().copied().unwrap_or_default();
        [lowest, highest]
    }
}

/// How many pieces are put under a support, taken out or set anew for a stack.
fn moves(problem: &ShimProblem, at: usize, stack: &[usize], setting: Option<Length>) -> usize {
    match problem.placed {
        None => stack.len(),
        Some(_) => {
            let changes = Changes::new(problem, at, stack, setting);
            (0..problem.stock.len()).map(|kind| changes.moved(kind)).sum::<u64>() as usize
        }
    }
}

/// What a stack changes under a support.
struct Changes {
    /// Pieces of each kind more than are in place.
    more: Vec<i64>,
    /// The kind of an adjustable piece that stays and is set anew.
    set_anew: Option<usize>,
}

impl Changes {
    fn new(problem: &ShimProblem, at: usize, stack: &[usize], setting: Option<Length>) -> Self {
        let mut more = vec![0_i64; problem.stock.len()];
        stack.iter().for_each(|&kind| more[kind] += 1);
        let Some(placed) = &problem.placed else { return Self { more, set_anew: None } };
        placed.stacks[at].iter().for_each(|&kind| more[kind] -= 1);
        let adjustable = stack.iter().find(|&&kind| problem.stock[kind].adjusts.is_some());
        let stays = |kind: &&usize| placed.stacks[at].contains(kind);
        let set_anew = adjustable.filter(stays).filter(|_| placed.settings[at] != setting);
        Self { more, set_anew: set_anew.copied() }
    }

    /// Pieces of a kind put in, taken out or set anew.
    fn moved(&self, kind: usize) -> u64 {
        self.more[kind].unsigned_abs() + u64::from(self.set_anew == Some(kind))
    }
}

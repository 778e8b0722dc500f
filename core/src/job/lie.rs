//! A plan on which every slate lies on all its stacks.
//!
//! The plan for points comes first, and is kept where every slate lies on it. Where one does not, a
//! stage of one slate is planned by [`plan_bed`](crate::plan_bed), which proves what it finds. Several
//! slates are brought to lie by narrowing: the points of a slate that does not lie may differ by less,
//! and the points are planned anew, until all slates lie. That finds a plan and proves nothing of it but
//! that no plan has fewer pieces than the one for points, so its status is [`Status::Budget`].

use super::lying::Lying;
use super::slates::Laid;
use crate::bed::{BedProblem, NoBed, plan_bed_until};
use crate::error::Error;
use crate::length::{self, Length};
use crate::limits::NamedLimit;
use crate::shim::{Budget, Order, ShimPlan, ShimProblem, Status, plan_shims_until};

/// What a plan is beside the one for points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lain {
    /// The plan for points, which has so many pieces, would leave slates on some of their stacks.
    Instead {
        /// Pieces of the plan for points.
        pieces: usize,
    },
    /// The plan is the one for points, and leaves slates on some of their stacks: no plan was found
    /// on which all lie, or there is none.
    Loose {
        /// Whether it is proven that there is none.
        proven: bool,
    },
}

/// The plan on which all slates lie, and what it is beside the one for points where that is another or
/// where there is none.
///
/// # Errors
/// Those of [`plan_shims_until`] and [`plan_bed_until`].
pub(super) fn plan(
    laid: &[Laid],
    problem: &ShimProblem,
    of_points: ShimPlan,
    stop: &dyn Fn() -> bool,
) -> Result<(ShimPlan, Option<Lain>), Error> {
    // A slate that tips does so on any stacks.
    let lies = |plan: &ShimPlan| Ok::<_, Error>(Lying::new(laid, &plan.tops)?.loose().is_empty());
    if !of_points.meets_limits || lies(&of_points)? {
        return Ok((of_points, None));
    }
    let pieces = of_points.pieces;
    let found = match of_one_slate(laid, problem) {
        Some(bed) => {
            let plan = plan_bed_until(&bed, stop)?;
            if plan.why == Some(NoBed::NotCarried) {
                return Ok((of_points, Some(Lain::Loose { proven: true })));
            }
            (plan.carried && plan.meets_limits).then(|| {
                let settings = vec![None; plan.stacks.len()];
                let found = ShimPlan::from_stacks(problem, plan.stacks, settings, [0, 0]);
                let nodes = of_points.nodes + plan.nodes;
                ShimPlan { status: plan.status, bound: plan.bound, nodes, ..found }
            })
        }
        None => narrowed(laid, problem, &of_points, stop)?,
    };
    Ok(match found {
        Some(plan) => (ShimPlan { meets_limits: true, ..plan }, Some(Lain::Instead { pieces })),
        None => (of_points, Some(Lain::Loose { proven: false })),
    })
}

/// The stage as a slab to be planned by itself; none where there is more to it than that.
fn of_one_slate(laid: &[Laid], problem: &ShimProblem) -> Option<BedProblem> {
    let [one] = laid else { return None };
    let ShimProblem { supports, stock, limits, joints, only_under, placed, options, .. } = problem;
    let plain = one.points.len() == supports.len()
        && joints.is_empty()
        && only_under.is_empty()
        && placed.is_none()
        && stock.iter().all(|shim| shim.adjusts.is_none())
        && !limits.allow_tilt()
        && options.order == Order::FewestPieces
        && options.risk.is_none();
    if !plain {
        return None;
    }
    let frame: Vec<Length> = supports.iter().map(|support| support.height).collect();
    let (slab, under) = (*one.slab.slab(), one.slab.supports().to_vec());
    let bed = BedProblem::new(slab, under, frame, stock.clone(), limits.clone());
    Some(BedProblem { least_force_n: one.least_force_n, options: options.clone(), ..bed })
}

/// Plans the points anew, those of slates that do not lie closer together, until all slates lie; none
/// where that comes to an end before.
fn narrowed(
    laid: &[Laid],
    problem: &ShimProblem,
    of_points: &ShimPlan,
    stop: &dyn Fn() -> bool,
) -> Result<Option<ShimPlan>, Error> {
    /// From the range of a plan down to a thousandth of it.
    const ROUNDS: usize = 20;
    let most = problem.options.budget.nodes;
    let (mut plan, mut spent) = (of_points.clone(), of_points.nodes);
    let mut widths: Vec<Option<Length>> = vec![None; laid.len()];
    for _ in 0..ROUNDS {
        for at in Lying::new(laid, &plan.tops)?.loose() {
            let range = length::range(laid[at].points.iter().map(|&point| plan.above[point]));
            let before = widths[at].map_or(range, |width| width.min(range));
            widths[at] = Some(Length::from_nm(before.nm() * 7 / 10));
        }
        let mut narrower = problem.clone();
        let named = laid.iter().zip(&widths).filter_map(|(laid, width)| {
            Some(NamedLimit { points: laid.points.clone(), within: (*width)? })
        });
        narrower.limits.named.extend(named);
        let nodes = most.saturating_sub(spent);
        narrower.options.budget = Budget { nodes, ..problem.options.budget };
        if nodes == 0 || stop() {
            return Ok(None);
        }
        plan = plan_shims_until(&narrower, stop)?;
        spent += plan.nodes;
        if !plan.meets_limits {
            return Ok(None);
        }
        if Lying::new(laid, &plan.tops)?.loose().is_empty() {
            let (status, bound) = (Status::Budget, of_points.bound);
            return Ok(Some(ShimPlan { status, bound, nodes: spent, ..plan }));
        }
    }
    Ok(None)
}

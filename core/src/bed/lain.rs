//! A plan for the points of several slates on which every slate lies on all its stacks.
//!
//! The plan for points comes first, and is kept where every slate lies on it. Where one does not, all
//! slates are searched together, since they share the stock, the limits and the highest
//! point: what that search finds, or that there is nothing to find, is proven. It knows no pieces in
//! place, no adjustable ones, no slopes, no risk and no other order of goals, and it may run out of
//! nodes. Then a plan is found by narrowing: the points of a slate that does not lie may differ by less,
//! and the points are planned anew, until all slates lie. That proves nothing but what the searches
//! before it left as a bound, so the status is [`Status::Budget`].

use super::bearing::Bearing;
use super::laid::LaidSlab;
use super::planner::{Beds, Planner, Searched, Under};
use crate::error::Error;
use crate::length::{self, Length};
use crate::limits::{NamedLimit, Span};
use crate::shim::{Budget, Order, ShimPlan, ShimProblem, Status, plan_shims_until};

/// A slab on some of the points of a problem.
#[derive(Debug, Clone)]
pub(crate) struct OnPoints {
    pub(crate) laid: LaidSlab,
    /// The point of each of its supports.
    pub(crate) points: Vec<usize>,
    /// What each of them should carry at the least, N, with what its screw can add.
    pub(crate) least_force_n: f64,
}

impl OnPoints {
    /// How it bears on the tops of all points.
    pub(crate) fn bear(&self, tops: &[Length]) -> Result<Bearing, Error> {
        self.laid.bear(&self.points.iter().map(|&at| tops[at].mm()).collect::<Vec<_>>())
    }
}

/// What a plan is beside the one for points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Lain {
    /// The plan for points, which has so many pieces, would leave slates on some of their stacks.
    Instead {
        /// Pieces of the plan for points.
        pieces: usize,
        /// Whether all slates were searched together.
        searched: bool,
    },
    /// The plan is the one for points, and leaves slates on some of their stacks: no plan was found
    /// on which all lie, or there is none.
    Loose {
        /// Whether it is proven that there is none.
        proven: bool,
    },
    /// A slate tips over an edge of its points, whatever is under them.
    Tips,
}

/// A search of slates takes so many times as long for a node as one of points, near enough.
const NODES_A_NODE: u64 = 20;

/// The plan on which all slates lie, and what it is beside the one for points where that is another or
/// where there is none.
///
/// # Errors
/// Those of [`plan_shims_until`] and of slates that bear.
pub(crate) fn lain(
    slabs: &[OnPoints],
    problem: &ShimProblem,
    of_points: ShimPlan,
    stop: &dyn Fn() -> bool,
) -> Result<(ShimPlan, Option<Lain>), Error> {
    if slabs.iter().any(|slab| slab.laid.tips()) {
        let (status, bound) = (Status::Infeasible, 0.0);
        let plan = ShimPlan { status, bound, meets_limits: false, ..of_points };
        return Ok((plan, Some(Lain::Tips)));
    }
    let lies = |plan: &ShimPlan| Ok::<_, Error>(loose(slabs, &plan.tops)?.is_empty());
    if !of_points.meets_limits || lies(&of_points)? {
        return Ok((of_points, None));
    }
    let (pieces, searched) = (of_points.pieces, is_plain(problem));
    let instead = Some(Lain::Instead { pieces, searched });
    let mut so_far = of_points.clone();
    if searched {
        let Searched { stacks, ended, bound, nodes } = together(slabs, problem, &of_points, stop);
        so_far.nodes = so_far.nodes.saturating_add(NODES_A_NODE.saturating_mul(nodes));
        match stacks {
            Some(stacks) => {
                let settings = vec![None; stacks.len()];
                let found = ShimPlan::from_stacks(problem, stacks, settings, [0, 0]);
                let status = if ended { Status::Proven } else { Status::Budget };
                let nodes = so_far.nodes;
                let plan = ShimPlan { status, bound, nodes, meets_limits: true, ..found };
                // What the search takes for lying is put to the slates once more.
                if lies(&plan)? {
                    return Ok((plan, instead));
                }
            }
            None if ended => {
                let nodes = so_far.nodes;
                let plan = ShimPlan { nodes, ..of_points };
                return Ok((plan, Some(Lain::Loose { proven: true })));
            }
            None => so_far.bound = bound,
        }
    }
    Ok(match narrowed(slabs, problem, &so_far, stop)? {
        Some(plan) => (plan, instead),
        None => {
            let nodes = so_far.nodes;
            (ShimPlan { nodes, ..of_points }, Some(Lain::Loose { proven: false }))
        }
    })
}

/// The slabs that do not lie on all their points, by index.
fn loose(slabs: &[OnPoints], tops: &[Length]) -> Result<Vec<usize>, Error> {
    let mut loose = Vec::new();
    for (at, slab) in slabs.iter().enumerate() {
        if !slab.bear(tops)?.lies(slab.least_force_n) {
            loose.push(at);
        }
    }
    Ok(loose)
}

/// Whether the search of slates knows all that a stage asks for.
fn is_plain(problem: &ShimProblem) -> bool {
    let ShimProblem { stock, limits, options, .. } = problem;
    stock.iter().all(|shim| shim.adjusts.is_none())
        && !limits.allow_tilt()
        && options.order != Order::Flattest
        && options.risk.is_none()
}

/// Searches all slates together, by half of the budget that is left.
fn together(
    slabs: &[OnPoints],
    problem: &ShimProblem,
    of_points: &ShimPlan,
    stop: &dyn Fn() -> bool,
) -> Searched {
    let mut order: Vec<usize> = slabs.iter().flat_map(|slab| slab.points.clone()).collect();
    // Points of slates that are not described are lifted as points.
    let single: Vec<usize> =
        (0..problem.supports.len()).filter(|point| !order.contains(point)).collect();
    order.extend(single);
    let mut place = vec![0; order.len()];
    order.iter().enumerate().for_each(|(at, &point)| place[point] = at);
    let spans = problem.limits.spans(&problem.places(), &problem.joints);
    let moved = |span: Span| Span {
        members: span.members.iter().map(|&point| place[point]).collect(),
        ..span
    };
    let mut options = problem.options.clone();
    let left = options.budget.nodes.saturating_sub(of_points.nodes);
    options.budget.nodes = left / (2 * NODES_A_NODE);
    let bare = problem.bare_heights();
    let planner = Planner::new(Beds {
        slabs: slabs
            .iter()
            .map(|slab| Under { laid: &slab.laid, least_force_n: slab.least_force_n })
            .collect(),
        frame: order.iter().map(|&point| bare[point]).collect(),
        numbers: order,
        stock: &problem.stock,
        placed: problem.placed.as_ref(),
        only_under: &problem.only_under,
        options: &options,
        spans: spans.into_iter().map(moved).collect(),
        at: &[],
        idle: &[],
    });
    let searched = planner.carried(of_points.bound, stop);
    let in_order = |stacks: Vec<Vec<usize>>| place.iter().map(|&at| stacks[at].clone()).collect();
    Searched { stacks: searched.stacks.map(in_order), ..searched }
}

/// Plans the points anew, those of slates that do not lie closer together, until all slates lie; none
/// where that comes to an end before. `of_points` has the bound and the nodes of all that was searched.
fn narrowed(
    slabs: &[OnPoints],
    problem: &ShimProblem,
    of_points: &ShimPlan,
    stop: &dyn Fn() -> bool,
) -> Result<Option<ShimPlan>, Error> {
    /// From the range of a plan down to a thousandth of it.
    const ROUNDS: usize = 20;
    let most = problem.options.budget.nodes;
    let (mut plan, mut spent) = (of_points.clone(), of_points.nodes);
    let mut widths: Vec<Option<Length>> = vec![None; slabs.len()];
    for _ in 0..ROUNDS {
        for at in loose(slabs, &plan.tops)? {
            let range = length::range(slabs[at].points.iter().map(|&point| plan.above[point]));
            let before = widths[at].map_or(range, |width| width.min(range));
            widths[at] = Some(Length::from_nm(before.nm() * 7 / 10));
        }
        let mut narrower = problem.clone();
        let named = slabs.iter().zip(&widths).filter_map(|(slab, width)| {
            Some(NamedLimit { points: slab.points.clone(), within: (*width)? })
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
        if loose(slabs, &plan.tops)?.is_empty() {
            // No plan of all the slates has fewer pieces than one of the points.
            let (status, bound) = (Status::Budget, of_points.bound);
            return Ok(Some(ShimPlan { status, bound, nodes: spent, meets_limits: true, ..plan }));
        }
    }
    Ok(None)
}

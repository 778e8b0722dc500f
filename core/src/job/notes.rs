//! What a person should look at before working by a plan.

use crate::length::Length;
use crate::limits::{LimitKind, Limits};
use crate::points::Point;
use crate::shim::{ShimPlan, Status};
use crate::survey::Height;
use crate::verify::Verdict;

/// A stack of more pieces than this, or a thicker one, is worth a second look (common practice:
/// few pieces, low stacks).
const MANY_PIECES: usize = 6;
const THICK: Length = Length::from_nm(25_400_000);

pub(super) fn notes(
    points: &[&Point],
    heights: &[Height],
    plan: &ShimPlan,
    verdict: &Verdict,
    limits: &Limits,
) -> Vec<String> {
    let ids =
        |at: &[usize]| at.iter().map(|&at| points[at].id.as_str()).collect::<Vec<_>>().join(", ");
    let all = || 0..points.len();
    let mut notes = Vec::new();
    if plan.status == Status::Infeasible && !plan.unreachable.is_empty() {
        notes.push(format!(
            "Out of reach of every stack from this stock: {}.",
            ids(&plan.unreachable)
        ));
    }
    if plan.status == Status::Infeasible {
        let (worst, bound) = (plan.worst_mm(), plan.bound);
        let proven = if worst > bound {
            format!("; it is proven that ±{bound:.3} mm is not beaten")
        } else {
            String::new()
        };
        let found = if worst > bound { "found for" } else { "possible with" };
        notes.push(format!("The flattest {found} this stock is ±{worst:.3} mm overall{proven}."));
    }
    for (kind, limit, way) in [
        (LimitKind::Along, limits.along, "lengthwise"),
        (LimitKind::Across, limits.across, "crosswise"),
    ] {
        let bound =
            |at: &usize| verdict.findings.iter().any(|f| f.limit == kind && f.points.contains(at));
        let loose: Vec<usize> = all().filter(|at| limit.is_some() && !bound(at)).collect();
        if !loose.is_empty() {
            let width = limits.line_width;
            notes.push(format!(
                "On no {way} line with another point (within {width}), so not held to that limit: {}.",
                ids(&loose)
            ));
        }
    }
    if limits.overall.is_none() {
        notes.push(
            "No overall limit is asked for: the bed may tilt as far as its lines and joints allow."
                .to_owned(),
        );
    }
    let tall: Vec<usize> =
        all().filter(|&at| plan.stacks[at].len() > MANY_PIECES || plan.lifts[at] > THICK).collect();
    if plan.meets_limits && !tall.is_empty() {
        notes.push(format!(
            "Tall stacks, of more than {MANY_PIECES} pieces or {THICK}: {}. Thicker pieces, or max_pieces and max_stack in the options, make them safer.",
            ids(&tall)
        ));
    }
    let tightest =
        verdict.findings.iter().map(|finding| finding.allowed.mm()).fold(f64::INFINITY, f64::min);
    let doubtful: Vec<usize> = all()
        .filter(|&at| heights[at].sigma_mm.is_some_and(|sigma| 4.0 * sigma > tightest))
        .collect();
    if !doubtful.is_empty() {
        notes.push(format!(
            "Read too coarsely to be sure of the tightest limit (four standard uncertainties are wider than it): {}.",
            ids(&doubtful)
        ));
    }
    notes
}

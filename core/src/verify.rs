//! Limits against heights.

use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::limits::{LimitKind, Limits};
use crate::shim::check_joints;
use crate::tilt;

/// Whether one limit is met over the points that it binds.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct Finding {
    /// Which limit.
    pub limit: LimitKind,
    /// Indices of the points that it binds.
    pub points: Vec<usize>,
    /// The difference between the highest and the lowest of them.
    pub found: Length,
    /// The largest difference that is allowed: twice a ± limit, once a joint step.
    pub allowed: Length,
    /// Whether `found` is at most `allowed`.
    pub met: bool,
}

/// Whether the limits are met.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct Verdict {
    /// Whether all limits are met.
    pub met: bool,
    /// The slope of the target along and across, µm/m: of those that the limits allow the one
    /// nearest to level with which they are met; level where there is none.
    pub tilt_um_per_m: [i64; 2],
    /// One for each set of points that a limit binds: all, every line, every joint.
    pub findings: Vec<Finding>,
}

/// Holds heights at plan positions `xy` against the limits; `joints` are pairs of indices. All of
/// it exact: a difference of just the limit is met.
///
/// # Errors
/// Sizes that differ or are zero, limits that are negative or none, joints of points that are not
/// there.
pub fn check(
    xy: &[[Length; 2]],
    heights: &[Length],
    limits: &Limits,
    joints: &[[usize; 2]],
) -> Result<Verdict, Error> {
    let mut found = Problems::default();
    if heights.len() != xy.len() || xy.is_empty() {
        let expected = format!("{}, one for each row of xy, and at least 1", xy.len());
        found.add(ProblemKind::Shape, "heights", format!("{} values", heights.len()), expected);
    }
    found.take(limits.check(xy.len()));
    check_joints(joints, xy.len(), &mut found);
    found.into_result()?;
    let spans = limits.spans(xy, joints);
    let tilt = tilt::nearest_to_level(limits, xy, heights, &spans).unwrap_or(tilt::LEVEL);
    let above = tilt::above(tilt, xy, heights);
    let findings: Vec<Finding> = spans
        .into_iter()
        .map(|span| {
            let found = span.found(&above);
            let met = found <= span.width;
            Finding { limit: span.limit, points: span.members, found, allowed: span.width, met }
        })
        .collect();
    let met = findings.iter().all(|finding| finding.met);
    Ok(Verdict { met, tilt_um_per_m: tilt, findings })
}

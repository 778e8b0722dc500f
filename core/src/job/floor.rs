//! The floor under the legs, held against a class of evenness.

use super::outcome::FloorOutcome;
use super::survey::StageHeights;
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::plane::FloorClass;
use crate::points::Point;
use crate::verify::{DecisionRule, assess_floor_by};

/// Notes why the readings of a stage cannot tell how even the floor is.
pub(super) fn check_stage(stage: &str, has_stacks: bool, found: &mut Problems) {
    let field = format!("{stage}.floor");
    if stage == "slates" {
        let got = "a class of floors among slates";
        found.add(ProblemKind::Value, &field, got, "none: legs stand on a floor");
    }
    if has_stacks {
        let got = "a class, and stacks in place";
        let expected = "none: what was read is the tops of the stacks and not the floor";
        found.add(ProblemKind::Value, &field, got, expected);
    }
}

/// Holds the floor under legs against a class, by the readings of it. Four legs alone tell nothing:
/// an edge rests on two points, and the gap is at a third.
pub(super) fn assess(
    class: FloorClass,
    points: &[&Point],
    read: &StageHeights,
    line_width: Length,
    rule: DecisionRule,
    deadline: &Deadline<'_>,
) -> Result<FloorOutcome, Error> {
    let xy: Vec<_> = points.iter().map(|point| [point.x.mm(), point.y.mm()]).collect();
    let z: Vec<_> = read.heights.iter().map(|height| height.mm()).collect();
    let exact = vec![0.0; z.len() * z.len()];
    let covariance = read.covariance_mm2.as_deref().unwrap_or(&exact);
    let verdict = assess_floor_by(&xy, &z, covariance, class, line_width.mm(), rule, deadline);
    let verdict = match verdict {
        Err(error) if error.is_geometry() => return Ok(FloorOutcome::untold(class)),
        verdict => verdict?,
    };
    let ids: Vec<&str> = points.iter().map(|point| point.id.as_str()).collect();
    Ok(FloorOutcome::new(class, verdict, read.covariance_mm2.is_none(), &ids))
}

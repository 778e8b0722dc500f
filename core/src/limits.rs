//! What counts as level: limits on differences of height.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::error::{Error, ProblemKind, Problems};
use crate::length::{self, Length};

/// What counts as level. Every limit is one on differences of height, so none needs a slope.
///
/// A ± limit of φ over a set of points asks that some level line has all of them within φ of it,
/// that is, that the highest and the lowest differ by at most 2 φ. A limit that is not given is
/// not asked for; at least one must be.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Limits {
    /// ± over all points.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub overall: Option<Length>,
    /// ± over the points of each lengthwise line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub along: Option<Length>,
    /// ± over the points of each crosswise line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub across: Option<Length>,
    /// The largest step between the two sides of a joint.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub joint_step: Option<Length>,
    /// Points whose y (x) lie within this width of each other are on one lengthwise (crosswise)
    /// line; 10 mm unless told.
    pub line_width: Length,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            overall: None,
            along: None,
            across: None,
            joint_step: None,
            line_width: Length::from_nm(10_000_000),
        }
    }
}

impl Limits {
    /// Only the ± over all points.
    pub fn overall(plus_minus: Length) -> Self {
        Self { overall: Some(plus_minus), ..Self::default() }
    }

    /// The limits of the World Pool-Billiard Association's "Tables & Equipment Specifications"
    /// (effective November 2001), §2-5: 0.020 in lengthwise, 0.010 in across, joints in one plane
    /// within 0.005 in.
    ///
    /// The plain-text copies print "+ .020": it is read here as ±, since a flatness has no
    /// direction. The document limits *flatness* and gives no figure for level; these limits ask
    /// the same figures of the heights themselves, line by line. There is no overall limit among
    /// them: tilts add up from line to line, so ask for one of your own where the bed must be level.
    pub fn wpa_2001() -> Self {
        let thou = |count: i64| Some(Length::from_nm(25_400 * count));
        Self { along: thou(20), across: thou(10), joint_step: thou(5), ..Self::default() }
    }

    /// Checks the limits by themselves.
    ///
    /// # Errors
    /// No limit at all; a negative one.
    pub(crate) fn check(&self) -> Result<(), Error> {
        let mut found = Problems::default();
        if [self.overall, self.along, self.across, self.joint_step].iter().all(Option::is_none) {
            found.add(
                ProblemKind::Value,
                "limits",
                "none",
                "at least one of overall, along, across, joint_step",
            );
        }
        for (name, limit) in [
            ("overall", self.overall),
            ("along", self.along),
            ("across", self.across),
            ("joint_step", self.joint_step),
            ("line_width", Some(self.line_width)),
        ] {
            if let Some(limit) = limit
                && (limit < Length::ZERO || limit > Length::MAX)
            {
                let expected = format!("a length from 0 mm to {}", Length::MAX);
                found.add(ProblemKind::Value, format!("limits.{name}"), limit, expected);
            }
        }
        found.into_result()
    }

    /// The limits as spans over points at `xy`, with the joints as pairs of indices.
    pub(crate) fn spans(&self, xy: &[[Length; 2]], joints: &[[usize; 2]]) -> Vec<Span> {
        let mut spans = Vec::new();
        if let Some(limit) = self.overall {
            let members = (0..xy.len()).collect();
            spans.push(Span { limit: LimitKind::Overall, members, width: limit * 2 });
        }
        for (kind, limit, axis) in
            [(LimitKind::Along, self.along, 1), (LimitKind::Across, self.across, 0)]
        {
            if let Some(limit) = limit {
                for members in lines(xy, axis, self.line_width) {
                    spans.push(Span { limit: kind, members, width: limit * 2 });
                }
            }
        }
        if let Some(limit) = self.joint_step {
            for joint in joints {
                spans.push(Span {
                    limit: LimitKind::JointStep,
                    members: joint.to_vec(),
                    width: limit,
                });
            }
        }
        spans
    }
}

/// Groups of at least two points whose coordinate on `axis` lies within `width` of the group's
/// least, each in the order of the points.
fn lines(xy: &[[Length; 2]], axis: usize, width: Length) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..xy.len()).collect();
    order.sort_by_key(|&at| xy[at][axis]);
    let mut lines: Vec<Vec<usize>> = Vec::new();
    for at in order {
        match lines.last_mut() {
            Some(line) if xy[at][axis] - xy[line[0]][axis] <= width => line.push(at),
            _ => lines.push(vec![at]),
        }
    }
    lines.retain(|line| line.len() > 1);
    lines.iter_mut().for_each(|line| line.sort_unstable());
    lines
}

/// Which of the limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum LimitKind {
    /// ± over all points.
    Overall,
    /// ± over a lengthwise line.
    Along,
    /// ± over a crosswise line.
    Across,
    /// The step at a joint.
    JointStep,
}

impl fmt::Display for LimitKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Overall => "overall",
            Self::Along => "along",
            Self::Across => "across",
            Self::JointStep => "joint step",
        })
    }
}

/// A set of points whose heights may differ by at most a width.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Span {
    pub(crate) limit: LimitKind,
    /// Indices of the points, at least two except in an overall span over one point.
    pub(crate) members: Vec<usize>,
    /// The largest difference that is allowed.
    pub(crate) width: Length,
}

impl Span {
    /// The difference between the highest and the lowest member.
    pub(crate) fn found(&self, heights: &[Length]) -> Length {
        length::range(self.members.iter().map(|&at| heights[at]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(x: i64, y: i64) -> [Length; 2] {
        [Length::from_nm(x * 1_000_000), Length::from_nm(y * 1_000_000)]
    }

    #[test]
    fn points_fall_into_lines() {
        let xy = [at(0, 0), at(1000, 4), at(0, 500), at(1000, 511), at(2000, 0)];
        assert_eq!(lines(&xy, 1, Length::from_nm(10_000_000)), [vec![0, 1, 4]]);
        assert_eq!(lines(&xy, 0, Length::from_nm(10_000_000)), [vec![0, 2], vec![1, 3]]);
        assert_eq!(lines(&xy, 1, Length::from_nm(11_000_000)), [vec![0, 1, 4], vec![2, 3]]);
    }

    #[test]
    fn plus_minus_limits_are_twice_as_wide_and_joints_are_not() {
        let xy = [at(0, 0), at(1000, 0)];
        let widths: Vec<_> =
            Limits::wpa_2001().spans(&xy, &[[0, 1]]).iter().map(|s| s.width.nm()).collect();
        assert_eq!(widths, [1_016_000, 127_000]);
    }
}

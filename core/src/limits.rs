//! What counts as level: limits on differences of height.

mod preset;

use std::collections::HashMap;
use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::error::{Error, ProblemKind, Problems};
use crate::length::{self, Length};
pub use preset::Preset;

/// What counts as level. Every limit is a limit on differences of height, so none needs a slope.
///
/// A ± limit of φ over a set of points asks for a level plane from which none of them is further
/// than φ: the highest and the lowest differ by at most 2 φ. A limit that is not given is not asked
/// for; at least one must be given.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Limits {
    /// The ± limit over all points.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub overall: Option<Length>,
    /// The ± limit over the points of each lengthwise line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub along: Option<Length>,
    /// The ± limit over the points of each crosswise line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub across: Option<Length>,
    /// The largest step between the two sides of a joint.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub joint_step: Option<Length>,
    /// The width of a line: points whose y (x) lie within it are on one lengthwise (crosswise)
    /// line. The default is 20 mm, which is what a tape leaves of points that were marked to lie on one
    /// line (common practice).
    pub line_width: Length,
    /// How much the target may slope along the bed, either way, in µm/m (1000 µm/m is 1 mm/m), at
    /// most 100 000. The default is 0, a level target. All other limits then hold for heights above
    /// the target.
    #[serde(skip_serializing_if = "is_level")]
    pub slope_along_um_per_m: u32,
    /// How much the target may slope across the bed, either way, in µm/m, at most 100 000. The
    /// default is 0.
    #[serde(skip_serializing_if = "is_level")]
    pub slope_across_um_per_m: u32,
    /// Limits on points that the caller names: a pair, or a line of their own.
    #[serde(skip)]
    pub named: Vec<NamedLimit>,
    /// Which of the limits a preset asks for. Where one of these binds no two points the verdict is
    /// "cannot tell"; where a limit that was asked for by hand binds none it is an error.
    #[serde(skip)]
    pub by_preset: Vec<LimitKind>,
}

/// The largest difference of height between any two of some named points.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedLimit {
    /// Indices of the points, at least two.
    pub points: Vec<usize>,
    /// The largest difference allowed: twice a ± limit.
    pub within: Length,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "what serde asks for")]
fn is_level(slope: &u32) -> bool {
    *slope == 0
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            overall: None,
            along: None,
            across: None,
            joint_step: None,
            line_width: Length::from_nm(20_000_000),
            slope_along_um_per_m: 0,
            slope_across_um_per_m: 0,
            named: Vec::new(),
            by_preset: Vec::new(),
        }
    }
}

impl Limits {
    /// No target slopes more, in µm/m.
    pub const STEEPEST: u32 = 100_000;

    /// Whether the target may slope.
    pub(crate) fn allow_tilt(&self) -> bool {
        self.slope_along_um_per_m > 0 || self.slope_across_um_per_m > 0
    }

    /// Only the ± over all points.
    pub fn overall(plus_minus: Length) -> Self {
        Self { overall: Some(plus_minus), ..Self::default() }
    }

    /// Checks the limits for a number of points.
    ///
    /// # Errors
    /// No limit at all; a negative one; a name of fewer than two points, of one that is not there
    /// or of one twice.
    pub(crate) fn check_values(&self, count: usize) -> Result<(), Error> {
        let mut found = Problems::default();
        let none =
            [self.overall, self.along, self.across, self.joint_step].iter().all(Option::is_none);
        if none && self.named.is_empty() {
            found.add(
                ProblemKind::Value,
                "limits",
                "none",
                "at least one of overall, along, across, joint_step, named",
            );
        }
        for (name, slope) in
            [("along", self.slope_along_um_per_m), ("across", self.slope_across_um_per_m)]
        {
            if slope > Self::STEEPEST {
                let expected = format!("a slope of at most {} µm/m", Self::STEEPEST);
                let field = format!("limits.slope_{name}_um_per_m");
                found.add(ProblemKind::Value, field, slope, expected);
            }
        }
        for (at, limit) in self.named.iter().enumerate() {
            limit.check_members(at, count, &mut found);
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

    /// The limit of a kind, where it is asked for; none for limits on named points.
    fn of(&self, kind: LimitKind) -> Option<Length> {
        match kind {
            LimitKind::Overall => self.overall,
            LimitKind::Along => self.along,
            LimitKind::Across => self.across,
            LimitKind::JointStep => self.joint_step,
            LimitKind::Named => None,
        }
    }

    /// The limits that bind no two points: lines of which none has two, a joint step without joints.
    pub(crate) fn unbound(&self, xy: &[[Length; 2]], joints: &[[usize; 2]]) -> Vec<LimitKind> {
        let binds = |kind: LimitKind| match kind {
            LimitKind::Along => !lines(xy, 1, self.line_width).is_empty(),
            LimitKind::Across => !lines(xy, 0, self.line_width).is_empty(),
            LimitKind::JointStep => !joints.is_empty(),
            LimitKind::Overall | LimitKind::Named => true,
        };
        let kinds = [LimitKind::Along, LimitKind::Across, LimitKind::JointStep];
        kinds.into_iter().filter(|&kind| self.of(kind).is_some() && !binds(kind)).collect()
    }

    /// Checks that each limit that was asked for by hand binds two points.
    pub(crate) fn check_binding(
        &self,
        xy: &[[Length; 2]],
        joints: &[[usize; 2]],
    ) -> Result<(), Error> {
        let mut found = Problems::default();
        let unbound = self.unbound(xy, joints);
        for kind in unbound.into_iter().filter(|kind| !self.by_preset.contains(kind)) {
            let width = self.line_width;
            let (name, got, expected) = match kind {
                LimitKind::JointStep => (
                    "joint_step",
                    "a limit on the step at joints, and no joints".to_owned(),
                    "the pairs of points on the two sides of a joint, or no such limit".to_owned(),
                ),
                kind => {
                    let (name, axis) =
                        if kind == LimitKind::Along { ("along", "y") } else { ("across", "x") };
                    let got = format!("a limit on lines {name}, and no two points on one");
                    let expected = format!(
                        "points whose {axis} lie within the line_width of {width}, or no such limit"
                    );
                    (name, got, expected)
                }
            };
            found.add(ProblemKind::Value, format!("limits.{name}"), got, expected);
        }
        found.into_result()
    }

    /// The points that lie on no line along and on no line across, where limits ask for such lines.
    pub(crate) fn off_lines(&self, xy: &[[Length; 2]]) -> [Vec<usize>; 2] {
        [(self.along, 1), (self.across, 0)].map(|(limit, axis)| {
            if limit.is_none() {
                return Vec::new();
            }
            let mut is_on = vec![false; xy.len()];
            lines(xy, axis, self.line_width).iter().flatten().for_each(|&at| is_on[at] = true);
            (0..xy.len()).filter(|&at| !is_on[at]).collect()
        })
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
        spans.extend(self.named.iter().map(|NamedLimit { points, within }| Span {
            limit: LimitKind::Named,
            members: points.clone(),
            width: *within,
        }));
        spans
    }
}

impl NamedLimit {
    fn check_members(&self, at: usize, count: usize, found: &mut Problems) {
        let field = || format!("limits.named[{at}].points");
        let mut sorted = self.points.clone();
        sorted.sort_unstable();
        let twice = sorted.windows(2).any(|pair| pair[0] == pair[1]);
        if sorted.len() < 2 || twice {
            let got = format!("{:?}", self.points);
            found.add(ProblemKind::Value, field(), got, "two or more different points");
        }
        for point in sorted.iter().filter(|&&point| point >= count) {
            found.add(ProblemKind::Unknown, field(), point, format!("an index below {count}"));
        }
        if self.within < Length::ZERO || self.within > Length::MAX {
            let expected = format!("a length from 0 mm to {}", Length::MAX);
            found.add(
                ProblemKind::Value,
                format!("limits.named[{at}].within"),
                self.within,
                expected,
            );
        }
    }
}

/// Checks the joints of `count` points.
pub(crate) fn check_joints(joints: &[[usize; 2]], count: usize, found: &mut Problems) {
    let mut pairs = HashMap::new();
    for (at, &[a, b]) in joints.iter().enumerate() {
        let field = || format!("joints[{at}]");
        for side in [a, b] {
            if side >= count {
                let expected = format!("an index below {count}");
                found.add(ProblemKind::Unknown, field(), side, expected);
            }
        }
        if a == b {
            found.add(ProblemKind::Value, field(), format!("({a}, {b})"), "two different supports");
        }
        if let Some(other) = pairs.insert((a.min(b), a.max(b)), at) {
            let expected = format!("a pair that joints[{other}] does not have");
            found.add(ProblemKind::Duplicate, field(), format!("({a}, {b})"), expected);
        }
    }
}

/// Groups of at least two points whose coordinate on `axis` lies within `width` of the group's
/// least, each in the order of the points.
fn lines(xy: &[[Length; 2]], axis: usize, width: Length) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..xy.len()).collect();
    order.sort_by_key(|&at| xy[at][axis]);
    let mut lines = grouped(order, |first, at| xy[at][axis] - xy[first][axis] <= width);
    lines.iter_mut().for_each(|line| line.sort_unstable());
    lines
}

/// Points in order, in groups of at least two: each goes with the first of a group that it is near.
pub(crate) fn grouped(
    order: Vec<usize>,
    is_near: impl Fn(usize, usize) -> bool,
) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for at in order {
        match groups.last_mut() {
            Some(group) if is_near(group[0], at) => group.push(at),
            _ => groups.push(vec![at]),
        }
    }
    groups.retain(|group| group.len() > 1);
    groups
}

/// The kind of a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum LimitKind {
    /// The ± limit over all points.
    Overall,
    /// The ± limit over a lengthwise line.
    Along,
    /// The ± limit over a crosswise line.
    Across,
    /// The limit on the step at a joint.
    JointStep,
    /// The limit on the difference between points that the caller named.
    Named,
}

impl fmt::Display for LimitKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Overall => "overall",
            Self::Along => "along",
            Self::Across => "across",
            Self::JointStep => "joint step",
            Self::Named => "named",
        })
    }
}

/// A set of points whose heights may differ by at most a width: what a limit comes down to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Span {
    /// Which limit it is.
    pub limit: LimitKind,
    /// Indices of the points, at least two except in an overall span over one point.
    pub members: Vec<usize>,
    /// The largest difference that is allowed.
    pub width: Length,
}

impl Span {
    /// Every two members, each pair in the order of the members.
    pub(crate) fn pairs(&self) -> impl Iterator<Item = [usize; 2]> {
        let members = &self.members;
        (0..members.len()).flat_map(move |b| (0..b).map(move |a| [members[a], members[b]]))
    }

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
            Preset::Wpa2001.limits().spans(&xy, &[[0, 1]]).iter().map(|s| s.width.nm()).collect();
        assert_eq!(widths, [1_016_000, 127_000]);
    }
}

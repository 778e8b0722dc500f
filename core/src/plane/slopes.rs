//! Slopes from point to point.

use super::lines::{self, ACROSS, ALONG};
use crate::error::Error;

/// The slope from a point to the next on its line.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct LocalSlope {
    /// The two points, by index; the second lies further along x (y, across).
    pub points: [usize; 2],
    /// Rise per length, dimensionless.
    pub slope: f64,
}

/// Slopes from point to point, lengthwise and crosswise.
#[derive(Debug, Clone, PartialEq, Default)]
#[non_exhaustive]
pub struct LocalSlopes {
    /// Along x, line by line.
    pub along: Vec<LocalSlope>,
    /// Along y, line by line.
    pub across: Vec<LocalSlope>,
}

/// The slope from each point to the next one on its lengthwise and on its crosswise line. Points lie
/// on one line by the rule of [`Limits`](crate::Limits): their y (x) lie within `line_width_mm` of
/// the least. Two points at the same place along a line have no slope between them.
///
/// # Errors
/// Sizes that differ, values that are not finite, a negative width.
pub fn local_slopes(xy: &[[f64; 2]], z: &[f64], line_width_mm: f64) -> Result<LocalSlopes, Error> {
    lines::check_points(xy, z, line_width_mm)?;
    let of = |axis: usize| {
        let lines = lines::parallel(xy, z, axis, line_width_mm).into_iter();
        let steps = |line: lines::Line| {
            (1..line.points.len())
                .filter(|&at| line.stations[at] > line.stations[at - 1])
                .map(|at| LocalSlope {
                    points: [line.points[at - 1], line.points[at]],
                    slope: (line.heights[at] - line.heights[at - 1])
                        / (line.stations[at] - line.stations[at - 1]),
                })
                .collect::<Vec<_>>()
        };
        lines.flat_map(steps).collect()
    };
    Ok(LocalSlopes { along: of(ALONG), across: of(ACROSS) })
}

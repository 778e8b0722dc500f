//! What a feeler gauge finds under a straightedge.
//!
//! A straightedge on a line rests on two high points, and the gap is the distance from a point between
//! them up to the edge. So the gaps are those below the upper hull of the points that it covers.

use super::lines::{self, Line};
use crate::error::{Error, Problems};

/// The largest gap under a straightedge.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Gap {
    /// The distance from the point up to the edge, mm.
    pub gap_mm: f64,
    /// The point under the edge, by index.
    pub at: usize,
    /// The two points that the edge rests on, by index.
    pub rests_on: [usize; 2],
    /// Their distance along the line, mm.
    pub distance_mm: f64,
}

/// The largest gap under a straightedge of `length_mm` laid anywhere on the lengthwise and
/// crosswise lines of a survey (by the rule of [`Limits`](crate::Limits): points whose y (x) lie
/// within `line_width_mm` of the least of the line); none where it nowhere covers three points.
/// Heights between the points are not known, so points must be close enough to find the gaps that
/// matter.
///
/// # Errors
/// Sizes that differ, values that are not finite, a length that is not above zero, a negative width.
pub fn straightedge(
    xy: &[[f64; 2]],
    z: &[f64],
    length_mm: f64,
    line_width_mm: f64,
) -> Result<Option<Gap>, Error> {
    check_edge(xy, z, length_mm, line_width_mm)?;
    let lines = lines::all(xy, z, line_width_mm);
    Ok(lines.iter().filter_map(|line| largest(line, length_mm)).reduce(larger))
}

/// The same on one line, from one place to another, in any direction: of the points that lie within
/// half of `line_width_mm` to either side of it.
///
/// # Errors
/// Those of [`straightedge`]; two places that are one.
pub fn straightedge_between(
    xy: &[[f64; 2]],
    z: &[f64],
    start: [f64; 2],
    end: [f64; 2],
    length_mm: f64,
    line_width_mm: f64,
) -> Result<Option<Gap>, Error> {
    check_edge(xy, z, length_mm, line_width_mm)?;
    Ok(largest(&lines::between(xy, z, [start, end], line_width_mm)?, length_mm))
}

fn check_edge(xy: &[[f64; 2]], z: &[f64], length: f64, width: f64) -> Result<(), Error> {
    let mut found = Problems::default();
    found.take(lines::check_points(xy, z, width));
    lines::check_length(&mut found, "length", length, false);
    found.into_result()
}

fn larger(a: Gap, b: Gap) -> Gap {
    if b.gap_mm > a.gap_mm { b } else { a }
}

/// The largest gap on a line.
pub(super) fn largest(line: &Line, length: f64) -> Option<Gap> {
    let count = line.points.len();
    let mut best: Option<Gap> = None;
    let mut end = 0;
    for start in 0..count {
        let before = end;
        while end < count && line.stations[end] - line.stations[start] <= length {
            end += 1;
        }
        // What the edge covered a step before, less a point: no gap gets larger by that.
        if end == before {
            continue;
        }
        if end - start < 3 {
            continue;
        }
        for edge in upper_hull(line, start, end).windows(2) {
            // Neighbours hold no gap between them, on a crown nowhere.
            for at in edge[0]..edge[1] {
                let gap = under(line, [edge[0], edge[1]], at);
                best = Some(best.map_or(gap, |best| larger(best, gap)));
            }
        }
    }
    best
}

/// The gap at a point under an edge on two others.
fn under(line: &Line, [a, b]: [usize; 2], at: usize) -> Gap {
    let distance_mm = line.stations[b] - line.stations[a];
    let part =
        if distance_mm > 0.0 { (line.stations[at] - line.stations[a]) / distance_mm } else { 0.0 };
    let edge = line.heights[a] + part * (line.heights[b] - line.heights[a]);
    Gap {
        gap_mm: (edge - line.heights[at]).max(0.0),
        at: line.points[at],
        rests_on: [line.points[a], line.points[b]],
        distance_mm,
    }
}

/// Corners of the upper hull of part of a line, and what lies on its edges.
fn upper_hull(line: &Line, start: usize, end: usize) -> Vec<usize> {
    let mut corners: Vec<usize> = Vec::new();
    for at in start..end {
        while let [.., a, b] = corners[..]
            && rise(line, a, b) < rise(line, a, at)
        {
            corners.pop();
        }
        corners.push(at);
    }
    corners
}

/// Slope between two points of a line, the second not before the first.
fn rise(line: &Line, a: usize, b: usize) -> f64 {
    let (run, rise) = (line.stations[b] - line.stations[a], line.heights[b] - line.heights[a]);
    if run > 0.0 {
        rise / run
    } else if rise == 0.0 {
        0.0
    } else {
        f64::INFINITY.copysign(rise)
    }
}

/// For every two points of a line that an edge of their distance would rest on, the largest gap
/// between them; none between neighbours. There may be as many as pairs.
pub(super) fn rests(line: &Line, mut found: impl FnMut(Gap)) {
    for a in 0..line.points.len() {
        let mut steepest = f64::NEG_INFINITY;
        // The lower hull of what lies between, where the largest gap is.
        let mut low: Vec<usize> = Vec::new();
        for b in a + 1..line.points.len() {
            let slope = rise(line, a, b);
            if slope >= steepest {
                steepest = slope;
                // Along the hull the gap grows while it falls away from the edge.
                let (mut first, mut last) = (0, low.len().saturating_sub(1));
                while first < last {
                    let middle = (first + last) / 2;
                    if rise(line, low[middle], low[middle + 1]) < slope {
                        first = middle + 1;
                    } else {
                        last = middle;
                    }
                }
                found(under(line, [a, b], low.get(first).copied().unwrap_or(a)));
            }
            while let [.., p, q] = low[..]
                && rise(line, p, q) >= rise(line, p, b)
            {
                low.pop();
            }
            low.push(b);
        }
    }
}

//! Points of a survey that lie on one line.

use super::check::name_bad;
use crate::error::{Error, ProblemKind, Problems};
use crate::limits::grouped;

/// Along which axis a line runs.
pub(super) const ALONG: usize = 0;
pub(super) const ACROSS: usize = 1;

/// Points in the order in which a line meets them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    pub(super) points: Vec<usize>,
    /// Distance of each along the line, mm, ascending.
    pub(super) stations: Vec<f64>,
    /// Its height, mm.
    pub(super) heights: Vec<f64>,
}

impl Line {
    fn new(mut points: Vec<(f64, usize)>, z: &[f64]) -> Self {
        points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        Self {
            stations: points.iter().map(|(station, _)| *station).collect(),
            heights: points.iter().map(|(_, at)| z[*at]).collect(),
            points: points.into_iter().map(|(_, at)| at).collect(),
        }
    }
}

/// Sizes, values and the width of lines.
pub(super) fn check_points(xy: &[[f64; 2]], z: &[f64], width: f64) -> Result<(), Error> {
    let mut found = Problems::default();
    if z.len() != xy.len() {
        let expected = format!("{}, one for each row of xy", xy.len());
        found.add(ProblemKind::Shape, "z", format!("{} values", z.len()), expected);
    }
    found.take(name_bad(xy, z));
    check_length(&mut found, "line_width", width, true);
    found.into_result()
}

pub(super) fn check_length(found: &mut Problems, field: &str, value: f64, or_zero: bool) {
    if !(value.is_finite() && (value > 0.0 || or_zero && value == 0.0)) {
        let than = if or_zero { "of 0 mm or more" } else { "above 0 mm" };
        found.add(ProblemKind::Value, field, value, format!("a finite length {than}"));
    }
}

/// The lines along an axis, by the rule of [`Limits`](crate::Limits): points whose other
/// coordinate lies within `width` of the least of the line. Lines of one point are left out.
pub(super) fn parallel(xy: &[[f64; 2]], z: &[f64], axis: usize, width: f64) -> Vec<Line> {
    let other = 1 - axis;
    let mut order: Vec<usize> = (0..xy.len()).collect();
    order.sort_by(|&a, &b| xy[a][other].total_cmp(&xy[b][other]).then(a.cmp(&b)));
    let groups = grouped(order, |first, at| xy[at][other] - xy[first][other] <= width);
    let line =
        |group: Vec<usize>| Line::new(group.iter().map(|&at| (xy[at][axis], at)).collect(), z);
    groups.into_iter().map(line).collect()
}

/// Lengthwise and crosswise lines.
pub(super) fn all(xy: &[[f64; 2]], z: &[f64], width: f64) -> Vec<Line> {
    [ALONG, ACROSS].into_iter().flat_map(|axis| parallel(xy, z, axis, width)).collect()
}

/// The line from one place to another: points within half of `width` to either side of it, and
/// not beyond its ends by more than that.
pub(super) fn between(
    xy: &[[f64; 2]],
    z: &[f64],
    [start, end]: [[f64; 2]; 2],
    width: f64,
) -> Result<Line, Error> {
    let (dx, dy) = (end[0] - start[0], end[1] - start[1]);
    let length = dx.hypot(dy);
    if !(length.is_finite() && length > 0.0) {
        let got = format!("x = {}, y = {}", end[0], end[1]);
        let expected = format!("a place other than the start, x = {}, y = {}", start[0], start[1]);
        return Err(Error::new(ProblemKind::Value, "end", got, expected));
    }
    let (c, s) = (dx / length, dy / length);
    let reach = 0.5 * width;
    let on_line = |(at, [x, y]): (usize, &[f64; 2])| {
        let (x, y) = (x - start[0], y - start[1]);
        let (station, off) = (c * x + s * y, c * y - s * x);
        let inside = off.abs() <= reach && station >= -reach && station <= length + reach;
        inside.then_some((station, at))
    };
    Ok(Line::new(xy.iter().enumerate().filter_map(on_line).collect(), z))
}

//! What is wrong with points to fit a plane to.

use crate::error::{Error, ProblemKind, Problems};

/// Checks sizes and weights. The first sums over heights and places check those; here they are named
/// only where something else is wrong already.
pub(super) fn check_fit(xy: &[[f64; 2]], z: &[f64], weights: Option<&[f64]>) -> Result<(), Error> {
    let count = xy.len();
    let sizes = [("z", z.len()), ("weights", weights.map_or(count, <[f64]>::len))];
    let weights = weights.unwrap_or_default();
    let is_good = |weight: &f64| weight.is_finite() && *weight > 0.0;
    if count >= 3 && sizes.iter().all(|(_, got)| *got == count) && weights.iter().all(is_good) {
        return Ok(());
    }
    let mut found = Problems::default();
    for (name, got) in sizes {
        if got != count {
            let expected = format!("{count}, one for each row of xy");
            found.add(ProblemKind::Shape, name, format!("{got} values"), expected);
        }
    }
    if count < 3 {
        found.add(ProblemKind::Geometry, "xy", format!("{count} points"), "at least 3 for a plane");
    }
    found.take(name_bad(xy, z));
    for (at, weight) in weights.iter().enumerate() {
        if !is_good(weight) {
            let field = format!("weights[{at}]");
            found.add(ProblemKind::Value, field, weight, "a finite number above 0");
        }
    }
    found.into_result()
}

/// Names what is not finite.
pub(super) fn name_bad(xy: &[[f64; 2]], z: &[f64]) -> Result<(), Error> {
    let mut found = Problems::default();
    let coordinates =
        xy.iter().enumerate().flat_map(|(at, xy)| [(at, "x", xy[0]), (at, "y", xy[1])]);
    let heights = z.iter().enumerate().map(|(at, z)| (at, "z", *z));
    for (at, name, value) in coordinates.chain(heights) {
        if !value.is_finite() {
            found.add(ProblemKind::Value, format!("{name}[{at}]"), value, "a finite number of mm");
        }
    }
    found.into_result()
}

/// Points that span no plane.
pub(super) fn collinear(count: usize) -> Error {
    let got = format!("{count} points in one place or on one line");
    Error::new(ProblemKind::Geometry, "xy", got, "points that span a plane")
}

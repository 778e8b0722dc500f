//! Reference planes: z = offset + slope_x · x + slope_y · y.

use nalgebra::{DMatrix, DVector};

use crate::error::{Error, ProblemKind, Problems};
use crate::regression::regress;

/// Which plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[non_exhaustive]
pub enum PlaneKind {
    /// Least squares of the vertical residuals.
    #[default]
    LeastSquares,
}

/// A reference plane and how the points lie about it.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Plane {
    /// Rise per length along x, dimensionless.
    pub slope_x: f64,
    /// Rise per length along y, dimensionless.
    pub slope_y: f64,
    /// Height of the plane at x = y = 0, in millimetres.
    pub offset_mm: f64,
    /// Height of each point above the plane, in millimetres, in the order of the points.
    pub deviations_mm: Vec<f64>,
    /// Peak-to-valley of the deviations (ISO 12781-1 FLTt), in millimetres.
    pub flatness_mm: f64,
    /// Root mean square of the deviations (ISO 12781-1 FLTq), in millimetres.
    pub rms_mm: f64,
}

/// Fits a plane to heights `z` at plan positions `xy`, all in millimetres; `weights`, one a
/// point, are inverse variances up to a common factor.
///
/// # Errors
/// Sizes that differ; values that are not finite; weights that are not above zero; fewer than
/// three points; points that lie on one line: whose spread across the line is below
/// n · 2⁻⁵² of that along it.
pub fn fit_plane(
    xy: &[[f64; 2]],
    z: &[f64],
    kind: PlaneKind,
    weights: Option<&[f64]>,
) -> Result<Plane, Error> {
    check(xy, z, weights)?;
    match kind {
        PlaneKind::LeastSquares => least_squares(xy, z, weights),
    }
}

fn check(xy: &[[f64; 2]], z: &[f64], weights: Option<&[f64]>) -> Result<(), Error> {
    let mut found = Problems::default();
    let count = xy.len();
    for (name, got) in [("z", z.len()), ("weights", weights.map_or(count, <[f64]>::len))] {
        if got != count {
            let expected = format!("{count}, one for each row of xy");
            found.add(ProblemKind::Shape, name, format!("{got} values"), expected);
        }
    }
    if count < 3 {
        found.add(ProblemKind::Geometry, "xy", format!("{count} points"), "at least 3 for a plane");
    }
    let coordinates =
        xy.iter().enumerate().flat_map(|(at, xy)| [(at, "x", xy[0]), (at, "y", xy[1])]);
    let heights = z.iter().enumerate().map(|(at, z)| (at, "z", *z));
    for (at, name, value) in coordinates.chain(heights) {
        if !value.is_finite() {
            found.add(ProblemKind::Value, format!("{name}[{at}]"), value, "a finite number of mm");
        }
    }
    for (at, weight) in weights.unwrap_or_default().iter().enumerate() {
        if !(weight.is_finite() && *weight > 0.0) {
            found.add(
                ProblemKind::Value,
                format!("weights[{at}]"),
                weight,
                "a finite number above 0",
            );
        }
    }
    found.into_result()
}

fn least_squares(xy: &[[f64; 2]], z: &[f64], weights: Option<&[f64]>) -> Result<Plane, Error> {
    // About the weighted centre the offset is uncorrelated with the slopes, and micrometres of
    // relief on top of kilometres keep their digits.
    let total: f64 = weights.map_or(z.len() as f64, |weights| weights.iter().sum());
    let weight = |at: usize| weights.map_or(1.0, |weights| weights[at]) / total;
    let centre = |value: &dyn Fn(usize) -> f64| -> f64 {
        let first = value(0);
        first + (0..z.len()).map(|at| weight(at) * (value(at) - first)).sum::<f64>()
    };
    let [x0, y0, z0] = [centre(&|at| xy[at][0]), centre(&|at| xy[at][1]), centre(&|at| z[at])];
    let spread = xy.iter().map(|[x, y]| (x - x0).abs().max((y - y0).abs())).fold(0.0, f64::max);
    let design = DMatrix::from_fn(z.len(), 3, |at, column| match column {
        0 => 1.0,
        1 => (xy[at][0] - x0) / spread,
        _ => (xy[at][1] - y0) / spread,
    });
    let observed = DVector::from_iterator(z.len(), z.iter().map(|z| z - z0));
    let collinear = || {
        let ends = format!("{} points in one place or on one line", z.len());
        Error::new(ProblemKind::Geometry, "xy", ends, "points that span a plane")
    };
    if spread == 0.0 || !spread.is_finite() {
        return Err(collinear());
    }
    let fit = regress(&design, &observed, weights).map_err(|_| collinear())?;
    let (slope_x, slope_y) = (fit.coefficients[1] / spread, fit.coefficients[2] / spread);
    if !(slope_x.is_finite() && slope_y.is_finite()) {
        return Err(collinear());
    }
    let deviations_mm: Vec<f64> = fit.residuals.iter().copied().collect();
    let highest = deviations_mm.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let lowest = deviations_mm.iter().copied().fold(f64::INFINITY, f64::min);
    let squares: f64 = deviations_mm.iter().map(|deviation| deviation * deviation).sum();
    Ok(Plane {
        slope_x,
        slope_y,
        offset_mm: z0 + fit.coefficients[0] - slope_x * x0 - slope_y * y0,
        flatness_mm: highest - lowest,
        rms_mm: (squares / z.len() as f64).sqrt(),
        deviations_mm,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn fit(xy: &[[f64; 2]], z: &[f64]) -> Result<Plane, Error> {
        fit_plane(xy, z, PlaneKind::LeastSquares, None)
    }

    const CORNERS: [[f64; 2]; 4] =
        [[-600.0, -300.0], [600.0, -300.0], [600.0, 300.0], [-600.0, 300.0]];

    /// NIST StRD "Norris" (US Government work): each point once at y = −1 and once at y = +1
    /// makes the certified line the certified plane.
    #[test]
    fn norris() {
        let (mut xy, mut z) = (Vec::new(), Vec::new());
        for line in include_str!("../../tests/data/norris.csv").lines().skip(1) {
            let (y, x) = line.split_once(',').unwrap();
            for side in [-1.0, 1.0] {
                xy.push([x.parse().unwrap(), side]);
                z.push(y.parse().unwrap());
            }
        }
        assert_eq!(z.len(), 72);
        let plane = fit(&xy, &z).unwrap();
        assert_relative_eq!(plane.slope_x, 1.00211681802045, max_relative = 1e-12);
        assert_relative_eq!(plane.offset_mm, -0.262323073774029, max_relative = 1e-10);
        assert!(plane.slope_y.abs() < 1e-12);
        let residual_sum = plane.rms_mm.powi(2) * 36.0;
        assert_relative_eq!(residual_sum, 26.6173985294224, max_relative = 1e-11);
        assert_relative_eq!((residual_sum / 34.0).sqrt(), 0.884796396144373, max_relative = 1e-11);
    }

    /// Exact by hand: corners in a twist of ±c lie about the level plane, peak-to-valley 2 c.
    #[test]
    fn twist() {
        let plane = fit(&CORNERS, &[0.5, -0.5, 0.5, -0.5]).unwrap();
        assert_relative_eq!(plane.flatness_mm, 1.0, max_relative = 1e-14);
        assert_relative_eq!(plane.rms_mm, 0.5, max_relative = 1e-14);
        assert!(plane.slope_x.abs() < 1e-18 && plane.slope_y.abs() < 1e-18);
    }

    /// Exact by hand: three points lie in their plane; four level corners and a centre at h have
    /// peak-to-valley h.
    #[test]
    fn exact_cases() {
        let three = fit(&CORNERS[..3], &[1.0, 2.0, 4.0]).unwrap();
        assert!(three.flatness_mm < 1e-14);
        assert_relative_eq!(three.slope_x, 1.0 / 1200.0, max_relative = 1e-13);
        assert_relative_eq!(three.slope_y, 2.0 / 600.0, max_relative = 1e-13);
        let mut xy = CORNERS.to_vec();
        xy.push([0.0, 0.0]);
        let plane = fit(&xy, &[0.0, 0.0, 0.0, 0.0, 0.3]).unwrap();
        assert_relative_eq!(plane.flatness_mm, 0.3, max_relative = 1e-14);
    }

    #[test]
    fn bad_input_names_every_problem() {
        let error = fit_plane(
            &[[0.0, f64::NAN], [1.0, 0.0]],
            &[f64::INFINITY, 1.0, 2.0],
            PlaneKind::LeastSquares,
            Some(&[1.0, 0.0]),
        )
        .unwrap_err();
        let fields: Vec<_> =
            error.problems().iter().map(|problem| problem.field.as_str()).collect();
        assert_eq!(fields, ["z", "xy", "y[0]", "z[0]", "weights[1]"]);
    }

    #[test]
    fn points_on_one_line_are_refused() {
        for xy in [
            vec![[1.0, 1.0]; 5],
            (0..5).map(|i| [f64::from(i), 0.0]).collect(),
            (0..5).map(|i| [f64::from(i) * 0.1, f64::from(i) * 0.3]).collect(),
            (0..5).map(|i| [1e9 + f64::from(i), 1e9 - 2.0 * f64::from(i)]).collect(),
            vec![[f64::MAX, 0.0], [-f64::MAX, 0.0], [0.0, f64::MAX]],
        ] {
            let error = fit(&xy, &vec![0.0; xy.len()]).unwrap_err();
            assert_eq!(error.problems()[0].kind, ProblemKind::Geometry, "{xy:?}");
        }
    }

    proptest! {
        /// A tilt added to the heights comes back in the slopes and leaves the deviations.
        #[test]
        fn a_tilt_comes_back(
            relief in proptest::collection::vec(-3.0..3.0f64, 12),
            (a, b, c) in (-0.01..0.01f64, -0.01..0.01f64, -1e6..1e6f64),
        ) {
            let xy: Vec<[f64; 2]> = (0..12).map(|i| [f64::from(i % 4) * 700.0, f64::from(i / 4) * 600.0]).collect();
            let flat = fit(&xy, &relief).unwrap();
            let tilted: Vec<f64> = relief.iter().zip(&xy).map(|(z, p)| z + a * p[0] + b * p[1] + c).collect();
            let plane = fit(&xy, &tilted).unwrap();
            prop_assert!((plane.slope_x - flat.slope_x - a).abs() < 1e-12);
            prop_assert!((plane.slope_y - flat.slope_y - b).abs() < 1e-12);
            prop_assert!((plane.offset_mm - flat.offset_mm - c).abs() < 1e-8);
            for (tilted, flat) in plane.deviations_mm.iter().zip(&flat.deviations_mm) {
                prop_assert!((tilted - flat).abs() < 1e-8);
            }
        }
    }
}

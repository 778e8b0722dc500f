//! The plane of a kind through points.

use super::fit::{Fit, Plane};
use super::kind::PlaneKind;
use super::minimum_zone::{self, minimum_zone};
use super::zone::Direction;
use super::{least_squares, orthogonal, resting};
use crate::error::{Error, ProblemKind};

/// Fits a plane to heights `z` at plan positions `xy`, all in millimetres; `weights`, one a
/// point, are inverse variances up to a common factor, for the two kinds of least squares.
///
/// # Errors
/// Sizes that differ; values that are not finite; weights that are not above zero, or given for a
/// kind that takes none; fewer than three points; points on one line, which is where their spread
/// across the line is at most n · 2⁻⁵² of that along it, or four units in the last place of their
/// coordinates. For the kinds along the normal: points that are as thin in two directions, or whose
/// plane stands upright.
pub fn fit_plane(
    xy: &[[f64; 2]],
    z: &[f64],
    kind: PlaneKind,
    weights: Option<&[f64]>,
) -> Result<Plane, Error> {
    match kind {
        PlaneKind::MinimumZone | PlaneKind::MinimumZoneNormal if weights.is_none() => {
            let along = if kind.is_normal() { Direction::Normal } else { Direction::Vertical };
            minimum_zone(xy, z, along).map(|zone| zone.plane)
        }
        _ => {
            let fit = fit(xy, z, kind, weights)?;
            Ok(fit.plane(xy, z, scale(kind, &fit)))
        }
    }
}

/// The plane of a kind without its deviations.
pub(super) fn fit(
    xy: &[[f64; 2]],
    z: &[f64],
    kind: PlaneKind,
    weights: Option<&[f64]>,
) -> Result<Fit, Error> {
    if weights.is_some() && !matches!(kind, PlaneKind::LeastSquares | PlaneKind::Orthogonal) {
        let expected = format!("none, since {kind} counts every point as it is");
        return Err(Error::new(ProblemKind::Value, "weights", "values", expected));
    }
    match kind {
        PlaneKind::LeastSquares => least_squares::fit(xy, z, weights),
        PlaneKind::Orthogonal => orthogonal::fit(xy, z, weights),
        PlaneKind::MinimumZone => {
            minimum_zone::zone(xy, z, Direction::Vertical).map(|zone| zone.fit)
        }
        PlaneKind::MinimumZoneNormal => {
            minimum_zone::zone(xy, z, Direction::Normal).map(|zone| zone.fit)
        }
        PlaneKind::Resting => resting::fit(xy, z),
    }
}

/// Deviations over heights above the plane.
pub(super) fn scale(kind: PlaneKind, fit: &Fit) -> f64 {
    if kind.is_normal() { fit.normal() } else { 1.0 }
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
        for line in include_str!("../../../tests/data/norris.csv").lines().skip(1) {
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

//! Reference planes: z = offset + slope_x · x + slope_y · y, and what points do about them.

mod batch;
mod blocks;
mod exchange;
mod fit;
mod floor;
mod highest;
mod hull;
mod least_squares;
mod lines;
mod minimum_zone;
mod moments;
mod normal_zone;
mod orthogonal;
mod resting;
mod slopes;
mod straightedge;
mod zone;

use std::fmt;
use std::str::FromStr;

pub use batch::{Planes, fit_planes};
pub use floor::{
    FloorClass, FloorFinding, FloorNumbers, FloorQuantity, check_floor, floor_numbers,
};
pub use highest::{Highest, highest};
pub use least_squares::{LeastSquares, Uncertainty, least_squares};
pub use minimum_zone::{Contact, Direction, MinimumZone, minimum_zone};
pub use resting::{Resting, Rock, resting};
pub use slopes::{LocalSlope, LocalSlopes, local_slopes};
pub use straightedge::{Gap, straightedge, straightedge_between};

use crate::error::{Error, ProblemKind, Problems};
use fit::Fit;

/// Which plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[non_exhaustive]
pub enum PlaneKind {
    /// Least squares of the vertical residuals.
    #[default]
    LeastSquares,
    /// Least squares of the distances along the normal (LSPL of ISO 12781-1).
    Orthogonal,
    /// Half way between the two parallel planes that hold all points and are closest together
    /// along the vertical.
    MinimumZone,
    /// The same along the normal (MZPL of ISO 12781-1).
    MinimumZoneNormal,
    /// The underside of a rigid frame that stands on the points, its centre of mass over their mean.
    Resting,
}

impl PlaneKind {
    /// All kinds, each with its name.
    pub const ALL: [(Self, &'static str); 5] = [
        (Self::LeastSquares, "least-squares"),
        (Self::Orthogonal, "orthogonal"),
        (Self::MinimumZone, "minimum-zone"),
        (Self::MinimumZoneNormal, "minimum-zone-normal"),
        (Self::Resting, "resting"),
    ];

    /// Whether deviations are distances along the normal; else they are heights.
    fn is_normal(self) -> bool {
        matches!(self, Self::Orthogonal | Self::MinimumZoneNormal)
    }
}

impl fmt::Display for PlaneKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = Self::ALL.iter().find(|(kind, _)| kind == self).map_or("", |(_, name)| name);
        f.pad(name)
    }
}

impl FromStr for PlaneKind {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        let known = Self::ALL.iter().find(|(_, name)| *name == text);
        known.map(|(kind, _)| *kind).ok_or_else(|| {
            let names = Self::ALL.map(|(_, name)| format!("{name:?}")).join(", ");
            Error::new(ProblemKind::Value, "kind", format!("{text:?}"), format!("one of {names}"))
        })
    }
}

/// A reference plane and how the points lie about it.
///
/// Deviations are heights above the plane or, for the kinds that are defined along the normal,
/// distances from it. They are taken about the middle of the points, so they keep digits that an
/// offset at a far x = y = 0 cannot.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Plane {
    /// Rise per length along x, dimensionless.
    pub slope_x: f64,
    /// Rise per length along y, dimensionless.
    pub slope_y: f64,
    /// Height of the plane at x = y = 0, in millimetres.
    pub offset_mm: f64,
    /// Deviation of each point, upwards positive, in millimetres, in the order of the points.
    pub deviations_mm: Vec<f64>,
    /// Peak-to-valley of the deviations (ISO 12781-1 FLTt), in millimetres.
    pub flatness_mm: f64,
    /// Root mean square of the deviations (ISO 12781-1 FLTq), in millimetres.
    pub rms_mm: f64,
    /// Largest deviation above the plane (ISO 12781-1 FLTp), in millimetres, 0 or more.
    pub above_mm: f64,
    /// Largest deviation below the plane (ISO 12781-1 FLTv), in millimetres, 0 or more.
    pub below_mm: f64,
}

/// Fits a plane to heights `z` at plan positions `xy`, all in millimetres; `weights`, one a
/// point, are inverse variances up to a common factor, for the two kinds of least squares.
///
/// # Errors
/// Sizes that differ; values that are not finite; weights that are not above zero, or given for a
/// kind that takes none; fewer than three points; points that lie on one line: whose spread across
/// the line is at most n · 2⁻⁵² of that along it, or four units in the last place of their
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
fn fit(xy: &[[f64; 2]], z: &[f64], kind: PlaneKind, weights: Option<&[f64]>) -> Result<Fit, Error> {
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
fn scale(kind: PlaneKind, fit: &Fit) -> f64 {
    if kind.is_normal() { fit.normal() } else { 1.0 }
}

/// Sizes and weights. Heights and places are looked at by the first sums over them, and only named
/// here where something else is wrong already.
fn check(xy: &[[f64; 2]], z: &[f64], weights: Option<&[f64]>) -> Result<(), Error> {
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
fn name_bad(xy: &[[f64; 2]], z: &[f64]) -> Result<(), Error> {
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

fn collinear(count: usize) -> Error {
    let got = format!("{count} points in one place or on one line");
    Error::new(ProblemKind::Geometry, "xy", got, "points that span a plane")
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

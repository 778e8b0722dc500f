//! Least squares of the vertical residuals.

use nalgebra::{DMatrix, DVector, Matrix3};

use super::check::{check_fit, collinear, name_bad};
use super::fit::{Fit, Plane};
use super::moments::{Frame, Moments, Unfit, moments};
use crate::covariance;
use crate::error::{Error, ProblemKind, Problems};
use crate::regression::regress;

/// What is known of the errors of the heights.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Uncertainty<'a> {
    /// All heights are alike, with an error that the residuals tell.
    Alike,
    /// Inverse variances up to a common factor, which the residuals tell: one a point, above zero.
    Weights(&'a [f64]),
    /// Standard uncertainties, mm: one a point, above zero; independent of each other.
    Sigmas(&'a [f64]),
    /// The full covariance in mm², n × n values row by row: symmetric, positive definite.
    Covariance(&'a [f64]),
}

/// A least-squares plane and how well it is known.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct LeastSquares {
    /// The plane.
    pub plane: Plane,
    /// Covariance of offset (mm), slope along x and slope along y, in this order. From given
    /// sigmas or covariance, a priori; else from the residuals, and then NaN for three points,
    /// which leave no residuals.
    pub covariance: [[f64; 3]; 3],
    /// Standard deviation of an observation of weight 1, √(Σ w r² / dof), mm; for given sigmas or a
    /// covariance C, √(rᵀ C⁻¹ r / dof), which is near 1 where the residuals are what these let
    /// expect. NaN where dof is 0.
    pub residual_sd: f64,
    /// Degrees of freedom: points less three.
    pub dof: usize,
}

/// Fits a plane to heights `z` at plan positions `xy`, mm, by least squares of the vertical
/// residuals: weighted, or with the full covariance C of the heights (generalised least squares,
/// minimising rᵀ C⁻¹ r).
///
/// # Errors
/// Those of [`fit_plane`](crate::fit_plane); a covariance that is not n × n, not symmetric within
/// 1e-9 of its diagonal, or not positive definite.
pub fn least_squares(
    xy: &[[f64; 2]],
    z: &[f64],
    uncertainty: Uncertainty<'_>,
) -> Result<LeastSquares, Error> {
    let dof = z.len().saturating_sub(3);
    match uncertainty {
        Uncertainty::Covariance(covariance) => {
            check_fit(xy, z, None)?;
            generalised(xy, z, covariance, dof)
        }
        Uncertainty::Alike => weighted(xy, z, None, None, dof),
        Uncertainty::Weights(weights) => weighted(xy, z, Some(weights), None, dof),
        Uncertainty::Sigmas(sigmas) => {
            check_sigmas(sigmas, xy.len(), f64::MIN_POSITIVE)?;
            let weights: Vec<f64> = sigmas.iter().map(|sigma| sigma.powi(-2)).collect();
            weighted(xy, z, Some(&weights), Some(1.0), dof)
        }
    }
}

/// The moments of points that are checked, or what is wrong with them.
pub(super) fn checked_moments(
    xy: &[[f64; 2]],
    z: &[f64],
    weights: Option<&[f64]>,
) -> Result<(Frame, Moments), Error> {
    check_fit(xy, z, weights)?;
    moments(xy, z, weights).map_err(|unfit| match unfit {
        Unfit::Collinear => collinear(z.len()),
        Unfit::NotFinite => name_bad(xy, z).err().unwrap_or_else(|| {
            let expected = "coordinates whose squares can be added up";
            Error::new(ProblemKind::Geometry, "xy", "points too far apart", expected)
        }),
    })
}

/// The least-squares plane alone.
pub(super) fn fit(xy: &[[f64; 2]], z: &[f64], weights: Option<&[f64]>) -> Result<Fit, Error> {
    let (frame, found) = checked_moments(xy, z, weights)?;
    Ok(found.fit(&frame))
}

fn weighted(
    xy: &[[f64; 2]],
    z: &[f64],
    weights: Option<&[f64]>,
    known: Option<f64>,
    dof: usize,
) -> Result<LeastSquares, Error> {
    let (frame, found) = checked_moments(xy, z, weights)?;
    let fit = found.fit(&frame);
    let plane = fit.plane(xy, z, 1.0);
    let squares: f64 = match weights {
        None => plane.deviations_mm.iter().map(|r| r * r).sum(),
        Some(weights) => plane.deviations_mm.iter().zip(weights).map(|(r, w)| w * r * r).sum(),
    };
    let variance = if dof == 0 { f64::NAN } else { squares / dof as f64 };
    // Slopes along u and v have the inverse of the products; the height at the mean is independent
    // of them.
    let [uu, uv, vv, ..] = found.products;
    let det = uu * vv - uv * uv;
    let in_frame = [[vv / det, -uv / det], [-uv / det, uu / det]];
    let rows = frame.rows;
    let slopes = |i: usize, j: usize| -> f64 {
        let part = |a: usize, b: usize| rows[a][i] * in_frame[a][b] * rows[b][j];
        part(0, 0) + part(0, 1) + part(1, 0) + part(1, 1)
    };
    let [dx, dy] = frame.step([found.mean[0], found.mean[1]]);
    let centre = [fit.origin[0] + dx, fit.origin[1] + dy];
    let slopes = [[slopes(0, 0), slopes(0, 1)], [slopes(1, 0), slopes(1, 1)]];
    let covariance = about_zero(found.weight.recip(), slopes, centre);
    Ok(LeastSquares {
        plane,
        covariance: covariance.map(|row| row.map(|value| value * known.unwrap_or(variance))),
        residual_sd: variance.sqrt(),
        dof,
    })
}

/// Covariance of the offset at x = y = 0 and the slopes, from the variance of the height at a
/// centre that is independent of them.
fn about_zero(height: f64, slopes: [[f64; 2]; 2], centre: [f64; 2]) -> [[f64; 3]; 3] {
    let across = |i: usize| -(slopes[i][0] * centre[0] + slopes[i][1] * centre[1]);
    let (with_x, with_y) = (across(0), across(1));
    let offset = height - with_x * centre[0] - with_y * centre[1];
    [
        [offset, with_x, with_y],
        [with_x, slopes[0][0], slopes[0][1]],
        [with_y, slopes[1][0], slopes[1][1]],
    ]
}

fn generalised(
    xy: &[[f64; 2]],
    z: &[f64],
    covariance: &[f64],
    dof: usize,
) -> Result<LeastSquares, Error> {
    let count = z.len();
    let root = covariance_root(covariance, count)?;
    // The unweighted frame conditions the design; the answer does not depend on it.
    let (frame, _) = checked_moments(xy, z, None)?;
    let seen: Vec<[f64; 3]> = xy.iter().zip(z).map(|(xy, z)| frame.see(*xy, *z)).collect();
    let design = DMatrix::from_fn(count, 3, |at, column| match column {
        0 => 1.0,
        column => seen[at][column - 1],
    });
    let observed = DVector::from_iterator(count, seen.iter().map(|[.., r]| *r));
    let whiten = |right: &DMatrix<f64>| root.solve_lower_triangular(right);
    let (Some(design), Some(observed)) = (whiten(&design), root.solve_lower_triangular(&observed))
    else {
        return Err(indefinite());
    };
    let found = regress(&design, &observed, None).map_err(|_| collinear(count))?;
    let [level, along_u, along_v] = [0, 1, 2].map(|at| found.coefficients[at]);
    let [a, b] = frame.slopes([along_u, along_v]);
    let fit = Fit {
        slope: [frame.fit.slope[0] + a, frame.fit.slope[1] + b],
        level: frame.fit.level + level,
        ..frame.fit
    };
    // From height at the origin and slopes along u, v to offset at x = y = 0 and slopes along x, y.
    let [[a, b], [c, d]] = frame.rows;
    let [x0, y0, _] = frame.fit.origin;
    #[rustfmt::skip]
    let to_plan = Matrix3::new(
        1.0, -(a * x0 + b * y0), -(c * x0 + d * y0),
        0.0, a, c,
        0.0, b, d,
    );
    let cofactors = found.cofactors.fixed_view::<3, 3>(0, 0);
    let covariance = to_plan * cofactors * to_plan.transpose();
    let squares = found.residuals.norm_squared();
    Ok(LeastSquares {
        plane: fit.plane(xy, z, 1.0),
        covariance: [0, 1, 2].map(|i| [0, 1, 2].map(|j| covariance[(i, j)])),
        residual_sd: if dof == 0 { f64::NAN } else { (squares / dof as f64).sqrt() },
        dof,
    })
}

/// Sizes of sigmas, and that each is at least `least`.
pub(super) fn check_sigmas(sigmas: &[f64], count: usize, least: f64) -> Result<(), Error> {
    let mut found = Problems::default();
    if sigmas.len() != count {
        let expected = format!("{count}, one for each height");
        found.add(ProblemKind::Shape, "sigmas", format!("{} values", sigmas.len()), expected);
    }
    for (at, &sigma) in sigmas.iter().enumerate() {
        if !(sigma.is_finite() && sigma >= least) {
            let than = if least > 0.0 { "above 0 mm" } else { "of 0 mm or more" };
            let expected = format!("a finite uncertainty {than}");
            found.add(ProblemKind::Value, format!("sigmas[{at}]"), sigma, expected);
        }
    }
    found.into_result()
}

/// The lower triangle L with L Lᵀ = C (Cholesky).
fn covariance_root(values: &[f64], count: usize) -> Result<DMatrix<f64>, Error> {
    let matrix = covariance::matrix(values, count)?;
    Ok(matrix.cholesky().ok_or_else(indefinite)?.unpack())
}

fn indefinite() -> Error {
    let expected =
        "a positive definite one; leave out heights without any uncertainty of their own";
    Error::new(ProblemKind::Value, "covariance", "a matrix that is not positive definite", expected)
}

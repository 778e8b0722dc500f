//! Least squares of the distances along the normal: the reference plane LSPL of ISO 12781-1.
//!
//! With r the heights above the vertical least-squares plane, of slopes g, and u, v the plan in the
//! frame of the sums, a plane of slopes g + G α leaves (r̄² + αᵀ S α) / (1 + |g + G α|²) along its
//! normal. The minimum is an eigenvalue (Pearson 1901, "On lines and planes of closest fit", from
//! memory). In this form, relief of micrometres on metres of tilt keeps its digits, and so do points
//! close to one line.

use nalgebra::{Matrix2, Matrix3, RowVector2, SymmetricEigen, Vector2, Vector3};

use super::check::collinear;
use super::fit::Fit;
use super::least_squares::checked_moments;
use crate::error::{Error, ProblemKind};

pub(super) fn fit(xy: &[[f64; 2]], z: &[f64], weights: Option<&[f64]>) -> Result<Fit, Error> {
    let (frame, found) = checked_moments(xy, z, weights)?;
    let vertical = found.fit(&frame);
    let left = found.residual() / found.weight;
    if left == 0.0 {
        return Ok(vertical);
    }
    let [uu, uv, vv, ..] = found.products.map(|sum| sum / found.weight);
    let root = Matrix2::new(uu, uv, uv, vv).cholesky().ok_or_else(|| collinear(z.len()))?;
    let to_slopes = root.l().try_inverse().ok_or_else(|| collinear(z.len()))?.transpose();
    let rows = Matrix2::from(frame.rows).transpose();
    let bend = rows.transpose() * to_slopes;
    let slope = Vector2::from(vertical.slope);
    let (side, rest) = (slope.transpose() * bend / left.sqrt(), bend.transpose() * bend);
    let side: RowVector2<f64> = side;
    #[rustfmt::skip]
    let whole = Matrix3::new(
        (1.0 + slope.norm_squared()) / left, side[0], side[1],
        side[0], rest[(0, 0)], rest[(0, 1)],
        side[1], rest[(1, 0)], rest[(1, 1)],
    );
    let undetermined = |got: &str| {
        let expected = "points that are thinnest in one direction, and that not a level one";
        Err(Error::new(ProblemKind::Geometry, "xy, z", got, expected))
    };
    if !whole.iter().all(|value| value.is_finite()) {
        return undetermined("points whose squares cannot be told apart");
    }
    let eigen = SymmetricEigen::new(whole / whole.amax());
    let mut order = [0, 1, 2];
    order.sort_by(|&i, &j| eigen.eigenvalues[j].total_cmp(&eigen.eigenvalues[i]));
    let [first, second, _] = order.map(|at| eigen.eigenvalues[at]);
    if first - second <= 1e-12 * first {
        return undetermined("points that are as thin in two directions");
    }
    let found_at: Vector3<f64> = eigen.eigenvectors.column(order[0]).into();
    let more = bend * found_at.fixed_rows::<2>(1) * left.sqrt() / found_at[0];
    let slope = slope + more;
    if slope.iter().any(|slope| !slope.is_finite() || slope.abs() > 1e12) {
        return undetermined("points that lie about an upright plane");
    }
    let centre = frame.step([found.mean[0], found.mean[1]]);
    let [x0, y0, _] = vertical.origin;
    let centre = vertical.moved_to([x0 + centre[0], y0 + centre[1]]);
    Ok(Fit { slope: slope.into(), ..centre })
}

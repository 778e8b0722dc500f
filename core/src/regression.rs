//! Linear least squares by Householder QR with column pivoting on scaled columns: the arithmetic
//! behind the fits.
//!
//! Source: Golub & Van Loan, Matrix Computations, §5.3 and §5.4 (from memory); checked against the
//! NIST StRD certified values.

use nalgebra::{DMatrix, DVector};

/// A least-squares solution.
#[derive(Debug, Clone)]
pub(crate) struct Regression {
    /// One coefficient a column.
    pub(crate) coefficients: DVector<f64>,
    /// Observed minus fitted, one a row, unweighted.
    pub(crate) residuals: DVector<f64>,
    /// (XᵀWX)⁻¹: the covariance of the coefficients for a variance of 1.
    pub(crate) cofactors: DMatrix<f64>,
}

/// The columns do not determine the coefficients: the rank found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct RankDeficient {
    pub(crate) rank: usize,
}

/// Minimises Σ wᵢ (yᵢ − xᵢ·b)² for finite values and positive weights.
///
/// The rank is read from the pivoted triangle of the columns scaled to unit length: a diagonal
/// below rows × 2⁻⁵² of the largest counts as nothing.
pub(crate) fn regress(
    design: &DMatrix<f64>,
    observed: &DVector<f64>,
    weights: Option<&[f64]>,
) -> Result<Regression, RankDeficient> {
    let (rows, columns) = design.shape();
    let mut scaled = design.clone();
    let mut right = observed.clone();
    if let Some(weights) = weights {
        for (at, weight) in weights.iter().enumerate() {
            scaled.row_mut(at).scale_mut(weight.sqrt());
            right[at] *= weight.sqrt();
        }
    }
    let norms: Vec<f64> = scaled.column_iter().map(|column| column.norm()).collect();
    for (at, norm) in norms.iter().enumerate() {
        if *norm > 0.0 {
            scaled.column_mut(at).unscale_mut(*norm);
        }
    }

    let qr = scaled.col_piv_qr();
    let triangle = qr.r();
    let tiny = rows as f64 * f64::EPSILON * triangle.diagonal().amax();
    let rank = triangle.diagonal().iter().filter(|value| value.abs() > tiny).count();
    if rank < columns {
        return Err(RankDeficient { rank });
    }
    qr.q_tr_mul(&mut right);
    let head = right.rows(0, columns).into_owned();
    let triangle = triangle.rows(0, columns).into_owned();
    let inverse = triangle
        .solve_upper_triangular(&DMatrix::identity(columns, columns))
        .ok_or(RankDeficient { rank: columns - 1 })?;
    let mut coefficients =
        triangle.solve_upper_triangular(&head).ok_or(RankDeficient { rank: columns - 1 })?;
    let mut cofactors = &inverse * inverse.transpose();
    qr.p().inv_permute_rows(&mut coefficients);
    qr.p().inv_permute_rows(&mut cofactors);
    qr.p().inv_permute_columns(&mut cofactors);
    for (at, norm) in norms.iter().enumerate() {
        coefficients[at] /= norm;
        cofactors.row_mut(at).unscale_mut(*norm);
        cofactors.column_mut(at).unscale_mut(*norm);
    }
    let residuals = observed - design * &coefficients;
    Ok(Regression { coefficients, residuals, cofactors })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn csv(text: &str) -> Vec<Vec<f64>> {
        text.lines()
            .filter(|line| line.starts_with(|c: char| c.is_ascii_digit()))
            .map(|line| line.split([',', ' ']).map(|cell| cell.parse().unwrap()).collect())
            .collect()
    }

    /// NIST StRD "Longley" (US Government work), certified values.
    #[test]
    fn longley() {
        let rows = csv(include_str!("../../tests/data/longley.csv"));
        let observed = DVector::from_iterator(16, rows.iter().map(|row| row[1]));
        let design = DMatrix::from_fn(16, 7, |i, j| if j == 6 { 1.0 } else { rows[i][j + 2] });
        let fit = regress(&design, &observed, None).unwrap();
        let certified = [
            (15.0618722713733, 84.9149257747669),
            (-0.0358191792925910, 0.0334910077722432),
            (-2.02022980381683, 0.488399681651699),
            (-1.03322686717359, 0.214274163161675),
            (-0.0511041056535807, 0.226073200069370),
            (1829.15146461355, 455.478499142212),
            (-3482258.63459582, 890420.383607373),
        ];
        let variance = fit.residuals.norm_squared() / 9.0;
        assert_relative_eq!(variance, 92936.0061673238, max_relative = 1e-9);
        for (at, (value, sd)) in certified.into_iter().enumerate() {
            assert_relative_eq!(fit.coefficients[at], value, max_relative = 1e-8);
            assert_relative_eq!(
                (fit.cofactors[(at, at)] * variance).sqrt(),
                sd,
                max_relative = 1e-8
            );
        }
    }

    /// NIST StRD "Wampler1": y is the sum of the powers of x = 0..20, so every coefficient is 1
    /// exactly (recomputed from its definition).
    #[test]
    fn wampler1() {
        let design = DMatrix::from_fn(21, 6, |i, j| (i as f64).powi(j as i32));
        let observed = DVector::from_fn(21, |i, _| (0..6).map(|j| (i as f64).powi(j)).sum());
        let fit = regress(&design, &observed, None).unwrap();
        for value in fit.coefficients.iter() {
            assert_relative_eq!(*value, 1.0, max_relative = 1e-8);
        }
    }

    #[test]
    fn weights_count_as_repetitions() {
        let once = DMatrix::from_row_slice(3, 2, &[1.0, 0.0, 1.0, 1.0, 1.0, 3.0]);
        let again = DMatrix::from_row_slice(4, 2, &[1.0, 0.0, 1.0, 1.0, 1.0, 3.0, 1.0, 3.0]);
        let weighted =
            regress(&once, &DVector::from_vec(vec![1.0, 2.0, 2.5]), Some(&[1.0, 1.0, 2.0]))
                .unwrap();
        let repeated = regress(&again, &DVector::from_vec(vec![1.0, 2.0, 2.5, 2.5]), None).unwrap();
        assert_relative_eq!(weighted.coefficients, repeated.coefficients, max_relative = 1e-13);
        assert_relative_eq!(weighted.cofactors, repeated.cofactors, max_relative = 1e-12);
    }

    #[test]
    fn dependent_columns_are_told() {
        let design = DMatrix::from_fn(5, 3, |i, j| {
            if j == 2 { 2.0 * i as f64 + 3.0 } else { (i as f64).powi(j as i32) }
        });
        let observed = DVector::from_element(5, 1.0);
        assert_eq!(regress(&design, &observed, None).unwrap_err(), RankDeficient { rank: 2 });
    }
}

//! The covariance of heights.

use nalgebra::DMatrix;

use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::simulation::NOTHING;

/// A covariance of `count` heights, row by row, checked but for being definite.
///
/// # Errors
/// Another size; values that are not finite, variances below 0, or a matrix that is not symmetric
/// within 1e-9 of its largest variance.
pub(crate) fn matrix(values: &[f64], count: usize) -> Result<DMatrix<f64>, Error> {
    let mut found = Problems::default();
    if count.checked_mul(count) != Some(values.len()) {
        let expected = format!("{count} × {count}, a row and a column for each height");
        let got = format!("{} values", values.len());
        return Err(Error::new(ProblemKind::Shape, "covariance", got, expected));
    }
    let largest = (0..count).map(|at| values[at * count + at].abs()).fold(0.0, f64::max);
    for (at, &value) in values.iter().enumerate() {
        let (row, column) = (at / count, at % count);
        let field = || format!("covariance[{row}, {column}]");
        let mirrored = values[column * count + row];
        if !value.is_finite() {
            found.add(ProblemKind::Value, field(), value, "a finite number of mm²");
        } else if row < column && (value - mirrored).abs() > 1e-9 * largest {
            let expected = format!("{mirrored}, as in [{column}, {row}]");
            found.add(ProblemKind::Value, field(), value, expected);
        } else if row == column && value < 0.0 {
            found.add(ProblemKind::Value, field(), value, "a variance, 0 mm² or more");
        }
    }
    found.into_result()?;
    Ok(DMatrix::from_row_slice(count, count, values))
}

/// A covariance of `count` heights that may be singular, as where heights move together.
///
/// # Errors
/// Those of [`matrix`]; one that is not positive semidefinite within 1e-9 of its largest variance for
/// each height, which leaves room for the rounding of a long chain of readings.
pub(crate) fn semidefinite(values: &[f64], count: usize) -> Result<DMatrix<f64>, Error> {
    semidefinite_until(values, count, &Deadline::never())
}

/// The same, but stopped where its time is over.
pub(crate) fn semidefinite_until(
    values: &[f64],
    count: usize,
    deadline: &Deadline<'_>,
) -> Result<DMatrix<f64>, Error> {
    let matrix = matrix(values, count)?;
    // Cholesky's algorithm with the largest variance left as the next pivot: what is left behind
    // the last of them is nothing where the matrix is semidefinite. Columns are worked on from end to
    // end, as they lie in memory.
    let mut left = matrix.clone();
    let largest = (0..count).map(|at| left[(at, at)]).fold(0.0, f64::max);
    // A matrix that a survey made is rounded in every step along a chain of readings.
    let nothing = 1e-9 * largest * count.max(1) as f64;
    let mut first = 0;
    while let Some(at) = (first..count).max_by(|&a, &b| left[(a, a)].total_cmp(&left[(b, b)])) {
        let pivot = left[(at, at)];
        if pivot <= nothing {
            break;
        }
        left.swap_rows(first, at);
        left.swap_columns(first, at);
        let open = first + 1..count;
        deadline.spend((open.len() * open.len()) as u64)?;
        let (done, rest) = left.as_mut_slice().split_at_mut(open.start * count);
        let by = &done[first * count..][open.clone()];
        for (column, &height) in rest.chunks_exact_mut(count).zip(by) {
            let share = height / pivot;
            // Heights that were read by themselves have nothing in common.
            if share != 0.0 {
                column[open.clone()].iter_mut().zip(by).for_each(|(left, by)| *left -= share * by);
            }
        }
        first = open.start;
    }
    let mut rest = (first..count).flat_map(|row| (first..count).map(move |column| (row, column)));
    if rest.any(|place| left[place].abs() > nothing) {
        let got = "a matrix by which some combination of heights has a variance below 0";
        let expected = "a positive semidefinite one";
        return Err(Error::new(ProblemKind::Value, "covariance", got, expected));
    }
    Ok(matrix)
}

/// Standard uncertainty of the difference of two heights; 0 where it is rounding.
pub(crate) fn sigma_of_difference(covariance: &DMatrix<f64>, a: usize, b: usize) -> f64 {
    let of = |i, j| covariance[(i, j)];
    let variance = of(a, a) + of(b, b) - 2.0 * of(a, b);
    if variance > NOTHING * of(a, a).max(of(b, b)) { variance.sqrt() } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn semidefinite_or_not() {
        let zero = vec![0.0; 4];
        assert!(semidefinite(&zero, 2).is_ok());
        assert!(semidefinite(&[1.0, 1.0, 1.0, 1.0], 2).is_ok());
        assert!(semidefinite(&[1.0, 1.1, 1.1, 1.0], 2).is_err());
        assert!(semidefinite(&[0.0, 0.1, 0.1, 0.0], 2).is_err());
        // Each two of three go together, all three do not: eigenvalue 1 − 2 · 0.6 < 0.
        let three = [1.0, -0.6, -0.6, -0.6, 1.0, -0.6, -0.6, -0.6, 1.0];
        assert!(semidefinite(&three, 3).is_err());
        assert!(semidefinite(&[1.0, 0.5, 0.4, 1.0], 2).is_err(), "not symmetric");
        assert!(semidefinite(&[1.0], 2).is_err());
        assert!(semidefinite(&[], 0).is_ok());
    }
}

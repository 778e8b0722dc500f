//! Normal equations of a network: sparse LDLᵀ, and what can be read from the factor of the inverse.
//!
//! Source of the latter: Takahashi, Fagan & Chin 1973; Erisman & Tinney, Comm. ACM 18 (1975) 177
//! (from memory): the inverse on the pattern of the factor needs nothing outside that pattern.
//!
//! Unknowns go by their columns here, in the order in which they are eliminated.

use super::pattern::Pattern;
use crate::deadline::Deadline;
use crate::error::Error;

/// Normal equations: the lower triangle, with room for its factor.
#[derive(Debug)]
pub(super) struct Equations {
    pub(super) pattern: Pattern,
    /// One a place of the pattern.
    values: Vec<f64>,
}

/// A factor of the normal equations.
#[derive(Debug)]
pub(super) struct Factor {
    pattern: Pattern,
    /// Pivots on the diagonal, L below it.
    values: Vec<f64>,
    condition: f64,
}

/// The unknowns are not determined to the precision of the arithmetic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Singular;

/// A pivot below this part of its diagonal counts as zero: it is rounding error.
const NOTHING: f64 = 1e-13;

/// Chains the columns whose first entry not yet used stands in the same row.
#[derive(Clone, Copy)]
struct Chain {
    /// The first column of this row's chain.
    first: usize,
    /// The column behind this one.
    next: usize,
    /// The place of this column's first entry not yet used.
    unused: usize,
}

/// No column.
const NONE: usize = usize::MAX;

impl Equations {
    /// Equations of nothing yet.
    pub(super) fn new(pattern: Pattern) -> Self {
        let values = vec![0.0; pattern.rows.len()];
        Self { pattern, values }
    }

    /// Adds to the entries at places of the pattern. The dummy place at the end takes what belongs to
    /// known heights.
    pub(super) fn add<const N: usize>(&mut self, places: [usize; N], values: [f64; N]) {
        for (place, value) in places.into_iter().zip(values) {
            if let Some(sum) = self.values.get_mut(place) {
                *sum += value;
            }
        }
    }

    /// Factorises, a column at a time from those before it (left-looking). Where the time is over, it
    /// gives up.
    pub(super) fn factor(self, deadline: &Deadline<'_>) -> Result<Factor, Singular> {
        let Self { pattern, mut values } = self;
        let (size, Pattern { starts, rows, .. }) = (pattern.size(), &pattern);
        let (mut least, mut most) = (f64::INFINITY, 0.0_f64);
        let mut column_values = vec![0.0; size];
        let mut chains = vec![Chain { first: NONE, next: NONE, unused: 0 }; size];
        for column in 0..size {
            let places = starts[column]..starts[column + 1];
            let own_rows = &rows[places.clone()];
            for (&row, &value) in own_rows.iter().zip(&values[places.clone()]) {
                column_values[row] = value;
            }
            let diagonal = column_values[column];
            let mut before = chains[column].first;
            while before != NONE {
                let Chain { next, unused, .. } = chains[before];
                let used = unused..starts[before + 1];
                deadline.spend(used.len() as u64).map_err(|_| Singular)?;
                let factor = values[used.start] * values[starts[before]];
                for (&row, &value) in rows[used.clone()].iter().zip(&values[used.clone()]) {
                    column_values[row] -= factor * value;
                }
                if let Some(&row) = rows[used].get(1) {
                    chains[before] =
                        Chain { next: chains[row].first, unused: unused + 1, ..chains[before] };
                    chains[row].first = before;
                }
                before = next;
            }
            let pivot = column_values[column];
            let part = pivot / diagonal;
            if !(part.is_finite() && part > NOTHING && pivot > 0.0) {
                return Err(Singular);
            }
            (least, most) = (least.min(part), most.max(part));
            values[places.start] = pivot;
            let inverse = pivot.recip();
            for (&row, value) in own_rows.iter().zip(&mut values[places.clone()]).skip(1) {
                *value = column_values[row] * inverse;
            }
            if let Some(&row) = own_rows.get(1) {
                chains[column] =
                    Chain { next: chains[row].first, unused: places.start + 1, ..chains[column] };
                chains[row].first = column;
            }
        }
        let condition = if most > 0.0 { most / least } else { 1.0 };
        Ok(Factor { pattern, values, condition })
    }
}

impl Factor {
    /// How many unknowns there are.
    pub(super) fn size(&self) -> usize {
        self.pattern.size()
    }

    /// How many values it has.
    pub(super) fn places(&self) -> usize {
        self.values.len()
    }

    /// Ratio of the largest pivot to the smallest, each over its diagonal: about the condition of
    /// the equations, were they scaled to a diagonal of ones.
    pub(super) fn condition(&self) -> f64 {
        self.condition
    }

    /// Rows and values of L below the diagonal, and the pivot above them.
    #[inline]
    fn column(&self, column: usize) -> (f64, &[usize], &[f64]) {
        let Pattern { starts, rows, .. } = &self.pattern;
        let (start, end) = (starts[column], starts[column + 1]);
        (self.values[start], &rows[start + 1..end], &self.values[start + 1..end])
    }

    /// Solves in place for a right side.
    pub(super) fn solve(&self, right: &mut [f64]) {
        for column in 0..self.size() {
            let (_, rows, factors) = self.column(column);
            let value = right[column];
            for (&row, factor) in rows.iter().zip(factors) {
                right[row] -= factor * value;
            }
        }
        for column in (0..self.size()).rev() {
            let (pivot, rows, factors) = self.column(column);
            let mut value = right[column] / pivot;
            for (&row, factor) in rows.iter().zip(factors) {
                value -= factor * right[row];
            }
            right[column] = value;
        }
    }

    /// Entries of the inverse on the pattern of the factor.
    ///
    /// # Errors
    /// Only that the time is over.
    pub(super) fn variances(&self, deadline: &Deadline<'_>) -> Result<Variances<'_>, Error> {
        let Pattern { starts, rows, .. } = &self.pattern;
        let size = self.size();
        // And a 0 behind all places.
        let mut inverse = vec![0.0; self.values.len() + 1];
        // L and −Σ L · inverse for the rows of the column at hand; L is 0 elsewhere.
        let (mut factor_of, mut sums) = (vec![0.0; size], vec![0.0; size]);
        for column in (0..size).rev() {
            let (pivot, below, factors) = self.column(column);
            for (&row, &factor) in below.iter().zip(factors) {
                factor_of[row] = factor;
                sums[row] = 0.0;
            }
            // Inverse entries among the rows below are known, and each counts for both its rows. A
            // row's column has those of all rows below it, and others, which count for nothing.
            for (&row, &factor) in below.iter().zip(factors) {
                let known = starts[row] + 1..starts[row + 1];
                deadline.spend(known.len() as u64)?;
                let mut own = factor * inverse[starts[row]];
                for (&other, value) in rows[known.clone()].iter().zip(&inverse[known]) {
                    sums[other] -= factor * value;
                    own += factor_of[other] * value;
                }
                sums[row] -= own;
            }
            let mut own = pivot.recip();
            let (start, end) = (starts[column], starts[column + 1]);
            let entries = inverse[start + 1..end].iter_mut().zip(below).zip(factors);
            for ((entry, &row), &factor) in entries {
                *entry = sums[row];
                own -= factor * sums[row];
                factor_of[row] = 0.0;
            }
            inverse[start] = own;
        }
        Ok(Variances { pattern: &self.pattern, inverse })
    }

    /// The whole inverse, row by row, with a row and a column of zeros behind it: the same recursion
    /// with nothing left out.
    ///
    /// # Errors
    /// Only that the time is over.
    pub(super) fn inverse(&self, deadline: &Deadline<'_>) -> Result<Vec<f64>, Error> {
        let side = self.size() + 1;
        let mut inverse = vec![0.0; side * side];
        for column in (0..self.size()).rev() {
            let (pivot, below, factors) = self.column(column);
            let (done, known) = inverse.split_at_mut((column + 1) * side);
            let own = &mut done[column * side + column..];
            let (diagonal, rest) = own.split_at_mut(1);
            for (&row, factor) in below.iter().zip(factors) {
                deadline.spend(rest.len() as u64)?;
                let end = (row - column) * side;
                let known = &known[end - rest.len()..end];
                rest.iter_mut().zip(known).for_each(|(sum, value)| *sum -= factor * value);
            }
            let shared = below.iter().zip(factors).map(|(row, f)| f * rest[row - column - 1]);
            diagonal[0] = pivot.recip() - shared.sum::<f64>();
            for (value, row) in rest.iter().zip(known.chunks_exact_mut(side)) {
                row[column] = *value;
            }
        }
        Ok(inverse)
    }
}

/// Entries of the inverse of the normal equations, for unknowns that stand in one equation.
pub(super) struct Variances<'a> {
    pattern: &'a Pattern,
    inverse: Vec<f64>,
}

impl Variances<'_> {
    /// Variance of the unknown of a column; 0 behind all columns.
    pub(super) fn of(&self, column: usize) -> f64 {
        self.inverse[self.pattern.starts[column]]
    }

    /// Covariance of two unknowns that some equation has both of, by its place in the pattern; 0
    /// behind all places.
    pub(super) fn at(&self, place: usize) -> f64 {
        self.inverse[place]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::DMatrix;
    use proptest::prelude::*;

    proptest! {
        /// Random sparse equations against a dense inverse.
        #[test]
        fn solutions_and_variances_are_those_of_the_dense_inverse(
            size in 1usize..14,
            ties in proptest::collection::vec((0usize..14, 0usize..14, 0.1..10.0f64), 1..40),
        ) {
            let mut dense = DMatrix::<f64>::identity(size, size);
            let mut entries: Vec<_> = (0..size).map(|at| (at, at, 1.0)).collect();
            for (a, b, weight) in ties {
                let (a, b) = (a % size, b % size);
                if a == b { continue; }
                for (row, column, sign) in [(a, a, 1.0), (b, b, 1.0), (a.min(b), a.max(b), -1.0)] {
                    entries.push((row, column, sign * weight));
                    dense[(row, column)] += sign * weight;
                    if row != column { dense[(column, row)] += sign * weight; }
                }
            }
            let tied = entries.iter().map(|&(a, b, _)| [a, b, size, size]);
            let pattern = Pattern::new(size, tied).unwrap();
            let columns = pattern.columns.clone();
            let factor = equations(pattern, &entries).factor(&Deadline::never()).unwrap();
            let inverse = dense.try_inverse().unwrap();
            let (variances, whole) = (
                factor.variances(&Deadline::never()).unwrap(),
                factor.inverse(&Deadline::never()).unwrap(),
            );
            for (a, b) in (0..size).flat_map(|a| (0..size).map(move |b| (a, b))) {
                let value = whole[columns[a] * (size + 1) + columns[b]];
                prop_assert!((value - inverse[(a, b)]).abs() < 1e-12);
            }
            for (a, b, _) in entries {
                let place = factor.pattern.place(columns[a], columns[b]);
                prop_assert!((variances.at(place) - inverse[(a, b)]).abs() < 1e-12);
            }
            for (unknown, column) in columns.iter().enumerate() {
                let mut solved = vec![0.0; size];
                solved[*column] = 1.0;
                factor.solve(&mut solved);
                for (other, column) in columns.iter().enumerate() {
                    prop_assert!((solved[*column] - inverse[(other, unknown)]).abs() < 1e-12);
                }
            }
        }
    }

    fn equations(pattern: Pattern, entries: &[(usize, usize, f64)]) -> Equations {
        let mut equations = Equations::new(pattern);
        for &(a, b, value) in entries {
            let [a, b] = [a, b].map(|unknown| equations.pattern.columns[unknown]);
            let nowhere = equations.pattern.rows.len();
            equations.add([equations.pattern.place(a, b), nowhere, nowhere], [value, 0.0, 0.0]);
        }
        equations
    }

    #[test]
    fn what_is_not_determined_is_told() {
        let of = |size: usize, entries: &[(usize, usize, f64)]| {
            let tied = entries.iter().map(|&(a, b, _)| [a, b, size, size]);
            equations(Pattern::new(size, tied).unwrap(), entries).factor(&Deadline::never())
        };
        let untied = [(0, 0, 1.0), (0, 1, -1.0), (1, 1, 1.0)];
        assert_eq!(of(2, &untied).unwrap_err(), Singular);
        assert_eq!(of(2, &[(0, 0, 1.0)]).unwrap_err(), Singular);
        assert!(of(0, &[]).is_ok());
    }
}

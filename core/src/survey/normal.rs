//! Normal equations of a network: sparse LDLᵀ in a fill-reducing order, scaled to a diagonal of
//! ones, and the variances that can be read from the factor without the whole inverse.
//!
//! Source of the latter: Takahashi, Fagan & Chin 1973; Erisman & Tinney, Comm. ACM 18 (1975) 177
//! (from memory): the inverse on the pattern of the factor needs nothing outside that pattern.

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::ldlt::factor::LdltRegularization;
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, LdltRef, SymbolicCholesky, SymbolicCholeskyRaw, SymmetricOrdering,
    factorize_symbolic_cholesky,
};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMatRef};
use faer::{Conj, MatMut, Par, Side};

/// A factor of the normal equations.
#[derive(Debug)]
pub(super) struct Factor {
    symbolic: SymbolicCholesky<usize>,
    values: Vec<f64>,
    /// What each unknown was scaled by.
    scale: Vec<f64>,
}

/// The unknowns are not determined to the precision of the arithmetic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Singular;

/// A pivot below this, on a diagonal of ones, is what rounding leaves of nothing.
const NOTHING: f64 = 1e-13;

/// Normal equations in sparse columns: the upper triangle, rows sorted.
#[derive(Debug, Default)]
pub(super) struct Equations {
    starts: Vec<usize>,
    rows: Vec<usize>,
    values: Vec<f64>,
}

impl Equations {
    /// Adds up entries (row, column, value) with row ≤ column.
    pub(super) fn new(size: usize, mut entries: Vec<(usize, usize, f64)>) -> Self {
        // By column and row, so that equal places lie side by side.
        entries.sort_unstable_by_key(|&(row, column, _)| (column, row));
        let mut equations = Self {
            starts: Vec::with_capacity(size + 1),
            rows: Vec::with_capacity(entries.len()),
            values: Vec::with_capacity(entries.len()),
        };
        let mut last = (usize::MAX, usize::MAX);
        for (row, column, value) in entries {
            if (row, column) == last {
                if let Some(sum) = equations.values.last_mut() {
                    *sum += value;
                }
                continue;
            }
            while equations.starts.len() <= column {
                equations.starts.push(equations.rows.len());
            }
            equations.rows.push(row);
            equations.values.push(value);
            last = (row, column);
        }
        while equations.starts.len() <= size {
            equations.starts.push(equations.rows.len());
        }
        equations
    }

    fn size(&self) -> usize {
        self.starts.len() - 1
    }

    fn diagonal(&self, column: usize) -> f64 {
        let last = self.starts[column + 1];
        let is_there = last > self.starts[column] && self.rows[last - 1] == column;
        if is_there { self.values[last - 1] } else { 0.0 }
    }

    /// Scales and factorises.
    pub(super) fn factor(mut self) -> Result<Factor, Singular> {
        let size = self.size();
        let scale: Vec<f64> =
            (0..size).map(|column| self.diagonal(column).sqrt().recip()).collect();
        if scale.iter().any(|scale| !scale.is_finite()) {
            return Err(Singular);
        }
        for column in 0..size {
            for at in self.starts[column]..self.starts[column + 1] {
                self.values[at] *= scale[column] * scale[self.rows[at]];
            }
        }
        let pattern =
            SymbolicSparseColMatRef::new_checked(size, size, &self.starts, None, &self.rows);
        let params = CholeskySymbolicParams {
            // The factor is read column by column; see `Variances`.
            supernodal_flop_ratio_threshold: SupernodalThreshold::FORCE_SIMPLICIAL,
            ..Default::default()
        };
        let order = SymmetricOrdering::Amd;
        let symbolic = factorize_symbolic_cholesky(pattern, Side::Upper, order, params)
            .map_err(|_| Singular)?;
        let scratch = symbolic.factorize_numeric_ldlt_scratch::<f64>(Par::Seq, Default::default());
        let mut memory = MemBuffer::try_new(scratch).map_err(|_| Singular)?;
        let mut values = vec![0.0; symbolic.len_val()];
        let regularization = LdltRegularization {
            dynamic_regularization_signs: None,
            dynamic_regularization_delta: 0.0,
            dynamic_regularization_epsilon: 0.0,
        };
        symbolic
            .factorize_numeric_ldlt(
                &mut values,
                SparseColMatRef::new(pattern, &self.values),
                Side::Upper,
                regularization,
                Par::Seq,
                MemStack::new(&mut memory),
                Default::default(),
            )
            .map_err(|_| Singular)?;
        let factor = Factor { symbolic, values, scale };
        let good = |pivot: f64| pivot.is_finite() && pivot > NOTHING;
        if factor.pivots().all(good) { Ok(factor) } else { Err(Singular) }
    }
}

impl Factor {
    /// Starts and rows of the columns of L, the diagonal first.
    fn pattern(&self) -> (&[usize], &[usize]) {
        match self.symbolic.raw() {
            SymbolicCholeskyRaw::Simplicial(raw) => (raw.col_ptr(), raw.row_idx()),
            // Never asked for.
            SymbolicCholeskyRaw::Supernodal(_) => (&[], &[]),
        }
    }

    /// How many unknowns there are.
    pub(super) fn size(&self) -> usize {
        self.scale.len()
    }

    fn pivots(&self) -> impl Iterator<Item = f64> {
        let (starts, _) = self.pattern();
        starts[..self.scale.len()].iter().map(|&start| self.values[start])
    }

    /// Ratio of the largest pivot to the smallest: about the condition of the scaled equations.
    pub(super) fn condition(&self) -> f64 {
        let (least, most) = self
            .pivots()
            .fold((f64::INFINITY, 0.0_f64), |(least, most), d| (least.min(d), most.max(d)));
        if most > 0.0 { most / least } else { 1.0 }
    }

    /// Solves in place for right sides that stand one behind the other.
    pub(super) fn solve(&self, right: &mut [f64]) {
        let size = self.scale.len();
        if size == 0 {
            return;
        }
        let columns = right.len() / size;
        let scaled = |right: &mut [f64]| {
            for column in right.chunks_exact_mut(size) {
                column.iter_mut().zip(&self.scale).for_each(|(value, scale)| *value *= scale);
            }
        };
        scaled(right);
        let scratch = self.symbolic.solve_in_place_scratch::<f64>(columns, Par::Seq);
        let mut memory = MemBuffer::new(scratch);
        LdltRef::new(&self.symbolic, &self.values).solve_in_place_with_conj(
            Conj::No,
            MatMut::from_column_major_slice_mut(right, size, columns),
            Par::Seq,
            MemStack::new(&mut memory),
        );
        scaled(right);
    }

    /// Entries of the inverse on the pattern of the factor.
    pub(super) fn variances(&self) -> Variances<'_> {
        let size = self.scale.len();
        let (starts, rows) = self.pattern();
        let mut inverse = vec![0.0; self.values.len()];
        // Σ L · inverse for each row of the column at hand.
        let mut sums = vec![0.0; size];
        for column in (0..size).rev() {
            let (diagonal, end) = (starts[column], starts[column + 1]);
            let (below, factors) = (&rows[diagonal + 1..end], &self.values[diagonal + 1..end]);
            let sums = &mut sums[..below.len()];
            sums.fill(0.0);
            // Inverse entries among the rows below are known, and each counts for both its rows.
            for (at, (&row, &factor)) in below.iter().zip(factors).enumerate() {
                let known = starts[row] + 1..starts[row + 1];
                let (rest, others) = (&below[at + 1..], &factors[at + 1..]);
                let (done, rest_sums) = sums.split_at_mut(at + 1);
                let mut own = factor * inverse[starts[row]];
                let mut add = |value: f64, sum: &mut f64, other: f64| {
                    *sum += factor * value;
                    own += other * value;
                };
                let pairs = rest_sums.iter_mut().zip(others);
                if known.len() == rest.len() {
                    // Both are the same rows.
                    pairs.zip(&inverse[known]).for_each(|((sum, &other), &v)| add(v, sum, other));
                } else {
                    let mut place = known.start;
                    for ((sum, &other), &to) in pairs.zip(rest) {
                        while rows[place] < to {
                            place += 1;
                        }
                        add(inverse[place], sum, other);
                    }
                }
                done[at] += own;
            }
            let mut own = self.values[diagonal].recip();
            let entries = inverse[diagonal + 1..end].iter_mut().zip(sums.iter()).zip(factors);
            for ((entry, &sum), &factor) in entries {
                *entry = -sum;
                own += factor * sum;
            }
            inverse[diagonal] = own;
        }
        // New place of each unknown.
        let order = match self.symbolic.perm() {
            Some(order) => order.arrays().1.to_vec(),
            None => (0..size).collect(),
        };
        Variances { factor: self, inverse, order }
    }
}

/// Entries of the inverse of the normal equations, for unknowns that stand in one equation.
pub(super) struct Variances<'a> {
    factor: &'a Factor,
    inverse: Vec<f64>,
    order: Vec<usize>,
}

impl Variances<'_> {
    /// Covariance of two unknowns that some equation has both of.
    pub(super) fn of(&self, a: usize, b: usize) -> f64 {
        let (starts, rows) = self.factor.pattern();
        let [low, high] = {
            let [a, b] = [self.order[a], self.order[b]];
            [a.min(b), a.max(b)]
        };
        let column = &rows[starts[low]..starts[low + 1]];
        let scale = self.factor.scale[a] * self.factor.scale[b];
        match column.binary_search(&high) {
            Ok(at) => self.inverse[starts[low] + at] * scale,
            Err(_) => f64::NAN,
        }
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
            let pattern: Vec<_> = entries.iter().map(|&(row, column, _)| (row, column)).collect();
            let factor = Equations::new(size, entries).factor().unwrap();
            let inverse = dense.try_inverse().unwrap();
            let variances = factor.variances();
            for (a, b) in pattern {
                prop_assert!((variances.of(a, b) - inverse[(a, b)]).abs() < 1e-12);
                prop_assert!((variances.of(b, a) - inverse[(a, b)]).abs() < 1e-12);
            }
            let mut columns = DMatrix::<f64>::identity(size, size);
            factor.solve(columns.as_mut_slice());
            prop_assert!((columns - inverse).amax() < 1e-12);
        }
    }

    #[test]
    fn what_is_not_determined_is_told() {
        let untied = vec![(0, 0, 1.0), (0, 1, -1.0), (1, 1, 1.0)];
        assert_eq!(Equations::new(2, untied).factor().unwrap_err(), Singular);
        assert_eq!(Equations::new(2, vec![(0, 0, 1.0)]).factor().unwrap_err(), Singular);
        assert!(Equations::new(0, Vec::new()).factor().is_ok());
    }
}

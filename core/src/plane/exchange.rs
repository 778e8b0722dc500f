//! The linear programs behind the zone and the resting plane: few unknowns, many points.
//!
//! Maximise Σ λₖ cₖ over λ ≥ 0 with Σ λₖ Aₖ = e. This is the dual of holding a plane against points:
//! a basis of D columns is a set of contacts and the load on each, and its prices are the plane.
//! Each step exchanges a contact for the most violated point (Stiefel's exchange, which is the dual
//! simplex method). Ties among contacts without load are broken lexicographically (Dantzig,
//! Orden & Wolfe 1955, from memory), so that no basis returns and every run ends.

use nalgebra::{SMatrix, SVector};

/// A contact with a smaller share of the load counts as one without load.
const NOTHING: f64 = 1e-12;

/// A point, or one side of one.
#[derive(Debug, Clone, Copy)]
pub(super) struct Column<const D: usize> {
    pub(super) point: usize,
    /// Above the plane, or below it.
    pub(super) above: bool,
    pub(super) coefficients: SVector<f64, D>,
    pub(super) value: f64,
}

impl<const D: usize> Column<D> {
    fn is(&self, other: &Self) -> bool {
        (self.point, self.above) == (other.point, other.above)
    }

    /// How far the column breaks the prices.
    pub(super) fn excess(&self, prices: &SVector<f64, D>) -> f64 {
        self.value - prices.dot(&self.coefficients)
    }
}

/// D columns that span the space.
#[derive(Debug, Clone)]
pub(super) struct Basis<const D: usize> {
    pub(super) columns: [Column<D>; D],
    /// e in the columns: what each bears.
    pub(super) shares: SVector<f64, D>,
    /// The first basis in the columns of this one; it breaks ties between equal `shares`.
    history: SMatrix<f64, D, D>,
    first: SMatrix<f64, D, D>,
    inverse: SMatrix<f64, D, D>,
    right: SVector<f64, D>,
}

impl<const D: usize> Basis<D> {
    /// A basis in which no share is negative; none where the columns depend on each other.
    pub(super) fn new(columns: [Column<D>; D], right: SVector<f64, D>) -> Option<Self> {
        let first = matrix(&columns);
        let inverse = first.try_inverse()?;
        let mut basis =
            Self { columns, shares: right, history: SMatrix::identity(), first, inverse, right };
        basis.settle();
        Some(basis)
    }

    /// Shares and history of the columns and their inverse.
    fn settle(&mut self) {
        // One step of refinement makes up for an inverse of badly placed contacts.
        let found = self.inverse * self.right;
        self.shares = found + self.inverse * (self.right - matrix(&self.columns) * found);
        self.history = self.inverse * self.first;
    }

    /// The unknowns that make all columns tight.
    pub(super) fn prices(&self) -> SVector<f64, D> {
        let columns = matrix(&self.columns).transpose();
        let values = SVector::<f64, D>::from_fn(|at, _| self.columns[at].value);
        let found = self.inverse.transpose() * values;
        found + self.inverse.transpose() * (values - columns * found)
    }

    /// Σ of shares times values.
    pub(super) fn objective(&self) -> f64 {
        self.columns
            .iter()
            .zip(self.shares.iter())
            .map(|(column, share)| column.value * share)
            .sum()
    }

    /// Exchanges a column of the basis for this one. False where that is impossible: the column is in
    /// the basis already, or can take no load.
    pub(super) fn enter(&mut self, column: Column<D>) -> bool {
        if self.columns.iter().any(|other| other.is(&column)) {
            return false;
        }
        let step = self.inverse * column.coefficients;
        let mut leaving: Option<usize> = None;
        for at in (0..D).filter(|&at| step[at] > NOTHING * step.amax()) {
            if leaving.is_none_or(|best| self.goes_before(at, best, &step)) {
                leaving = Some(at);
            }
        }
        let Some(leaving) = leaving else { return false };
        let mut columns = self.columns;
        columns[leaving] = column;
        let Some(inverse) = matrix(&columns).try_inverse() else { return false };
        self.columns = columns;
        self.inverse = inverse;
        self.settle();
        true
    }

    fn goes_before(&self, a: usize, b: usize, step: &SVector<f64, D>) -> bool {
        let share = |at: usize| if self.shares[at] < NOTHING { 0.0 } else { self.shares[at] };
        let key = |at: usize, place: usize| match place {
            0 => share(at) / step[at],
            place => self.history[(at, place - 1)] / step[at],
        };
        for place in 0..=D {
            let (a, b) = (key(a, place), key(b, place));
            if (a - b).abs() > NOTHING * a.abs().max(b.abs()) {
                return a < b;
            }
        }
        false
    }
}

fn matrix<const D: usize>(columns: &[Column<D>; D]) -> SMatrix<f64, D, D> {
    SMatrix::from_fn(|row, column| columns[column].coefficients[row])
}

/// Exchanges contacts until no column breaks the prices by more than `allowed`, no exchange is
/// possible, or `most` exchanges are made. Returns the number of exchanges.
pub(super) fn settle<const D: usize>(
    basis: &mut Basis<D>,
    columns: &[Column<D>],
    allowed: f64,
    most: usize,
) -> usize {
    for done in 0..most {
        let prices = basis.prices();
        let worst = columns
            .iter()
            .map(|column| (column, column.excess(&prices)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .filter(|(_, excess)| *excess > allowed);
        let Some((column, _)) = worst else { return done };
        if !basis.enter(*column) {
            return done;
        }
    }
    most
}

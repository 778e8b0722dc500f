//! Cholesky's factor of a matrix whose entries lie near its diagonal.

/// A symmetric matrix, later its factor: for each column, the entries on and below the diagonal.
#[derive(Debug, Clone)]
pub(super) struct Band {
    size: usize,
    /// Entries of a column: one more than the farthest entry is off the diagonal.
    width: usize,
    values: Vec<f64>,
}

impl Band {
    /// A matrix of zeros, with room for entries at most `reach` off its diagonal.
    pub(super) fn new(size: usize, reach: usize) -> Self {
        let width = reach + 1;
        Self { size, width, values: vec![0.0; size * width] }
    }

    /// Adds to an entry on or below the diagonal.
    pub(super) fn add(&mut self, row: usize, column: usize, value: f64) {
        self.values[column * self.width + row - column] += value;
    }

    /// Puts 1 on the diagonal and nothing beside it: the unknown is 0 where its right side is.
    pub(super) fn hold(&mut self, unknown: usize) {
        let width = self.width;
        self.values[unknown * width..(unknown + 1) * width].fill(0.0);
        self.values[unknown * width] = 1.0;
        for off in 1..width.min(unknown + 1) {
            self.values[(unknown - off) * width + off] = 0.0;
        }
    }

    /// Factorises in place; false where the matrix is not positive definite.
    pub(super) fn factor(&mut self) -> bool {
        let width = self.width;
        for column in 0..self.size {
            let (head, rest) = self.values[column * width..].split_at_mut(width);
            let reach = width.min(self.size - column);
            let pivot = head[0];
            if !(pivot.is_finite() && pivot > 0.0) {
                return false;
            }
            let root = pivot.sqrt();
            head[0] = root;
            let head = &mut head[..reach];
            head[1..].iter_mut().for_each(|value| *value /= root);
            for off in 1..reach {
                let by = head[off];
                if by != 0.0 {
                    let below = &head[off..];
                    let into = &mut rest[(off - 1) * width..][..below.len()];
                    into.iter_mut().zip(below).for_each(|(into, value)| *into -= by * value);
                }
            }
        }
        true
    }

    /// Solves for `count` right sides at once, each row of which stands together.
    pub(super) fn solve(&self, right: &mut [f64], count: usize) {
        let width = self.width;
        for column in 0..self.size {
            let of_column = &self.values[column * width..][..width.min(self.size - column)];
            let (own, rest) = right[column * count..].split_at_mut(count);
            own.iter_mut().for_each(|value| *value /= of_column[0]);
            for (below, by) in rest.chunks_exact_mut(count).zip(&of_column[1..]) {
                below.iter_mut().zip(&*own).for_each(|(into, value)| *into -= by * value);
            }
        }
        for column in (0..self.size).rev() {
            let of_column = &self.values[column * width..][..width.min(self.size - column)];
            let (own, rest) = right[column * count..].split_at_mut(count);
            for (below, by) in rest.chunks_exact(count).zip(&of_column[1..]) {
                own.iter_mut().zip(below).for_each(|(into, value)| *into -= by * value);
            }
            own.iter_mut().for_each(|value| *value /= of_column[0]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_solved_solves() {
        let (size, reach) = (7, 3);
        let entry = |row: usize, column: usize| match row - column {
            0 => 9.0 + row as f64,
            off if off <= reach => 1.0 / (off + column) as f64,
            _ => 0.0,
        };
        let mut band = Band::new(size, reach);
        for column in 0..size {
            for row in column..size.min(column + reach + 1) {
                band.add(row, column, entry(row, column));
            }
        }
        band.hold(2);
        assert!(band.factor());
        let mut right: Vec<f64> = (0..2 * size).map(|at| (at * at % 5) as f64).collect();
        right[4] = 0.0;
        right[5] = 0.0;
        let mut solved = right.clone();
        band.solve(&mut solved, 2);
        assert_eq!(solved[4..6], [0.0, 0.0]);
        for (row, side) in (0..size).flat_map(|row| [(row, 0), (row, 1)]).filter(|it| it.0 != 2) {
            let of = |column| entry(row.max(column), row.min(column)) * solved[2 * column + side];
            let sum: f64 = (0..size).map(of).sum();
            assert!((sum - right[2 * row + side]).abs() < 1e-12);
        }
        let mut indefinite = Band::new(2, 1);
        assert!(!indefinite.factor());
        indefinite.add(0, 0, 1.0);
        assert!(!indefinite.factor());
    }
}

//! In which order unknowns are eliminated, and where that leaves entries.
//!
//! Eliminating an unknown ties all its neighbours to each other. Taking one with the fewest
//! neighbours first (minimum degree; Tinney & Walker, Proc. IEEE 55 (1967) 1801, from memory) keeps
//! these ties few. The unknowns of a table fit into sets of bits, where that takes a microsecond. A
//! hall gets the approximate minimum degree of Amestoy, Davis & Duff, SIAM J. Matrix Anal. Appl. 17
//! (1996) 886 (from memory), by the crate `amd`.

use super::network::{PAIRS, TERMS};

/// The places of the lower triangle L of a factor, column by column.
#[derive(Debug)]
pub(super) struct Pattern {
    /// Where each column begins, and where the last ends.
    pub(super) starts: Vec<usize>,
    /// The row of each place: of a column the diagonal first, then downwards.
    pub(super) rows: Vec<usize>,
    /// The column of each unknown.
    pub(super) columns: Vec<usize>,
}

/// As many unknowns as a set has bits.
const FEW: usize = u64::BITS as usize;

impl Pattern {
    /// The pattern of `size` unknowns, from those that stand in each equation, or `size` in their
    /// stead; none where there is no memory for it.
    pub(super) fn new(
        size: usize,
        equations: impl Iterator<Item = [usize; TERMS]>,
    ) -> Option<Self> {
        if size <= FEW {
            Some(Self::of_few(size, equations))
        } else {
            Self::of_many(size, equations)
        }
    }

    fn of_few(size: usize, equations: impl Iterator<Item = [usize; TERMS]>) -> Self {
        let mut near = [0_u64; FEW + 1];
        let bit = |unknown: usize| if unknown < size { 1 << unknown } else { 0 };
        equations.for_each(|unknowns| {
            let all = unknowns.into_iter().fold(0, |all, unknown| all | bit(unknown));
            unknowns.into_iter().for_each(|unknown| near[unknown] |= all);
        });
        let near = &mut near[..size];
        near.iter_mut().enumerate().for_each(|(unknown, set)| *set &= !(1 << unknown));
        const ELIMINATED: u8 = u8::MAX;
        let mut degrees = [ELIMINATED; FEW];
        for (degree, near) in degrees.iter_mut().zip(&*near) {
            *degree = near.count_ones() as u8;
        }
        let mut columns = vec![0; size];
        let mut order = [0; FEW];
        let mut count = size;
        for (column, place) in order[..size].iter_mut().enumerate() {
            let (mut next, mut fewest) = (0, ELIMINATED);
            for (unknown, &degree) in degrees[..size].iter().enumerate() {
                if degree < fewest {
                    (next, fewest) = (unknown, degree);
                }
            }
            (*place, columns[next]) = (next, column);
            degrees[next] = ELIMINATED;
            count += usize::from(fewest);
            let tied = near[next];
            for unknown in members(tied) {
                let set = &mut near[unknown];
                *set = (*set | tied) & !(1 << next | 1 << unknown);
                degrees[unknown] = set.count_ones() as u8;
            }
        }
        let (mut starts, mut rows) = (Vec::with_capacity(size + 1), Vec::with_capacity(count));
        for (column, &unknown) in order[..size].iter().enumerate() {
            starts.push(rows.len());
            rows.push(column);
            let below = members(near[unknown]).fold(0, |set, other| set | 1 << columns[other]);
            rows.extend(members(below));
        }
        starts.push(rows.len());
        Self { starts, rows, columns }
    }

    fn of_many(size: usize, equations: impl Iterator<Item = [usize; TERMS]>) -> Option<Self> {
        let pairs = equations.flat_map(|of| PAIRS.map(|[a, b]| (of[a], of[b])));
        let sorted = pairs.map(|(a, b)| [a.min(b), a.max(b)]);
        let ties: Vec<[usize; 2]> = sorted.filter(|&[a, b]| a < b && b < size).collect();
        // The order wants at least as many entries as columns: the diagonal makes sure of it.
        let diagonal = (0..size).map(|unknown| [unknown, unknown]);
        let (starts, rows) = by_column(size, || diagonal.clone().chain(ties.iter().copied()));
        let (order, columns, _) =
            amd::order(size, &starts, &rows, &amd::Control::default()).ok()?;
        let eliminated = || {
            ties.iter().map(|&[a, b]| {
                let (a, b) = (columns[a], columns[b]);
                [a.max(b), a.min(b)]
            })
        };
        let (starts, rows) = by_column(order.len(), eliminated);
        let (starts, rows) = fill(&starts, &rows);
        Some(Self { starts, rows, columns })
    }

    /// How many unknowns there are.
    pub(super) fn size(&self) -> usize {
        self.columns.len()
    }

    /// The place of the entry of two columns that are tied; behind all places where one of them is
    /// behind all columns.
    #[inline]
    pub(super) fn place(&self, a: usize, b: usize) -> usize {
        let (column, row) = (a.min(b), a.max(b));
        if row == self.size() {
            return self.rows.len();
        }
        let start = self.starts[column];
        let rows = &self.rows[start..self.starts[column + 1]];
        start + rows.partition_point(|&other| other < row)
    }
}

/// Entries given as row and column, put together by column: where each column begins and the last
/// ends, and the rows. Rows stand in the order in which they come, repeated ones included.
fn by_column<I: Iterator<Item = [usize; 2]>>(
    size: usize,
    entries: impl Fn() -> I,
) -> (Vec<usize>, Vec<usize>) {
    let mut starts = vec![0; size + 1];
    entries().for_each(|[_, column]| starts[column + 1] += 1);
    let mut sum = 0;
    for start in &mut starts {
        sum += *start;
        *start = sum;
    }
    let (mut rows, mut next) = (vec![0; sum], starts.clone());
    for [row, column] in entries() {
        rows[next[column]] = row;
        next[column] += 1;
    }
    (starts, rows)
}

/// The places of the factor of a matrix whose entries below the diagonal are given by column.
///
/// A column of the factor has the rows of its own entries and those of every column whose first row
/// below the diagonal it is (elimination tree; Liu, SIAM J. Matrix Anal. Appl. 11 (1990) 134, from
/// memory).
fn fill(starts: &[usize], rows: &[usize]) -> (Vec<usize>, Vec<usize>) {
    const NONE: usize = usize::MAX;
    let size = starts.len() - 1;
    let (mut filled_starts, mut filled) = (vec![0], Vec::with_capacity(2 * rows.len() + size));
    // The columns whose parent each column is, as chains.
    let (mut first_child, mut next_child) = (vec![NONE; size], vec![NONE; size]);
    let mut last_seen = vec![NONE; size];
    for column in 0..size {
        let begin = filled.len();
        filled.push(column);
        last_seen[column] = column;
        for &row in &rows[starts[column]..starts[column + 1]] {
            if std::mem::replace(&mut last_seen[row], column) != column {
                filled.push(row);
            }
        }
        let mut child = first_child[column];
        while child != NONE {
            for at in filled_starts[child] + 1..filled_starts[child + 1] {
                let row = filled[at];
                if std::mem::replace(&mut last_seen[row], column) != column {
                    filled.push(row);
                }
            }
            child = next_child[child];
        }
        filled[begin..].sort_unstable();
        if let Some(&parent) = filled.get(begin + 1) {
            next_child[column] = std::mem::replace(&mut first_child[parent], column);
        }
        filled_starts.push(filled.len());
    }
    (filled_starts, filled)
}

/// The members of a set, in order.
fn members(mut set: u64) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let first = (set != 0).then(|| set.trailing_zeros() as usize);
        set &= set.wrapping_sub(1);
        first
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// What both orders must agree in: places for all ties, and for those that elimination makes.
    fn is_closed(pattern: &Pattern, equations: &[[usize; TERMS]]) -> bool {
        let Pattern { starts, rows, columns } = pattern;
        let holds = |a: usize, b: usize| rows.get(pattern.place(a, b)) == Some(&a.max(b));
        let mut sorted = columns.clone();
        sorted.sort_unstable();
        sorted.into_iter().eq(0..pattern.size())
            && equations.iter().all(|all| {
                let all = || all.iter().filter_map(|&unknown| columns.get(unknown));
                all().all(|&a| all().all(|&b| holds(a, b)))
            })
            && starts.windows(2).enumerate().all(|(column, ends)| {
                let all = &rows[ends[0]..ends[1]];
                all[0] == column
                    && all.is_sorted_by(|a, b| a < b)
                    && all[1..].iter().all(|&a| all[1..].iter().all(|&b| holds(a, b)))
            })
    }

    proptest! {
        #[test]
        fn both_orders_have_a_place_for_every_tie(
            size in 1usize..40,
            equations in proptest::collection::vec((0usize..40, 0usize..40, 0usize..40), 0..40),
        ) {
            let in_range = |(a, b, c)| [a, b, c, size].map(|unknown: usize| unknown.min(size));
            let equations: Vec<_> = equations.into_iter().map(in_range).collect();
            let few = Pattern::of_few(size, equations.iter().copied());
            prop_assert!(is_closed(&few, &equations));
            let many = Pattern::of_many(size, equations.iter().copied()).unwrap();
            prop_assert!(is_closed(&many, &equations));
        }
    }
}

//! Which supports carry: a convex quadratic problem, solved exactly by an active set.
//!
//! With every support touching, forces are f₀. A support that the slab clears by g changes them by
//! S g, where S is what the slab resists when its supports are moved (positive semidefinite; it does
//! not resist what moves it without bending). So the gaps are those that minimise ½ gᵀ S g + f₀ᵀ g
//! over g ≥ 0, and the conditions of that minimum are: no force below 0, no gap below 0, no force at
//! a gap. The active set is that of Lawson & Hanson (1974, from memory): it goes down at every step,
//! so no set comes twice and there is an end to it.

use nalgebra::DMatrix;

/// No gaps make an end to the forces below 0: the slab falls.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Falls;

/// Finds the gaps. A force above `-nothing` counts as none below 0.
pub(super) fn gaps(
    resists: &DMatrix<f64>,
    forces: &[f64],
    nothing: f64,
) -> Result<Vec<f64>, Falls> {
    let count = forces.len();
    let mut gaps = vec![0.0; count];
    let mut open: Vec<usize> = Vec::new();
    // Far more than there are steps: what stops here is a fault of rounding.
    for _ in 0..100 * (count + 10) {
        let force = |at: usize| {
            forces[at] + open.iter().map(|&gap| resists[(at, gap)] * gaps[gap]).sum::<f64>()
        };
        let lowest = (0..count)
            .filter(|at| !open.contains(at))
            .map(|at| (at, force(at)))
            .filter(|&(_, force)| force < -nothing)
            .min_by(|a, b| a.1.total_cmp(&b.1));
        let Some((lifts, _)) = lowest else { break };
        open.push(lifts);
        while !descend(resists, forces, &mut open, &mut gaps)? {}
    }
    Ok(gaps)
}

/// Descends as far as the open gaps allow. True where that reaches the minimum over them. Gaps that
/// close on the way are no longer open.
fn descend(
    resists: &DMatrix<f64>,
    forces: &[f64],
    open: &mut Vec<usize>,
    gaps: &mut [f64],
) -> Result<bool, Falls> {
    let force = |at: usize| {
        forces[at] + open.iter().map(|&gap| resists[(at, gap)] * gaps[gap]).sum::<f64>()
    };
    let slope: Vec<f64> = open.iter().map(|&at| force(at)).collect();
    let (way, is_step) = direction(resists, open, &slope);
    let mut length = if is_step { 1.0 } else { f64::INFINITY };
    for (&at, &by) in open.iter().zip(&way) {
        if by < 0.0 {
            length = length.min(gaps[at] / -by);
        }
    }
    if length.is_infinite() {
        return Err(Falls);
    }
    let whole = is_step && length >= 1.0;
    for (&at, &by) in open.iter().zip(&way) {
        gaps[at] = (gaps[at] + length * by).max(0.0);
    }
    if !whole {
        let closes = |(&at, &by): (&usize, &f64)| by < 0.0 && gaps[at] <= 1e-14 * length * -by;
        let closed: Vec<bool> = open.iter().zip(&way).map(closes).collect();
        let mut closed = closed.into_iter();
        open.retain(|&at| {
            let closes = closed.next() == Some(true);
            if closes {
                gaps[at] = 0.0;
            }
            !closes
        });
    }
    Ok(whole)
}

/// The direction of descent: a step to the minimum or, where the slab is free to turn, a direction
/// in which it turns without bending.
fn direction(resists: &DMatrix<f64>, open: &[usize], slope: &[f64]) -> (Vec<f64>, bool) {
    /// A pivot below this share of its diagonal is rounding.
    const NOTHING: f64 = 1e-12;
    let count = open.len();
    // LLᵀ of what the open gaps meet, row by row.
    let mut factor = vec![0.0; count * count];
    for row in 0..count {
        for column in 0..=row {
            let known: f64 =
                (0..column).map(|at| factor[row * count + at] * factor[column * count + at]).sum();
            let rest = resists[(open[row], open[column])] - known;
            if row != column {
                factor[row * count + column] = rest / factor[column * count + column];
            } else if rest > NOTHING * resists[(open[row], open[row])] {
                factor[row * count + row] = rest.sqrt();
            } else {
                let mut way: Vec<f64> = (0..row).map(|at| -factor[row * count + at]).collect();
                back(&factor, count, &mut way);
                way.push(1.0);
                way.resize(count, 0.0);
                let down: f64 = way.iter().zip(slope).map(|(way, slope)| way * slope).sum();
                if down > 0.0 {
                    way.iter_mut().for_each(|way| *way = -*way);
                }
                return (way, false);
            }
        }
    }
    let mut way: Vec<f64> = slope.iter().map(|slope| -slope).collect();
    for row in 0..count {
        let known: f64 = (0..row).map(|at| factor[row * count + at] * way[at]).sum();
        way[row] = (way[row] - known) / factor[row * count + row];
    }
    back(&factor, count, &mut way);
    (way, true)
}

/// Solves with the transpose of the factor.
fn back(factor: &[f64], count: usize, way: &mut [f64]) {
    for row in (0..way.len()).rev() {
        let known: f64 = (row + 1..way.len()).map(|at| factor[at * count + row] * way[at]).sum();
        way[row] = (way[row] - known) / factor[row * count + row];
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_conditions_of_the_minimum_hold(
            size in 1_usize..8,
            numbers in prop::collection::vec(-1.0..1.0_f64, 8 * 8 + 8),
        ) {
            let half = DMatrix::from_fn(size, size, |row, column| numbers[8 * row + column]);
            let resists = half.transpose() * half + DMatrix::identity(size, size) * 1e-3;
            let forces = &numbers[64..64 + size];
            let found = gaps(&resists, forces, 1e-12).unwrap();
            for at in 0..size {
                let force: f64 =
                    forces[at] + (0..size).map(|gap| resists[(at, gap)] * found[gap]).sum::<f64>();
                prop_assert!(found[at] >= 0.0);
                prop_assert!(force >= -1e-9, "{force}");
                prop_assert!((force * found[at]).abs() < 1e-7, "{force} {}", found[at]);
            }
        }
    }

    #[test]
    fn what_turns_without_bending_turns_or_falls() {
        // Nothing resists: a force below 0 has no end.
        assert_eq!(gaps(&DMatrix::zeros(1, 1), &[-1.0], 0.0), Err(Falls));
        // Only the difference of the two gaps is resisted, so both may grow for ever.
        let resists = DMatrix::from_row_slice(2, 2, &[1.0, -1.0, -1.0, 1.0]);
        assert_eq!(gaps(&resists, &[-1.0, -1.0], 0.0), Err(Falls));
        let found = gaps(&resists, &[-1.0, 1.5], 0.0).unwrap();
        assert_eq!(found, [1.0, 0.0]);
    }
}

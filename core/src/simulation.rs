//! The probability that correlated normal errors keep within bounds, by simulation.
//!
//! Genz's separation of variables (J. Comput. Graph. Stat. 1, 1992, 141-149; for singular
//! covariances Genz & Kwong, J. Stat. Comput. Simul. 68, 2000, 1-21; both from memory): one value
//! after the other is drawn from what its bounds leave of its normal distribution, given those
//! before it, and the probabilities of what they leave are multiplied. The draws are a lattice with
//! shifts that never change, so every run gives the same; the spread between the shifts is the
//! standard error.

mod lattice;

use nalgebra::DMatrix;

use crate::normal::{Interval, Table, quantile};
use lattice::{LATTICES, Lattice, SHIFTS};

/// A probability and the standard error of its computation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Chance {
    pub(crate) probability: f64,
    pub(crate) error: f64,
}

impl Chance {
    /// One that is not simulated.
    pub(crate) fn exact(probability: f64) -> Self {
        Self { probability, error: 0.0 }
    }
}

/// So many draws are made side by side, since each value of a draw waits for the one before it.
pub(crate) const LANES: usize = 8;

/// A number of each draw.
pub(crate) type Lanes = [f64; LANES];

/// Bounds of values that come one after the other.
pub(crate) trait Bounds {
    /// Forgets all values.
    fn clear(&mut self);
    /// The least and the most that the next value may be.
    fn next(&self) -> [Lanes; 2];
    /// Takes the next value.
    fn put(&mut self, values: &Lanes);
}

/// How often something is so of values that are drawn as a whole, simulated until it is known well
/// `enough`; `means` and `root` are those of [`chance`].
pub(crate) fn frequency(
    means: &[f64],
    root: &DMatrix<f64>,
    enough: impl Fn(Chance) -> bool,
    mut of: impl FnMut(&[f64]) -> bool,
) -> Chance {
    // What has always been so in all of n points may not be so once in n.
    let least = |points: u64| 1.0 / points as f64;
    let size = means.len();
    let (mut errors, mut values) = (vec![0.0; size], means.to_vec());
    mean(size, least, enough, |lattice, shift| {
        let mut is_so = |point: u64| {
            for (at, error) in errors.iter_mut().enumerate() {
                // Kept finite.
                *error = quantile(lattice.at(point, shift, at).clamp(1e-300, 1.0 - 1e-16));
            }
            for (row, value) in values.iter_mut().enumerate() {
                let error: f64 = (0..=row).map(|k| root[(row, k)] * errors[k]).sum();
                *value = means[row] + error;
            }
            of(&values)
        };
        (0..lattice.points).filter(|&point| is_so(point)).count() as f64
    })
}

/// The mean of a function of points with so many variables, simulated until it is known well
/// `enough`; its error is at the least what so many points leave. The function is summed over a
/// lattice with a shift.
fn mean(
    size: usize,
    least: impl Fn(u64) -> f64,
    enough: impl Fn(Chance) -> bool,
    mut sum: impl FnMut(&Lattice, usize) -> f64,
) -> Chance {
    /// As what power of the size errors go down, at the least.
    const RATE: f64 = 0.85;
    // Each lattice has shifts of its own, so all count, by the square of their size: errors go down about
    // as fast as sizes go up.
    let (mut weights, mut sum_of_means, mut sum_of_squares) = (0.0, 0.0, 0.0);
    let mut at = 0;
    loop {
        let lattice = Lattice::new(LATTICES[at], size);
        let means: [f64; SHIFTS] =
            std::array::from_fn(|shift| sum(&lattice, shift) / lattice.points as f64);
        let probability = means.iter().sum::<f64>() / SHIFTS as f64;
        let spread: f64 = means.iter().map(|mean| (mean - probability).powi(2)).sum();
        let error = (spread / (SHIFTS * (SHIFTS - 1)) as f64).sqrt();
        let weight = (lattice.points as f64).powi(2);
        weights += weight;
        sum_of_means += weight * probability;
        sum_of_squares += (weight * error).powi(2);
        let chance = |error: f64, points: u64| {
            let error = error.max(least(SHIFTS as u64 * points));
            Chance { probability: sum_of_means / weights, error }
        };
        let found = chance(sum_of_squares.sqrt() / weights, lattice.points);
        if enough(found) || at + 1 == LATTICES.len() {
            return found;
        }
        // On to the one that is likely to do.
        let does = |points: u64| {
            let error = error * (lattice.points as f64 / points as f64).powf(RATE);
            let weight = (points as f64).powi(2);
            let error = (sum_of_squares + (weight * error).powi(2)).sqrt() / (weights + weight);
            enough(chance(error, points))
        };
        let next = (at + 1..LATTICES.len()).find(|&at| does(LATTICES[at].0));
        at = next.unwrap_or(LATTICES.len() - 1);
    }
}

/// The probability that values keep within their bounds. `means` are what they are expected to be
/// and `root` is the lower triangle L of their covariance L Lᵀ, in the order in which they come; a
/// value without a pivot of its own is what those before it make of it, and may be off its bounds
/// by `slack` for rounding.
pub(crate) fn chance(
    means: &[f64],
    root: &DMatrix<f64>,
    slack: f64,
    bounds: &mut impl Bounds,
    enough: impl Fn(Chance) -> bool,
) -> Chance {
    const TAIL: f64 = 3.0;
    let size = means.len();
    let table = Table::new();
    let mut given = vec![[0.0; LANES]; size];
    let per: Vec<f64> = (0..size).map(|at| root[(at, at)].recip()).collect();
    let mut draw = |lattice: &Lattice, shift: usize, first: u64| -> Lanes {
        bounds.clear();
        given.iter_mut().zip(means).for_each(|(given, &mean)| *given = [mean; LANES]);
        let mut chances = [1.0; LANES];
        for at in 0..size {
            let [least, most] = bounds.next();
            let column = &root.as_slice()[at * size + at..(at + 1) * size];
            let (pivot, means) = (column[0], given[at]);
            let mut values = means;
            if pivot > 0.0 {
                let per = per[at];
                let parts = lattice.lanes(first, shift, at);
                let end = |ends: &Lanes, lane: usize| (ends[lane] - means[lane]) * per;
                let low: Lanes = std::array::from_fn(|lane| end(&least, lane));
                let high: Lanes = std::array::from_fn(|lane| end(&most, lane));
                // Lane by lane in each step, so that no lane waits for another.
                let below = low.map(|end| table.below(end));
                let above = high.map(|end| table.below(end));
                let mut shares: Lanes =
                    std::array::from_fn(|lane| (above[lane] - below[lane]).max(0.0));
                let mut errors: Lanes = std::array::from_fn(|lane| {
                    table.quantile(below[lane] + parts[lane] * shares[lane])
                });
                for lane in 0..LANES {
                    // There tables have too few digits of what is left.
                    if low[lane] > TAIL || high[lane] < -TAIL {
                        let interval = Interval::new(low[lane], high[lane]);
                        shares[lane] = interval.probability;
                        errors[lane] = interval.quantile(parts[lane]);
                    }
                    chances[lane] *= shares[lane];
                }
                // What is known of those to come.
                for (given, by) in given[at + 1..].iter_mut().zip(&column[1..]) {
                    given.iter_mut().zip(&errors).for_each(|(given, error)| *given += by * error);
                }
                values.iter_mut().zip(&errors).for_each(|(value, error)| *value += pivot * error);
            } else {
                for lane in 0..LANES {
                    let mean = means[lane];
                    if mean < least[lane] - slack || mean > most[lane] + slack {
                        chances[lane] = 0.0;
                    }
                }
            }
            bounds.put(&values);
        }
        chances
    };
    mean(
        size,
        |_| 0.0,
        enough,
        |lattice, shift| {
            let mut sum = 0.0;
            for first in (0..lattice.points).step_by(LANES) {
                let left = (lattice.points - first).min(LANES as u64) as usize;
                sum += draw(lattice, shift, first)[..left].iter().sum::<f64>();
            }
            sum
        },
    )
}

/// The lower triangle L with L Lᵀ = C, for a covariance C that may be singular: a row that those
/// before it determine has no pivot.
pub(crate) fn root(covariance: &DMatrix<f64>) -> DMatrix<f64> {
    let size = covariance.nrows();
    let mut root = DMatrix::<f64>::zeros(size, size);
    for row in 0..size {
        for column in 0..=row {
            let known: f64 = (0..column).map(|k| root[(row, k)] * root[(column, k)]).sum();
            let left = covariance[(row, column)] - known;
            root[(row, column)] = if row == column {
                if left > NOTHING * covariance[(row, row)] { left.sqrt() } else { 0.0 }
            } else if root[(column, column)] > 0.0 {
                left / root[(column, column)]
            } else {
                0.0
            };
        }
    }
    root
}

/// What is left of a variance counts as nothing below this part of it.
pub(crate) const NOTHING: f64 = 1e-12;

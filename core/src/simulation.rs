//! The probability that correlated normal errors keep within bounds, by simulation.
//!
//! Genz's separation of variables (J. Comput. Graph. Stat. 1, 1992, 141-149; for singular
//! covariances Genz & Kwong, J. Stat. Comput. Simul. 68, 2000, 1-21; both from memory): values are
//! drawn one after the other, each from its normal distribution given those before it and cut off at
//! its bounds. The probabilities between the bounds are multiplied. The draws are lattices with fixed
//! shifts, so every run gives the same; the spread between the shifts gives the standard error.
//!
//! Many draws are made side by side, and the compiler turns them into vector instructions: inside
//! [`Arch::dispatch`] those of the machine that it runs on. That works only where nothing in between is
//! a call. So functions are always inlined, and loops over lanes stand in place of closures. No product
//! is fused with a sum, so the digits are the same on every machine.

mod lattice;

pub(crate) use lattice::{LANES, Lanes};
use nalgebra::DMatrix;
use pulp::{Arch, NullaryFnOnce};

use crate::deadline::Deadline;
use crate::normal::{Interval, lanes};
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

/// The number of lanes whose sums the registers hold.
const FEW: usize = 16;

/// Bounds of values that come one after the other.
pub(crate) trait Bounds {
    /// Forgets all values.
    fn clear(&mut self);
    /// The bounds of a value, given those before it.
    fn of(&self, at: usize) -> [Lanes; 2];
    /// Takes a value.
    fn put(&mut self, at: usize, values: &Lanes);
}

/// The probability that a condition holds for values drawn together, simulated until its standard error
/// is small `enough`. `means` and `root` are those of [`chance`]. Once the time is over the result is
/// meaningless: the caller checks the time.
pub(crate) fn frequency(
    means: &[f64],
    root: &DMatrix<f64>,
    deadline: &Deadline<'_>,
    enough: impl Fn(Chance) -> bool,
    mut of: impl FnMut(&[f64]) -> bool,
) -> Chance {
    let size = means.len();
    let (mut errors, mut values) = (vec![0.0; size], means.to_vec());
    let work = (size * size) as u64 + 50 * size as u64;
    mean(size, deadline, unseen, enough, |lattice, shift| {
        let mut is_so = |point: u64| {
            for (at, error) in errors.iter_mut().enumerate() {
                [*error] = lanes::quantiles(&[lattice.at(point, shift, at)]);
            }
            for (row, value) in values.iter_mut().enumerate() {
                let error: f64 = (0..=row).map(|k| root[(row, k)] * errors[k]).sum();
                *value = means[row] + error;
            }
            of(&values)
        };
        let points = 0..lattice.points;
        let in_time = points.take_while(|_| deadline.spend(work).is_ok());
        in_time.filter(|&point| is_so(point)).count() as f64
    })
}

/// The most work that one probability may take: draws times the square of the variables.
const MOST_WORK: f64 = 2e9;

/// The mean of a function of `size` variables, simulated until its standard error is small `enough`. The
/// error counts as `least` of the number of points at the least. `sum` sums over a lattice with a shift.
fn mean(
    size: usize,
    deadline: &Deadline<'_>,
    least: impl Fn(u64) -> f64,
    enough: impl Fn(Chance) -> bool,
    mut sum: impl FnMut(&Lattice, usize) -> f64,
) -> Chance {
    /// The error falls at least with this power of the number of points.
    const RATE: f64 = 0.85;
    // As many draws as the work of a second or two allows; fewer leave a greater error, by which what
    // is in doubt stays in doubt.
    let draw = SHIFTS as f64 * (size * size).max(1) as f64;
    let affordable = |points: u64| points as f64 * draw <= MOST_WORK;
    let last = LATTICES.iter().rposition(|&(points, _)| affordable(points)).unwrap_or(0);
    // All lattices count, by the square of their size: errors go down about as fast as sizes go up.
    let (mut weights, mut sum_of_means, mut sum_of_squares) = (0.0, 0.0, 0.0);
    let (mut at, mut round, mut points) = (0, 0, 0);
    loop {
        let lattice = Lattice::new(LATTICES[at], size, round);
        let means: [f64; SHIFTS] =
            std::array::from_fn(|shift| sum(&lattice, shift) / lattice.points as f64);
        let mean = means.iter().sum::<f64>() / SHIFTS as f64;
        let spread: f64 = means.iter().map(|of_shift| (of_shift - mean).powi(2)).sum();
        // Of the t distribution that a mean of so few has (JCGM 101:2008, 6.4.9.4; from memory).
        let error = (spread / (SHIFTS * (SHIFTS - 3)) as f64).sqrt();
        let weight = (lattice.points as f64).powi(2);
        weights += weight;
        sum_of_means += weight * mean;
        sum_of_squares += (weight * error).powi(2);
        points += lattice.points;
        let chance = |error: f64, points: u64| {
            let error = error.max(least(SHIFTS as u64 * points));
            // The lanes' normal distribution ends a hair above 1.
            Chance { probability: (sum_of_means / weights).min(1.0), error }
        };
        let found = chance(sum_of_squares.sqrt() / weights, points);
        if deadline.is_over()
            || enough(found)
            || points >= LATTICES[last].0
            || !affordable(points + LATTICES[0].0)
        {
            return found;
        }
        // On to the smallest that is likely to do.
        let does = |more: u64| {
            let error = error * (lattice.points as f64 / more as f64).powf(RATE);
            let weight = (more as f64).powi(2);
            let error = (sum_of_squares + (weight * error).powi(2)).sqrt() / (weights + weight);
            enough(chance(error, points + more))
        };
        at = (0..last).find(|&at| does(LATTICES[at].0)).unwrap_or(last);
        while at > 0 && !affordable(points + LATTICES[at].0) {
            at -= 1;
        }
        round += 1;
    }
}

/// The probability that values keep within their bounds. `means` are their expected values and `root`
/// is the lower triangle L of their covariance L Lᵀ, in the order of the draws. A value without a pivot
/// follows from those before it, and may miss its bounds by `slack` for rounding.
pub(crate) fn chance(
    means: &[f64],
    root: &DMatrix<f64>,
    slack: f64,
    bounds: &mut impl Bounds,
    deadline: &Deadline<'_>,
    enough: impl Fn(Chance) -> bool,
) -> Chance {
    let size = means.len();
    let mut draws = Draws {
        means,
        rows: root.transpose().as_slice().to_vec(),
        per: (0..size).map(|at| root[(at, at)].recip()).collect(),
        slack,
        bounds,
        deadline,
        errors: vec![[0.0; LANES]; size],
    };
    let sum =
        |lattice: &Lattice, shift| Arch::new().dispatch(Sum { draws: &mut draws, lattice, shift });
    // A value that those before it all but determine is within its bounds or not.
    let is_told = |row: usize| {
        let all: f64 = (0..=row).map(|k| root[(row, k)].powi(2)).sum();
        root[(row, row)].powi(2) < TOLD * all
    };
    let told = (0..size).any(is_told);
    mean(size, deadline, |points| if told { unseen(points) } else { 0.0 }, enough, sum)
}

/// A value is all but determined where less than this part is left of its variance.
const TOLD: f64 = 0.01;

/// A condition that held at every point may still fail about once in as many points.
fn unseen(points: u64) -> f64 {
    1.0 / points as f64
}

/// Values drawn one after the other, each within its bounds.
struct Draws<'a, B> {
    means: &'a [f64],
    /// The root, row by row.
    rows: Vec<f64>,
    /// One over each pivot.
    per: Vec<f64>,
    slack: f64,
    bounds: &'a mut B,
    deadline: &'a Deadline<'a>,
    /// The standard normal errors of the values so far.
    errors: Vec<Lanes>,
}

impl<B: Bounds> Draws<'_, B> {
    /// The product of the probabilities between bounds, at points of a lattice from one on.
    #[inline(always)]
    fn chances(&mut self, lattice: &Lattice, shift: usize, first: u64) -> Lanes {
        /// Beyond this the tail has too few digits.
        const TAIL: f64 = 3.0;
        let size = self.means.len();
        self.bounds.clear();
        let mut chances = [1.0; LANES];
        for at in 0..size {
            let [least, most] = self.bounds.of(at);
            let row = &self.rows[at * size..];
            let pivot = row[at];
            // What it is expected to be, given those before it.
            let mut means = [0.0; LANES];
            for few in (0..LANES).step_by(FEW) {
                let mut sums = [self.means[at]; FEW];
                for (by, errors) in row.iter().zip(&self.errors[..at]) {
                    for lane in 0..FEW {
                        sums[lane] += by * errors[few + lane];
                    }
                }
                means[few..few + FEW].copy_from_slice(&sums);
            }
            let mut values = means;
            if pivot > 0.0 {
                let per = self.per[at];
                let parts = lattice.lanes(first, shift, at);
                let (mut low, mut high) = (least, most);
                for lane in 0..LANES {
                    low[lane] = (low[lane] - means[lane]) * per;
                    high[lane] = (high[lane] - means[lane]) * per;
                }
                let (below, mut shares) = (lanes::below(&low), lanes::below(&high));
                let mut drawn = parts;
                for lane in 0..LANES {
                    shares[lane] = (shares[lane] - below[lane]).max(0.0);
                    drawn[lane] = below[lane] + parts[lane] * shares[lane];
                }
                let mut errors = lanes::quantiles(&drawn);
                let is_far = |lane: usize| low[lane] > TAIL || high[lane] < -TAIL;
                let mut far = false;
                for lane in 0..LANES {
                    far |= is_far(lane);
                }
                if far {
                    for lane in (0..LANES).filter(|&lane| is_far(lane)) {
                        let interval = Interval::new(low[lane], high[lane]);
                        shares[lane] = interval.probability;
                        errors[lane] = interval.quantile(parts[lane]);
                    }
                }
                for lane in 0..LANES {
                    chances[lane] *= shares[lane];
                    values[lane] += pivot * errors[lane];
                }
                self.errors[at] = errors;
            } else {
                for lane in 0..LANES {
                    let mean = means[lane];
                    if mean < least[lane] - self.slack || mean > most[lane] + self.slack {
                        chances[lane] = 0.0;
                    }
                }
            }
            self.bounds.put(at, &values);
        }
        chances
    }
}

/// The sum over a lattice with a shift.
struct Sum<'a, 'b, B> {
    draws: &'a mut Draws<'b, B>,
    lattice: &'a Lattice,
    shift: usize,
}

impl<B: Bounds> NullaryFnOnce for Sum<'_, '_, B> {
    type Output = f64;

    #[inline(always)]
    fn call(self) -> f64 {
        let mut sum = 0.0;
        for first in (0..self.lattice.points).step_by(LANES) {
            let work = (self.draws.means.len() * (self.draws.means.len() + 50) * LANES) as u64;
            if self.draws.deadline.spend(work / 4).is_err() {
                break;
            }
            let left = (self.lattice.points - first).min(LANES as u64) as usize;
            let chances = self.draws.chances(self.lattice, self.shift, first);
            sum += chances[..left].iter().sum::<f64>();
        }
        sum
    }
}

/// The lower triangle L with L Lᵀ = C, for a covariance C that may be singular: a row that those
/// before it determine has no pivot. Where the time is over its last rows are zero, and whoever asked
/// has no use for it.
pub(crate) fn root(covariance: &DMatrix<f64>, deadline: &Deadline<'_>) -> DMatrix<f64> {
    let size = covariance.nrows();
    // Row by row, as they are gone through.
    let mut root = vec![0.0; size * size];
    for row in 0..size {
        let (above, from_row) = root.split_at_mut(row * size);
        let own = &mut from_row[..=row];
        if deadline.spend((row * row) as u64).is_err() {
            break;
        }
        let product = |a: &[f64], b: &[f64]| -> f64 { a.iter().zip(b).map(|(a, b)| a * b).sum() };
        for column in 0..row {
            let other = &above[column * size..][..=column];
            let left = covariance[(row, column)] - product(&own[..column], other);
            own[column] = if other[column] > 0.0 { left / other[column] } else { 0.0 };
        }
        let left = covariance[(row, row)] - product(&own[..row], own);
        own[row] = if left > NOTHING * covariance[(row, row)] { left.sqrt() } else { 0.0 };
    }
    DMatrix::from_row_slice(size, size, &root)
}

/// A smaller remainder of a variance, as a part of it, counts as zero.
pub(crate) const NOTHING: f64 = 1e-12;

#[cfg(test)]
mod tests {
    use super::*;

    /// A number of sigmas from the middle, other ones for other values.
    struct Away;

    impl Bounds for Away {
        fn clear(&mut self) {}

        fn of(&self, at: usize) -> [Lanes; 2] {
            [[-0.5 * at as f64; LANES], [0.3 + 0.2 * at as f64; LANES]]
        }

        fn put(&mut self, _: usize, _: &Lanes) {}
    }

    #[test]
    fn digits_are_the_same_with_and_without_the_vectors_of_the_machine() {
        let rows = vec![1.0, 0.0, 0.0, 0.4, 0.9, 0.0, -0.3, 0.5, 0.7];
        let per = vec![1.0, 0.9_f64.recip(), 0.7_f64.recip()];
        let deadline = Deadline::never();
        let mut draws = Draws {
            deadline: &deadline,
            means: &[0.1, -0.2, 0.3],
            rows,
            per,
            slack: 0.0,
            bounds: &mut Away,
            errors: vec![[0.0; LANES]; 3],
        };
        let lattice = Lattice::new(LATTICES[3], 3, 0);
        for shift in 0..SHIFTS {
            let plain = Sum { draws: &mut draws, lattice: &lattice, shift }.call();
            let sum = Sum { draws: &mut draws, lattice: &lattice, shift };
            assert_eq!(Arch::new().dispatch(sum).to_bits(), plain.to_bits());
        }
    }
}

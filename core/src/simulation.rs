//! The probability that correlated normal errors keep within bounds, by simulation.
//!
//! Genz's separation of variables (J. Comput. Graph. Stat. 1, 1992, 141-149; for singular
//! covariances Genz & Kwong, J. Stat. Comput. Simul. 68, 2000, 1-21; both from memory): one value
//! after the other is drawn from what its bounds leave of its normal distribution, given those
//! before it, and the probabilities of what they leave are multiplied. The draws are a Richtmyer
//! lattice, folded, with shifts that never change, so every run gives the same; the spread between
//! the shifts is the standard error.

use nalgebra::DMatrix;

use crate::normal::Interval;

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

/// Bounds of values that come one after the other.
pub(crate) trait Bounds {
    /// Forgets all values.
    fn clear(&mut self);
    /// The least and the most that the next value may be.
    fn next(&self) -> [f64; 2];
    /// Takes the next value.
    fn put(&mut self, value: f64);
}

const SHIFTS: usize = 12;
/// Points of each shift before the first look at the error.
const FIRST: usize = 32;
const MOST: usize = 8192;

/// A stream of points for a number of variables.
struct Lattice {
    steps: Vec<f64>,
    shifts: Vec<f64>,
}

impl Lattice {
    fn new(size: usize) -> Self {
        Self {
            steps: primes(size).into_iter().map(|prime| f64::from(prime).sqrt()).collect(),
            shifts: (0..SHIFTS * size).map(fraction).collect(),
        }
    }

    /// A variable of a point, from 0 to 1.
    fn at(&self, point: usize, shift: usize, variable: usize) -> f64 {
        let shift = self.shifts[shift * self.steps.len() + variable];
        let place = (point as f64 * self.steps[variable] + shift).fract();
        (2.0 * place - 1.0).abs()
    }
}

/// How often something of points with so many variables is so, simulated until it is known well
/// `enough`.
pub(crate) fn frequency(
    size: usize,
    enough: impl Fn(Chance) -> bool,
    mut of: impl FnMut(&dyn Fn(usize) -> f64) -> bool,
) -> Chance {
    // What has always been so in all of n points may not be so once in n.
    let least = |points: usize| 1.0 / points as f64;
    mean(size, least, enough, |part| f64::from(u8::from(of(part))))
}

/// The mean of a function of points with so many variables, simulated until it is known well
/// `enough`; its error is at the least what so many points leave.
fn mean(
    size: usize,
    least: impl Fn(usize) -> f64,
    enough: impl Fn(Chance) -> bool,
    mut of: impl FnMut(&dyn Fn(usize) -> f64) -> f64,
) -> Chance {
    let lattice = Lattice::new(size);
    let mut sums = [0.0; SHIFTS];
    let (mut done, mut goal) = (0, FIRST);
    loop {
        for (shift, sum) in sums.iter_mut().enumerate() {
            let points = done..goal;
            *sum += points.map(|point| of(&|at| lattice.at(point, shift, at))).sum::<f64>();
        }
        done = goal;
        let means = sums.map(|sum| sum / done as f64);
        let probability = means.iter().sum::<f64>() / SHIFTS as f64;
        let spread: f64 = means.iter().map(|mean| (mean - probability).powi(2)).sum();
        let error = (spread / (SHIFTS * (SHIFTS - 1)) as f64).sqrt();
        let chance = Chance { probability, error: error.max(least(SHIFTS * done)) };
        if done >= MOST || enough(chance) {
            return chance;
        }
        goal *= 2;
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
    let size = means.len();
    // Row by row, as it is gone through.
    let rows: Vec<f64> = (0..size).flat_map(|row| (0..=row).map(move |k| root[(row, k)])).collect();
    let mut errors = vec![0.0; size];
    mean(
        size,
        |_| 0.0,
        enough,
        |part| {
            bounds.clear();
            let mut chance = 1.0;
            let mut start = 0;
            for row in 0..size {
                let own = &rows[start..start + row];
                let pivot = rows[start + row];
                start += row + 1;
                let mean =
                    means[row] + own.iter().zip(&errors).map(|(by, error)| by * error).sum::<f64>();
                let [least, most] = bounds.next();
                if pivot > 0.0 {
                    let interval = Interval::new((least - mean) / pivot, (most - mean) / pivot);
                    chance *= interval.probability;
                    // What is not bound later need not be drawn, but few are; and nothing is left to
                    // draw where nothing is left of the probability.
                    if chance == 0.0 {
                        return 0.0;
                    }
                    errors[row] = interval.quantile(part(row));
                } else {
                    if mean < least - slack || mean > most + slack {
                        return 0.0;
                    }
                    errors[row] = 0.0;
                }
                bounds.put(mean + pivot * errors[row]);
            }
            chance
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

/// A number from 0 to 1 that looks like chance (Steele, Lea & Flood's SplitMix64, from memory).
fn fraction(seed: usize) -> f64 {
    let mut z = (seed as u64 + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}

/// So many primes.
fn primes(count: usize) -> Vec<u32> {
    let mut primes: Vec<u32> = Vec::new();
    let mut candidate = 2;
    while primes.len() < count {
        let mut below = primes.iter().take_while(|prime| *prime * *prime <= candidate);
        if below.all(|prime| candidate % prime != 0) {
            primes.push(candidate);
        }
        candidate += 1;
    }
    primes
}

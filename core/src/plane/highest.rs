//! Which support stands highest, as a decision under uncertainty.
//!
//! Errors are normal. Independent ones: the probability that support i tops all others is
//! ∫ φ(t) Π Φ((hᵢ + σᵢ t − hⱼ)/σⱼ) dt, by Gauss-Legendre quadrature between the places where a
//! factor turns. Correlated ones: an orthant of the differences, by simulation.

use nalgebra::DMatrix;

use super::least_squares::{Uncertainty, check_sigmas};
use crate::covariance;
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::normal;
use crate::simulation::{self, Bounds, Chance, LANES, Lanes, root};

/// A probability below this counts as 0.
const NEVER: f64 = 1e-14;
/// The standard error to which a probability is simulated.
const ERROR: f64 = 1e-6;

/// Which support stands highest.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Highest {
    /// The support or supports whose heights are the greatest, by index: more than one is a tie.
    pub highest: Vec<usize>,
    /// The probability of each support to be the highest, one a support; they add up to 1.
    pub probabilities: Vec<f64>,
    /// The numerical error of a probability, at most.
    pub error: f64,
    /// The fewest supports among which the highest one is with the confidence asked for, the most
    /// probable first.
    pub candidates: Vec<usize>,
    /// Whether that is one support: the highest is known.
    pub decided: bool,
}

/// Finds which of the heights, mm, is the highest, from their sigmas or their covariance. The
/// covariance may be singular, since only differences count. `confidence` is above 0 and below 1.
///
/// Supports with the same height and no uncertainty between them count as one, and share its
/// probability.
///
/// # Errors
/// No heights, or ones that are not finite; weights or nothing in place of sigmas; sizes that
/// differ; sigmas that are negative; a covariance that is none; a confidence out of range.
pub fn highest(
    heights_mm: &[f64],
    uncertainty: Uncertainty<'_>,
    confidence: f64,
) -> Result<Highest, Error> {
    let covariance = check_heights(heights_mm, uncertainty, confidence)?;
    let count = heights_mm.len();
    let variance =
        |i: usize, j: usize| covariance[(i, i)] + covariance[(j, j)] - 2.0 * covariance[(i, j)];
    // Supports at one height that cannot move against each other are one, and share what it has.
    let alike = |i: usize, j: usize| {
        heights_mm[i] == heights_mm[j] && covariance::sigma_of_difference(&covariance, i, j) == 0.0
    };
    let firsts: Vec<usize> =
        (0..count).map(|i| (0..i).find(|&j| alike(i, j)).unwrap_or(i)).collect();
    let different: Vec<usize> = (0..count).filter(|&i| firsts[i] == i).collect();
    // No more probable than to be above the one that is hardest to top.
    let hopeless = |i: usize| {
        different.iter().any(|&j| {
            let apart = heights_mm[i] - heights_mm[j];
            j != i && below(apart, variance(i, j).max(0.0).sqrt()) < NEVER
        })
    };
    let independent = (0..count).all(|i| (0..i).all(|j| covariance[(i, j)] == 0.0));
    let mut error: f64 = 0.0;
    let mut probabilities = vec![0.0; count];
    for &i in different.iter().filter(|&&i| !hopeless(i)) {
        let others: Vec<usize> = different.iter().copied().filter(|&j| j != i).collect();
        let probability = if independent {
            quadrature(heights_mm, &covariance, i, &others)
        } else {
            let chance = orthant(heights_mm, &covariance, i, others);
            error = error.max(4.0 * chance.error + 1e-8);
            chance.probability
        };
        let sharing: Vec<usize> = (i..count).filter(|&j| firsts[j] == i).collect();
        let share = probability / sharing.len() as f64;
        sharing.into_iter().for_each(|j| probabilities[j] = share);
    }
    let total: f64 = probabilities.iter().sum();
    if total > 0.0 {
        probabilities.iter_mut().for_each(|probability| *probability /= total);
    }
    let top = heights_mm.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by(|&a, &b| probabilities[b].total_cmp(&probabilities[a]).then(a.cmp(&b)));
    let mut held = 0.0;
    let candidates: Vec<usize> = order
        .into_iter()
        .take_while(|&at| {
            let wanted = held < confidence;
            held += probabilities[at];
            wanted
        })
        .collect();
    Ok(Highest {
        highest: (0..count).filter(|&at| heights_mm[at] == top).collect(),
        decided: candidates.len() == 1,
        candidates,
        probabilities,
        error: if independent { 1e-9 } else { error },
    })
}

fn check_heights(
    heights: &[f64],
    uncertainty: Uncertainty<'_>,
    confidence: f64,
) -> Result<DMatrix<f64>, Error> {
    let mut found = Problems::default();
    let count = heights.len();
    if heights.is_empty() {
        found.add(ProblemKind::Shape, "heights", "none", "at least one height");
    }
    for (at, height) in heights.iter().enumerate() {
        if !height.is_finite() {
            let field = format!("heights[{at}]");
            found.add(ProblemKind::Value, field, height, "a finite number of mm");
        }
    }
    if !(confidence > 0.0 && confidence < 1.0) {
        let expected = "a probability above 0 and below 1";
        found.add(ProblemKind::Value, "confidence", confidence, expected);
    }
    let covariance = match uncertainty {
        Uncertainty::Sigmas(sigmas) => check_sigmas(sigmas, count, 0.0).map(|()| {
            let variances = sigmas.iter().map(|sigma| sigma * sigma);
            DMatrix::from_diagonal(&nalgebra::DVector::from_iterator(count, variances))
        }),
        Uncertainty::Covariance(values) => covariance::semidefinite(values, count),
        Uncertainty::Alike | Uncertainty::Weights(_) => {
            let got = "no uncertainty in mm";
            Err(Error::new(ProblemKind::Value, "sigmas", got, "sigmas or a covariance"))
        }
    };
    let covariance = found.take(covariance);
    found.into_result()?;
    Ok(covariance.unwrap_or_default())
}

/// The probability that a normal error of a sigma is at most `limit`.
fn below(limit: f64, sigma: f64) -> f64 {
    if sigma > 0.0 {
        normal::below(limit / sigma)
    } else if limit >= 0.0 {
        1.0
    } else {
        0.0
    }
}

fn quadrature(heights: &[f64], covariance: &DMatrix<f64>, i: usize, others: &[usize]) -> f64 {
    /// Abscissae and weights on [−1, 1] of ten points (Abramowitz & Stegun, table 25.4, from
    /// memory; checked by the integrals of powers).
    const GAUSS: [(f64, f64); 5] = [
        (0.148_874_338_981_631_2, 0.295_524_224_714_752_9),
        (0.433_395_394_129_247_2, 0.269_266_719_309_996_35),
        (0.679_409_568_299_024_4, 0.219_086_362_515_982_04),
        (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
        (0.973_906_528_517_171_7, 0.066_671_344_308_688_14),
    ];
    const REACH: f64 = 9.0;
    let sigma = |j: usize| covariance[(j, j)].sqrt();
    let tops = |height: f64| -> f64 {
        others.iter().map(|&j| below(height - heights[j], sigma(j))).product()
    };
    if sigma(i) == 0.0 {
        return tops(heights[i]);
    }
    let mut turns: Vec<f64> = (-9..=9).map(f64::from).collect();
    for &j in others {
        let place = |k: f64| (heights[j] - heights[i] + k * sigma(j)) / sigma(i);
        turns.extend([-9.0, -4.0, -2.0, -1.0, 0.0, 1.0, 2.0, 4.0, 9.0].map(place));
    }
    turns.retain(|turn| turn.abs() <= REACH);
    turns.sort_by(f64::total_cmp);
    turns
        .windows(2)
        .map(|ends| {
            let (middle, half) = (0.5 * (ends[0] + ends[1]), 0.5 * (ends[1] - ends[0]));
            let value = |t: f64| {
                let density = (-0.5 * t * t).exp() / std::f64::consts::TAU.sqrt();
                density * tops(heights[i] + sigma(i) * t)
            };
            let pairs = GAUSS.iter().map(|(at, weight)| {
                weight * (value(middle - half * at) + value(middle + half * at))
            });
            half * pairs.sum::<f64>()
        })
        .sum()
}

/// The probability that support i tops all others.
fn orthant(heights: &[f64], covariance: &DMatrix<f64>, i: usize, mut others: Vec<usize>) -> Chance {
    let between = |j: usize, k: usize| {
        covariance[(i, i)] - covariance[(i, j)] - covariance[(i, k)] + covariance[(j, k)]
    };
    let apart = |j: usize| heights[i] - heights[j];
    // The hardest to top first, which leaves the least to the later variables; those that it tops
    // in any case not at all.
    let ease = |j: usize| {
        let sigma = between(j, j).max(0.0).sqrt();
        if sigma > 0.0 { apart(j) / sigma } else { f64::INFINITY.copysign(apart(j)) }
    };
    others.retain(|&j| 1.0 - below(apart(j), between(j, j).max(0.0).sqrt()) > NEVER);
    others.sort_by(|&a, &b| ease(a).total_cmp(&ease(b)).then(a.cmp(&b)));
    if let [other] = others[..] {
        return Chance::exact(below(apart(other), between(other, other).max(0.0).sqrt()));
    }
    let scale = others.iter().map(|&j| between(j, j)).fold(0.0, f64::max).sqrt();
    let differences =
        DMatrix::from_fn(others.len(), others.len(), |a, b| between(others[a], others[b]));
    let means: Vec<f64> = others.iter().map(|&j| -apart(j)).collect();
    // What is determined may be off by rounding where it lies just on the edge.
    let slack = 1e-6 * scale;
    let enough = |chance: Chance| chance.error <= ERROR;
    simulation::chance(
        &means,
        &root(&differences, &Deadline::never()),
        slack,
        &mut NotAbove,
        &Deadline::never(),
        enough,
    )
}

/// No difference is above zero.
struct NotAbove;

impl Bounds for NotAbove {
    #[inline(always)]
    fn clear(&mut self) {}

    #[inline(always)]
    fn of(&self, _: usize) -> [Lanes; 2] {
        [[f64::NEG_INFINITY; LANES], [0.0; LANES]]
    }

    #[inline(always)]
    fn put(&mut self, _: usize, _: &Lanes) {}
}

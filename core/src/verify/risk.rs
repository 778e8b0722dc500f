//! Global risks (JCGM 106:2012, 9.5): how often a rule of acceptance goes wrong over many beds, by
//! what is known of them before any is measured.
//!
//! With a prior density g₀ of what is measured, η, and normal errors of measurement u: a bed that
//! does not conform is accepted with ∫ g₀(η) P(accepted | η) dη over what lies outside the tolerance
//! (the consumer's risk), and one that does is rejected with ∫ g₀(η) P(rejected | η) dη over what lies
//! inside (the producer's).

use statrs::distribution::{Continuous, ContinuousCDF, Gamma, Normal};

use crate::error::{Error, ProblemKind, Problems};
use crate::normal;

/// What is known of a quantity before it is measured.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Prior {
    /// A normal distribution.
    Normal {
        /// Its mean.
        mean: f64,
        /// Its standard deviation, from 1e-9 to 1e9.
        sigma: f64,
    },
    /// A gamma distribution, of what cannot be below zero, as flatness: mean shape · scale, variance
    /// shape · scale².
    Gamma {
        /// From 1e-3 to 1e4.
        shape: f64,
        /// From 1e-9 to 1e9.
        scale: f64,
    },
}

/// How often a rule of acceptance goes wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct GlobalRisks {
    /// The probability that a bed is accepted and does not conform.
    pub consumer: f64,
    /// The probability that a bed is rejected and does conform.
    pub producer: f64,
    /// The probability that a bed does not conform.
    pub nonconforming: f64,
}

/// The risks of accepting what is measured to be at most `acceptance` where at most `tolerance` is
/// allowed, with a standard uncertainty of measurement; all in one unit.
///
/// # Errors
/// Uncertainties and scales that are not from 1e-9 to 1e9, shapes not from 1e-3 to 1e4, a mean or a
/// tolerance not from -1e9 to 1e9, an acceptance that is not finite.
pub fn global_risks(
    prior: Prior,
    sigma: f64,
    tolerance: f64,
    acceptance: f64,
) -> Result<GlobalRisks, Error> {
    let known = Known::new(prior, sigma, tolerance)?;
    if !acceptance.is_finite() {
        let expected = "a finite number";
        return Err(Error::new(ProblemKind::Value, "acceptance", acceptance, expected));
    }
    Ok(known.risks(acceptance))
}

/// The guard band that brings the consumer's risk down to `risk`: what is measured is accepted up to
/// the tolerance less this. It is below zero where the risk is smaller than asked for without any.
///
/// # Errors
/// Those of [`global_risks`]; a risk that is not above 0 and below ½, or no smaller than the
/// probability that a bed does not conform, so that all may be accepted.
pub fn guard_band(prior: Prior, sigma: f64, tolerance: f64, risk: f64) -> Result<f64, Error> {
    let known = Known::new(prior, sigma, tolerance)?;
    normal::check_risk(risk, "risk")?;
    let all = known.risks(f64::INFINITY).nonconforming;
    if risk >= all {
        let expected = format!("less than {all}, the part of beds that do not conform");
        return Err(Error::new(ProblemKind::Value, "risk", risk, expected));
    }
    // The risk grows with what is accepted; out to many standard uncertainties it is all or nothing.
    let reach = 40.0 * sigma + (known.ends[1] - known.ends[0]);
    let (mut low, mut high) = (tolerance - reach, tolerance + reach);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if known.risks(middle).consumer > risk { high = middle } else { low = middle }
    }
    Ok(tolerance - low)
}

enum Density {
    Normal(Normal),
    Gamma(Gamma),
}

struct Known {
    density: Density,
    sigma: f64,
    tolerance: f64,
    /// Next to nothing lies beyond these.
    ends: [f64; 2],
}

impl Known {
    fn new(prior: Prior, sigma: f64, tolerance: f64) -> Result<Self, Error> {
        let mut found = Problems::default();
        // Far beyond these the incomplete gamma function of the library does not come to an end.
        const SIZES: [f64; 2] = [1e-9, 1e9];
        const SHAPES: [f64; 2] = [1e-3, 1e4];
        const ANY: [f64; 2] = [-1e9, 1e9];
        let mut within = |field: &str, value: f64, [least, most]: [f64; 2]| {
            if !(least..=most).contains(&value) {
                let expected = format!("a number from {least:e} to {most:e}");
                found.add(ProblemKind::Value, field, value, expected);
            }
        };
        within("sigma", sigma, SIZES);
        match prior {
            Prior::Normal { mean, sigma } => {
                within("prior.mean", mean, ANY);
                within("prior.sigma", sigma, SIZES);
            }
            Prior::Gamma { shape, scale } => {
                within("prior.shape", shape, SHAPES);
                within("prior.scale", scale, SIZES);
            }
        }
        within("tolerance", tolerance, ANY);
        found.into_result()?;
        let density = match prior {
            Prior::Normal { mean, sigma } => Normal::new(mean, sigma).map(Density::Normal).ok(),
            Prior::Gamma { shape, scale } => {
                Gamma::new(shape, scale.recip()).map(Density::Gamma).ok()
            }
        };
        let Some(density) = density else {
            let expected = "parameters that make a distribution";
            return Err(Error::new(ProblemKind::Value, "prior", format!("{prior:?}"), expected));
        };
        let ends = match &density {
            Density::Normal(normal) => [1e-15, 1.0 - 1e-15].map(|p| normal.inverse_cdf(p)),
            Density::Gamma(gamma) => [0.0, gamma.inverse_cdf(1.0 - 1e-13)],
        };
        Ok(Self { density, sigma, tolerance, ends })
    }

    fn density(&self, at: f64) -> f64 {
        match &self.density {
            Density::Normal(normal) => normal.pdf(at),
            Density::Gamma(gamma) => gamma.pdf(at),
        }
    }

    /// The integral of a function, smooth over σ, by the density from one number to another.
    fn integral(&self, low: f64, high: f64, of: &dyn Fn(f64) -> f64) -> f64 {
        let weighed = |at: f64| self.density(at) * of(at);
        match &self.density {
            // The density is infinite at 0, where much of what there is may lie: next to 0 the function
            // does not change, and from there on the logarithm is the variable.
            Density::Gamma(gamma) if gamma.shape() < 1.0 && high > low => {
                let near = (1e-6 * self.sigma).clamp(low, high);
                let next_to_0 = of(low) * (gamma.cdf(near) - gamma.cdf(low));
                let of_log = |log: f64| weighed(log.exp()) * log.exp();
                next_to_0 + integral(near.ln(), high.ln(), of_log)
            }
            _ => integral(low, high, weighed),
        }
    }

    fn risks(&self, acceptance: f64) -> GlobalRisks {
        let accepted = |at: f64| normal::below((acceptance - at) / self.sigma);
        let rejected = |at: f64| normal::below((at - acceptance) / self.sigma);
        let [low, high] = self.ends;
        let middle = self.tolerance.clamp(low, high);
        let beyond = match &self.density {
            Density::Normal(normal) => normal.sf(self.tolerance),
            Density::Gamma(gamma) => gamma.sf(self.tolerance),
        };
        // Where acceptance turns into rejection is a part of its own, however short.
        let turns = [acceptance - 9.0 * self.sigma, acceptance + 9.0 * self.sigma];
        let over = |low: f64, high: f64, of: &dyn Fn(f64) -> f64| -> f64 {
            let [from, to] = turns.map(|turn| turn.clamp(low, high));
            [[low, from], [from, to], [to, high]]
                .map(|[low, high]| self.integral(low, high, of))
                .iter()
                .sum()
        };
        GlobalRisks {
            consumer: over(middle, high, &accepted),
            producer: over(low, middle, &rejected),
            nonconforming: beyond,
        }
    }
}

/// Simpson's rule on intervals that are short where the acceptance turns, near both ends.
fn integral(low: f64, high: f64, of: impl Fn(f64) -> f64) -> f64 {
    const PARTS: usize = 2000;
    if high <= low {
        return 0.0;
    }
    // x = low + (high − low)(1 − cos πt)/2, which is also even at the ends of a gamma distribution.
    let at = |part: usize| {
        let angle = std::f64::consts::PI * part as f64 / PARTS as f64;
        let (sin, cos) = angle.sin_cos();
        let value = of(low + (high - low) * (1.0 - cos) / 2.0);
        // The density of a gamma distribution may be infinite at its end, where nothing lies.
        if sin > 0.0 && value.is_finite() { value * sin } else { 0.0 }
    };
    let weigh =
        |part: usize| if part == 0 || part == PARTS { 1.0 } else { 2.0 + 2.0 * (part % 2) as f64 };
    let sum: f64 = (0..=PARTS).map(|part| weigh(part) * at(part)).sum();
    sum * (high - low) * std::f64::consts::PI / 2.0 / (3 * PARTS) as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// The ball bearing of JCGM 106:2012, 9.5.4: a gamma prior of shape 4 and scale ¼ µm, at most
    /// 2 µm, u = 0.25 µm; recomputed with SciPy.
    #[test]
    fn ball_bearing() {
        let prior = Prior::Gamma { shape: 4.0, scale: 0.25 };
        let plain = global_risks(prior, 0.25, 2.0, 2.0).unwrap();
        assert_abs_diff_eq!(plain.nonconforming, 0.042_380_1, epsilon = 5e-8);
        assert_abs_diff_eq!(plain.consumer, 0.008_019_1, epsilon = 5e-8);
        assert_abs_diff_eq!(plain.producer, 0.017_445, epsilon = 5e-7);
        let guard = guard_band(prior, 0.25, 2.0, 0.001).unwrap();
        assert_abs_diff_eq!(guard, 0.328_171, epsilon = 5e-7);
        let guarded = global_risks(prior, 0.25, 2.0, 2.0 - guard).unwrap();
        assert_abs_diff_eq!(guarded.consumer, 0.001, epsilon = 1e-9);
        assert_abs_diff_eq!(guarded.producer, 0.075_49, epsilon = 5e-6);
    }

    /// In a prior that is symmetric about the tolerance both risks are alike: ¼ − atan(s/u)/(2π) of
    /// each, by the orthant of two correlated normal numbers (Sheppard 1899).
    #[test]
    fn normal_prior() {
        for (s, u) in [(1.0, 0.1), (1.0, 1.0), (0.3, 2.0), (1.0, 1e-4), (1.0, 1e-9)] {
            let prior = Prior::Normal { mean: 5.0, sigma: s };
            let risks = global_risks(prior, u, 5.0, 5.0).unwrap();
            let exact = 0.25 - (s / u).atan() / std::f64::consts::TAU;
            assert_abs_diff_eq!(risks.consumer, exact, epsilon = 1e-7 * exact.max(1e-4));
            assert_abs_diff_eq!(risks.producer, exact, epsilon = 1e-7 * exact.max(1e-4));
        }
    }

    /// Densities that are infinite at 0; computed with SciPy by quadrature over the logarithm.
    #[test]
    fn what_is_mostly_next_to_nothing() {
        for (shape, scale, sigma, tolerance, acceptance, consumer, producer) in [
            (0.3, 1.0, 0.25, 1.0, 0.8, 0.003_075_148_732, 0.045_009_864_520),
            (0.1, 2.0, 0.3, 1.0, 1.0, 0.005_685_990_597, 0.010_506_106_595),
            (0.05, 20.0, 0.5, 1.0, 0.9, 0.005_141_425_170, 0.046_288_286_918),
            (0.45, 1.0, 0.1, 0.5, 0.45, 0.008_052_629_415, 0.037_750_821_280),
        ] {
            let prior = Prior::Gamma { shape, scale };
            let risks = global_risks(prior, sigma, tolerance, acceptance).unwrap();
            assert_abs_diff_eq!(risks.consumer, consumer, epsilon = 1e-8);
            assert_abs_diff_eq!(risks.producer, producer, epsilon = 1e-8);
            // Nothing is accepted: what conforms is rejected.
            let none = global_risks(prior, sigma, tolerance, -1e6).unwrap();
            assert_abs_diff_eq!(none.producer, 1.0 - none.nonconforming, epsilon = 1e-8);
        }
    }

    #[test]
    fn extremes_come_to_an_end() {
        for shape in [1e-3, 1.0, 1e4] {
            for scale in [1e-9, 1.0, 1e9] {
                let prior = Prior::Gamma { shape, scale };
                let risks = global_risks(prior, 1e-9, scale, scale).unwrap();
                assert!((0.0..=1.0).contains(&risks.nonconforming), "{prior:?}: {risks:?}");
            }
        }
        for (shape, scale) in [(1e308, 1.0), (1e-320, 1.0), (4.0, 1e-320), (4.0, 1e308)] {
            assert!(global_risks(Prior::Gamma { shape, scale }, 1.0, 1.0, 1.0).is_err());
        }
    }

    #[test]
    fn bad_input_is_told() {
        let prior = Prior::Gamma { shape: 4.0, scale: 0.25 };
        for sigma in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(global_risks(prior, sigma, 2.0, 2.0).is_err());
        }
        let bad = Prior::Gamma { shape: 0.0, scale: f64::NAN };
        let told = global_risks(bad, 0.1, f64::NAN, 2.0).unwrap_err();
        assert_eq!(told.problems().len(), 3, "{told}");
        for risk in [0.0, 0.05, 0.5, f64::NAN] {
            assert!(guard_band(prior, 0.25, 2.0, risk).is_err());
        }
    }
}

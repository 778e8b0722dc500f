//! The normal distribution.

pub(crate) mod lanes;

use std::f64::consts::{FRAC_1_SQRT_2, SQRT_2, TAU};

use statrs::function::erf::erfc_inv;

use crate::error::{Error, ProblemKind};

/// Φ: the probability that a standard normal error is at most `t`.
pub(crate) fn below(t: f64) -> f64 {
    0.5 * libm::erfc(-t * FRAC_1_SQRT_2)
}

/// φ.
pub(crate) fn density(t: f64) -> f64 {
    (-0.5 * t * t).exp() / TAU.sqrt()
}

/// Φ⁻¹; not a number unless 0 < `p` < 1.
pub(crate) fn quantile(p: f64) -> f64 {
    if p > 0.0 && p < 1.0 { -SQRT_2 * erfc_inv(2.0 * p) } else { f64::NAN }
}

/// Checks that a number is a risk.
///
/// # Errors
/// One that is not above 0 and below ½.
pub(crate) fn check_risk(risk: f64, field: &str) -> Result<(), Error> {
    if risk > 0.0 && risk < 0.5 {
        return Ok(());
    }
    let expected = "a probability above 0 and below 0.5";
    Err(Error::new(ProblemKind::Value, field, risk, expected))
}

/// An interval of standard normal errors, looked at from the tail in which it lies, where what is
/// left of a probability keeps its digits.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Interval {
    /// Φ of the end that is further out, mirrored if that is the upper one.
    outer: f64,
    /// The probability of an error within.
    pub(crate) probability: f64,
    mirrored: bool,
}

impl Interval {
    /// From `least` to `most`, which may be infinite; of no probability where `most` is below
    /// `least`.
    pub(crate) fn new(least: f64, most: f64) -> Self {
        let mirrored = least > 0.0;
        let (least, most) = if mirrored { (-most, -least) } else { (least, most) };
        let outer = below(least);
        Self { outer, probability: (below(most) - outer).max(0.0), mirrored }
    }

    /// The error within that has a `part` of the probability of the interval on its outer side.
    pub(crate) fn quantile(&self, part: f64) -> f64 {
        // Kept finite where rounding brings it to the very end.
        let p = (self.outer + part * self.probability).clamp(1e-300, 1.0 - 1e-16);
        let t = -SQRT_2 * erfc_inv(2.0 * p);
        if self.mirrored { -t } else { t }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    /// The conformance table of JCGM 106:2012, 7: p = Φ((T − y)/u).
    #[test]
    fn conformance_table() {
        for (t, p) in [(0.0, 0.5), (1.6449, 0.95), (1.96, 0.975), (2.0, 0.97725), (3.0, 0.99865)] {
            assert_abs_diff_eq!(below(t), p, epsilon = 5e-6);
            assert_abs_diff_eq!(quantile(below(t)), t, epsilon = 1e-12);
        }
        assert!(quantile(0.0).is_nan() && quantile(1.0).is_nan() && quantile(f64::NAN).is_nan());
    }

    /// Mills' ratio far out: 1 − Φ(t) ≈ φ(t)/t (1 − 1/t² + 3/t⁴ − 15/t⁶).
    #[test]
    fn tails_keep_their_digits() {
        let (t, far) = (20.0_f64, f64::INFINITY);
        let series = 1.0 - t.powi(-2) + 3.0 * t.powi(-4) - 15.0 * t.powi(-6);
        assert_relative_eq!(below(-t), density(t) / t * series, max_relative = 1e-8);
        for (interval, sign) in [(Interval::new(t, far), 1.0), (Interval::new(-far, -t), -1.0)] {
            assert_relative_eq!(interval.probability, below(-t), max_relative = 1e-12);
            let middle = interval.quantile(0.5) * sign;
            assert!(middle > t && middle < t + 0.1, "{middle}");
        }
        assert_abs_diff_eq!(Interval::new(-1.0, 2.0).quantile(0.0), -1.0, epsilon = 1e-12);
        assert_abs_diff_eq!(Interval::new(-1.0, 2.0).quantile(1.0), 2.0, epsilon = 1e-12);
        assert_abs_diff_eq!(Interval::new(2.0, 1.0).probability, 0.0);
    }
}

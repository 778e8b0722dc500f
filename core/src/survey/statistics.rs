//! Quantiles, and the critical values of the tests for blunders.

use statrs::distribution::{ChiSquared, ContinuousCDF, Normal, StudentsT};

/// The |w| that a good reading exceeds with probability `alpha` (Baarda 1968): the two-sided
/// quantile of the normal distribution. Not a number unless 0 < `alpha` < 1.
pub fn w_critical(alpha: f64) -> f64 {
    normal_quantile(1.0 - alpha / 2.0)
}

/// The |τ| that a good reading exceeds with probability `alpha` where the survey has `dof` degrees
/// of freedom: √r · t / √(r − 1 + t²), t the two-sided quantile of Student's distribution with
/// r − 1 (Pope 1976, NOAA TR NOS 65 NGS 1). Not a number for fewer than two, where every |τ| is 1.
pub fn tau_critical(alpha: f64, dof: usize) -> f64 {
    let dof = dof as f64;
    let t = t_quantile(1.0 - alpha / 2.0, dof - 1.0);
    // As t grows this goes to √r.
    if t > 1e100 { dof.sqrt() } else { dof.sqrt() * t / (dof - 1.0 + t * t).sqrt() }
}

/// The size of a blunder that a test with `alpha` finds with probability `power`, in standard
/// uncertainties of a reading that only the others check: δ₀ (Baarda 1968). A reading of redundancy
/// r shows a blunder of δ₀ σ / √r that surely.
pub fn smallest_detectable(alpha: f64, power: f64) -> f64 {
    w_critical(alpha) + normal_quantile(power)
}

/// Quantile of Student's t with `dof` degrees of freedom; not a number where there is none.
fn t_quantile(probability: f64, dof: f64) -> f64 {
    match StudentsT::new(0.0, 1.0, dof) {
        Ok(t) if probability > 0.0 && probability < 1.0 => t.inverse_cdf(probability),
        _ => f64::NAN,
    }
}

fn normal_quantile(probability: f64) -> f64 {
    let inside = probability > 0.0 && probability < 1.0;
    if inside { Normal::standard().inverse_cdf(probability) } else { f64::NAN }
}

/// Probability that chi-square with `dof` degrees of freedom is at least `sum`; not a number for
/// none.
pub(crate) fn chi_square_exceeds(sum: f64, dof: usize) -> f64 {
    match ChiSquared::new(dof as f64) {
        Ok(chi_square) if sum.is_finite() => chi_square.sf(sum),
        _ => f64::NAN,
    }
}

/// Quantile of chi-square with `dof` degrees of freedom; not a number for none.
pub(crate) fn chi_square_quantile(probability: f64, dof: usize) -> f64 {
    ChiSquared::new(dof as f64).map_or(f64::NAN, |chi_square| chi_square.inverse_cdf(probability))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// J. Applied Math. 2021, article 1478843, table 1 (columns as α/n with n − 2 degrees), and
    /// values computed with SciPy from Pope's formula.
    #[test]
    fn tau() {
        for (alpha, dof, expected) in [
            (0.01, 3, 1.7147),
            (0.01, 8, 2.2562),
            (0.001, 8, 2.5407),
            (0.05, 2, 1.4099),
            (0.05, 5, 1.8143),
            (0.01, 10, 2.3236),
            (0.05, 20, 1.9358),
            (0.01, 30, 2.4956),
            (0.001, 30, 3.0785),
        ] {
            assert_abs_diff_eq!(tau_critical(alpha, dof), expected, epsilon = 5e-5);
        }
        assert!(tau_critical(0.01, 1).is_nan() && tau_critical(0.01, 0).is_nan());
        assert_abs_diff_eq!(tau_critical(0.001, 1_000_000), w_critical(0.001), epsilon = 1e-4);
    }

    /// Baarda 1968: δ₀ = 4.13 for α = 0.001 and power 0.8 (from memory, recomputed); the others
    /// computed with SciPy's noncentral chi-square, where the far tail counts too.
    #[test]
    fn baarda() {
        assert_abs_diff_eq!(w_critical(0.05), 1.9600, epsilon = 5e-5);
        assert_abs_diff_eq!(w_critical(0.01), 2.5758, epsilon = 5e-5);
        assert_abs_diff_eq!(w_critical(0.001), 3.2905, epsilon = 5e-5);
        for (alpha, power, square) in [
            (0.001, 0.8, 17.0746),
            (0.05, 0.8, 7.8489),
            (0.01, 0.8, 11.6790),
            (0.001, 0.9, 20.9039),
        ] {
            let delta = smallest_detectable(alpha, power);
            assert_abs_diff_eq!(delta * delta, square, epsilon = 1e-3);
        }
    }

    /// Exact by hand: with two degrees of freedom chi-square exceeds x with probability e^(−x/2).
    #[test]
    fn chi_square() {
        for x in [0.1, 1.0, 7.0, 60.0] {
            let exact = (-x / 2.0_f64).exp();
            assert_abs_diff_eq!(chi_square_exceeds(x, 2), exact, epsilon = 1e-12 * exact);
        }
        assert!(chi_square_exceeds(1.0, 0).is_nan());
    }
}

//! How sure a share is that was counted.

use statrs::distribution::{Beta, ContinuousCDF};

/// The exact two-sided interval of a share, of which `count` of `of` were counted, at a
/// confidence between 0 and 1: Clopper & Pearson, Biometrika 26 (1934) 404 (from memory). It holds the
/// true share in at least that part of all samples.
pub fn share_interval(count: usize, of: usize, confidence: f64) -> [f64; 2] {
    let half = 0.5 * (1.0 - confidence);
    [least_share(count, of, 1.0 - half), 1.0 - least_share(of - count.min(of), of, 1.0 - half)]
}

/// The exact lower bound of a share: one-sided, by the same source.
pub(super) fn least_share(count: usize, of: usize, confidence: f64) -> f64 {
    match Beta::new(count as f64, (of - count.min(of)) as f64 + 1.0) {
        Ok(beta) if count > 0 => beta.inverse_cdf(1.0 - confidence),
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    /// Closed forms: with no failure the bound b solves bⁿ = 1 − confidence.
    #[test]
    fn without_failures_the_bound_is_a_root() {
        for n in [1, 10, 59, 1000] {
            assert_relative_eq!(
                least_share(n, n, 0.95),
                0.05_f64.powf(1.0 / n as f64),
                max_relative = 1e-9
            );
        }
        assert_eq!(share_interval(0, 0, 0.95), [0.0, 1.0]);
        assert_eq!(share_interval(0, 20, 0.95)[0], 0.0);
        assert_eq!(share_interval(20, 20, 0.95)[1], 1.0);
    }

    /// 59 and 93 fresh jobs prove a share of 95 % at 95 % with no and with one failure.
    #[test]
    fn fresh_jobs_that_prove_a_share() {
        for (jobs, failures) in [(59, 0), (93, 1)] {
            assert!(least_share(jobs - failures, jobs, 0.95) >= 0.95);
            assert!(least_share(jobs - 1 - failures, jobs - 1, 0.95) < 0.95);
        }
    }

    /// The promise: the binomial probability of samples whose interval misses the true share.
    #[test]
    fn intervals_hold_the_share_as_often_as_they_say() {
        for n in [1_usize, 7, 40] {
            let intervals: Vec<_> = (0..=n).map(|count| share_interval(count, n, 0.95)).collect();
            for step in 1..50 {
                let share = f64::from(step) / 50.0;
                let (mut probability, mut held) = ((1.0 - share).powi(n as i32), 0.0);
                for (count, [least, most]) in intervals.iter().enumerate() {
                    if (*least..=*most).contains(&share) {
                        held += probability;
                    }
                    let left = (n - count) as f64;
                    probability *= left / (count + 1) as f64 * share / (1.0 - share);
                }
                assert!(held >= 0.95, "{n} {share}: {held}");
            }
        }
        let [least, most] = share_interval(8, 10, 0.95);
        // From memory: 0.4439 and 0.9748.
        assert_abs_diff_eq!(least, 0.4439, epsilon = 1e-4);
        assert_abs_diff_eq!(most, 0.9748, epsilon = 1e-4);
    }
}

//! A finished job beside its estimate, and a floor model that learns from it.

use statrs::distribution::{ChiSquared, ContinuousCDF};

use super::floor_model::FloorModel;
use super::measured::MeasuredFloor;
use crate::error::{Error, ProblemKind, Problems};

/// A floor model after a floor was read.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct UpdatedFloor {
    /// The model with all its variances multiplied by `factor`.
    pub model: FloorModel,
    /// By how much the variances are multiplied.
    pub factor: f64,
    /// Where the factor lies with a probability of 95 %.
    pub interval: [f64; 2],
    /// How many differences of height were read.
    pub differences: usize,
    /// How many differences the updated model is worth: the `worth` of the next update.
    pub worth: f64,
    /// The part of all floors of the model before that are evener than the one read: near 0, it was much
    /// evener than expected; near 1, much less even.
    pub percentile: f64,
}

impl FloorModel {
    /// The most differences that a model is worth. Chi-square with far more degrees of freedom than this
    /// does not come to an end.
    pub const MOST_WORTH: f64 = 1e9;

    /// The model updated by what was read on one floor of its kind. `worth` says how many differences
    /// of height the model was worth before: the larger, the less a new floor changes it.
    ///
    /// The shape of the model stays; what is not known is one factor of all its variances. Its
    /// distribution is scaled inverse chi-square with `worth` degrees of freedom and scale 1, which is
    /// conjugate to normal differences: with q = d' C⁻¹ d over n differences d from the first
    /// place, factor = (worth + q)/(worth + n) (Gelman et al., Bayesian Data Analysis, 3rd edition,
    /// section 2.6, from memory). C holds the uncertainty of the readings, which is scaled with it: take
    /// readings that are much better than the floor is even.
    ///
    /// # Errors
    /// What [`FloorModel::given`] refuses of readings; fewer than two places; a worth that is not above 0, or above
    /// [`MOST_WORTH`](Self::MOST_WORTH).
    pub fn updated(&self, read: &MeasuredFloor, worth: f64) -> Result<UpdatedFloor, Error> {
        let mut found = Problems::default();
        if !(worth > 0.0 && worth <= Self::MOST_WORTH) {
            let expected = "a number of differences above 0, at most 1e9";
            found.add(ProblemKind::Value, "worth", worth, expected);
        }
        if read.xy.len() == 1 {
            found.add(ProblemKind::Shape, "xy", "one place", "two or more");
        }
        let surprise = found.take(self.surprise(read));
        found.into_result()?;
        let surprise = surprise.unwrap_or_default();
        let differences = read.xy.len() - 1;
        let after = worth + differences as f64;
        let factor = (worth + surprise) / after;
        let chi_squared = |degrees: f64| {
            ChiSquared::new(degrees)
                .map_err(|_| Error::new(ProblemKind::Value, "worth", worth, "a number above 0"))
        };
        let posterior = chi_squared(after)?;
        let bound = |p: f64| after * factor / posterior.inverse_cdf(p);
        Ok(UpdatedFloor {
            model: self.scaled(factor),
            factor,
            interval: [bound(0.975), bound(0.025)],
            differences,
            worth: after,
            percentile: chi_squared(differences as f64)?.cdf(surprise),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn places() -> Vec<[f64; 2]> {
        (0..6).map(|at| [f64::from(at % 3) * 900.0, f64::from(at / 3) * 700.0]).collect()
    }

    fn read(heights_mm: Vec<f64>) -> MeasuredFloor {
        MeasuredFloor { xy: places(), heights_mm, sigma_mm: 0.0 }
    }

    /// Independent heights: q is the sum of squares about the mean over the variance.
    #[test]
    fn the_update_is_the_conjugate_one() {
        let model = FloorModel::from_sigma(2.0).unwrap();
        let heights = vec![1.0, -2.0, 0.5, 3.0, 0.0, -1.0];
        let mean = heights.iter().sum::<f64>() / 6.0;
        let squares: f64 = heights.iter().map(|height| (height - mean).powi(2)).sum();
        let found = model.updated(&read(heights), 10.0).unwrap();
        assert_relative_eq!(found.factor, (10.0 + squares / 4.0) / 15.0, max_relative = 1e-12);
        assert_eq!((found.differences, found.worth), (5, 15.0));
        let after = found.model.sigma_of_difference_mm(500.0).unwrap();
        let before = model.sigma_of_difference_mm(500.0).unwrap();
        assert_relative_eq!(after, before * found.factor.sqrt(), max_relative = 1e-12);
    }

    /// The promise, from the prior to the interval: factors drawn from the prior, a floor drawn with
    /// each, and the interval holds the factor 95 times in 100.
    #[test]
    fn intervals_hold_the_factor_and_percentiles_are_even() {
        let model = FloorModel::from_f_numbers(25.0, 20.0).unwrap().with_fall(1.0).unwrap();
        let worth = 8.0;
        let prior = ChiSquared::new(worth).unwrap();
        let runs = 2000;
        let heights = model.sample(&places(), runs, 3).unwrap();
        let (mut held, mut below) = (0, 0);
        for (run, drawn) in heights.chunks(6).enumerate() {
            let factor = worth / prior.inverse_cdf((run as f64 + 0.5) / runs as f64);
            let scaled = drawn.iter().map(|height| height * factor.sqrt()).collect();
            let [least, most] = model.updated(&read(scaled), worth).unwrap().interval;
            held += usize::from((least..=most).contains(&factor));
            let found = model.updated(&read(drawn.to_vec()), worth).unwrap();
            below += usize::from(found.percentile <= 0.3);
        }
        // Four standard errors.
        let error = |p: f64| 4.0 * (p * (1.0 - p) * runs as f64).sqrt();
        assert!((held as f64 - 0.95 * runs as f64).abs() < error(0.95), "{held}");
        assert!((below as f64 - 0.3 * runs as f64).abs() < error(0.3), "{below}");
    }

    #[test]
    fn bad_input() {
        let model = FloorModel::from_sigma(2.0).unwrap();
        for worth in [0.0, -1.0, 2e9, 1e300, f64::NAN] {
            assert!(model.updated(&read(vec![0.0; 6]), worth).is_err(), "{worth}");
        }
        for worth in [1e-300, 1e-9, 1.0, 1e9] {
            let [least, most] =
                model.updated(&read(vec![0.0, 1.0, 2.0, 0.0, 1.0, 2.0]), worth).unwrap().interval;
            assert!(least <= most, "{worth}: {least} {most}");
        }
        assert!(model.updated(&read(vec![0.0; 5]), 1.0).is_err());
        assert!(model.updated(&read(vec![f64::NAN; 6]), 1.0).is_err());
        let one = MeasuredFloor { xy: vec![[0.0; 2]], heights_mm: vec![0.0], sigma_mm: 0.0 };
        assert!(model.updated(&one, 1.0).is_err());
    }
}

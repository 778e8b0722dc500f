//! Floors that were measured: what they say of the rest of the same floor, and of floors like them.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

use super::draws::Sample;
use super::floor_model::{FloorModel, Floors, check_heights, check_places};
use crate::error::{Error, ProblemKind, Problems};

/// Heights that were read on one floor.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredFloor {
    /// Where they were read, mm.
    pub xy: Vec<[f64; 2]>,
    /// What was read, mm; one for each place.
    pub heights_mm: Vec<f64>,
    /// Standard uncertainty of each reading, mm, independent of the others.
    pub sigma_mm: f64,
}

impl MeasuredFloor {
    fn check(&self) -> Result<(), Error> {
        let Self { xy, heights_mm, sigma_mm } = self;
        let mut found = Problems::default();
        found.take(check_places("xy", xy));
        if heights_mm.len() != xy.len() {
            let (got, expected) = (heights_mm.len(), format!("{}, one for each place", xy.len()));
            found.add(ProblemKind::Shape, "heights", format!("{got} values"), expected);
        }
        for (at, height) in heights_mm.iter().enumerate().filter(|(_, height)| !height.is_finite())
        {
            let expected = "a finite number of mm";
            found.add(ProblemKind::Value, format!("heights[{at}]"), height, expected);
        }
        if !(sigma_mm.is_finite() && *sigma_mm >= 0.0) {
            let expected = "a finite number of mm, 0 or more";
            found.add(ProblemKind::Value, "sigma", sigma_mm, expected);
        }
        found.into_result()
    }
}

/// What is known of heights at further places of a floor that was read at some.
#[derive(Debug, Clone, PartialEq)]
pub struct RestOfFloor {
    /// Expected height at each place, mm, from the datum of the readings.
    pub heights_mm: Vec<f64>,
    /// Their covariance, n × n row by row, mm².
    pub covariance_mm2: Vec<f64>,
}

impl RestOfFloor {
    /// Draws heights at the places, `count` × as many values, floor by floor, mm.
    ///
    /// # Errors
    /// A covariance of another size than the heights; more than a hundred million heights.
    pub fn sample(&self, count: usize, seed: u64) -> Result<Vec<f64>, Error> {
        let size = self.heights_mm.len();
        if self.covariance_mm2.len() != size * size {
            let (got, expected) = (self.covariance_mm2.len(), format!("{size} × {size} values"));
            return Err(Error::new(ProblemKind::Shape, "covariance", got, expected));
        }
        check_heights(count, size)?;
        let covariance = DMatrix::from_row_slice(size, size, &self.covariance_mm2);
        let floors = Floors::normal(&covariance, self.heights_mm.clone());
        Ok((0..count as u64).flat_map(|job| floors.draw(seed, Sample::Floors, job)).collect())
    }
}

impl FloorModel {
    /// What the readings of a floor say of the heights at other places `xy` of it, mm: the conditional
    /// normal distribution. The datum of the readings counts as unknown beforehand.
    ///
    /// # Errors
    /// Places, heights or an uncertainty that are not finite; sizes that differ; two readings without
    /// uncertainty at one place.
    pub fn given(&self, read: &MeasuredFloor, xy: &[[f64; 2]]) -> Result<RestOfFloor, Error> {
        let mut found = Problems::default();
        found.take(read.check().map_err(|error| error.within("read")));
        found.take(check_places("xy", xy));
        found.into_result()?;
        let count = read.xy.len();
        let all: Vec<_> = read.xy.iter().chain(xy).copied().collect();
        let mut covariance = self.covariance(&all);
        (0..count).for_each(|at| covariance[(at, at)] += read.sigma_mm.powi(2));
        // All heights less the first reading: whatever the datum is, it drops out.
        let of = |i: usize, j: usize| {
            covariance[(i, j)] - covariance[(i, 0)] - covariance[(0, j)] + covariance[(0, 0)]
        };
        let block = |rows: std::ops::Range<usize>, columns: std::ops::Range<usize>| {
            let (row, column) = (rows.start, columns.start);
            DMatrix::from_fn(rows.len(), columns.len(), |i, j| of(row + i, column + j))
        };
        let (known, asked) = (1..count, count..all.len());
        let (across, prior) = (block(asked.clone(), known.clone()), block(asked.clone(), asked));
        let first = read.heights_mm[0];
        let read = DVector::from_iterator(
            count - 1,
            read.heights_mm[1..].iter().map(|height| height - first),
        );
        let factor = factor(block(known.clone(), known))?;
        let solved = factor.solve(&across.transpose());
        let covariance = prior - &across * &solved;
        let heights = solved.transpose() * read;
        Ok(RestOfFloor {
            heights_mm: heights.iter().map(|height| first + height).collect(),
            covariance_mm2: (0..xy.len())
                .flat_map(|i| (0..xy.len()).map(move |j| (i, j)))
                .map(|(i, j)| 0.5 * (covariance[(i, j)] + covariance[(j, i)]))
                .collect(),
        })
    }

    /// d' C⁻¹ d of the differences d of a floor that was read from its first reading, with their
    /// covariance C by the model: chi-square with as many degrees of freedom as there are differences.
    pub(super) fn surprise(&self, read: &MeasuredFloor) -> Result<f64, Error> {
        read.check()?;
        let mut covariance = self.covariance(&read.xy);
        (0..read.xy.len()).for_each(|at| covariance[(at, at)] += read.sigma_mm.powi(2));
        let size = read.xy.len() - 1;
        let differences = DMatrix::from_fn(size, size, |i, j| {
            let (i, j) = (i + 1, j + 1);
            covariance[(i, j)] - covariance[(i, 0)] - covariance[(0, j)] + covariance[(0, 0)]
        });
        let first = read.heights_mm[0];
        let rises = read.heights_mm[1..].iter().map(|height| height - first);
        let rises = DVector::from_iterator(size, rises);
        Ok(rises.dot(&factor(differences)?.solve(&rises)))
    }

    /// The self-affine floor under which floors that were measured are the likeliest, with how well
    /// they fix it: maximum likelihood of the differences of height. The level has a
    /// closed form for each H; H is searched, and the curvature of the likelihood there gives its
    /// uncertainty (asymptotic normality, e.g. Pawitan, In All Likelihood, 2001, from memory).
    ///
    /// # Errors
    /// What [`FloorModel::given`] refuses of a reading. Too little to tell: fewer than three
    /// differences of height in all, all of one distance, heights without any difference, or
    /// differences that do not grow with distance (for which [`FloorModel::from_sigma`] is the model).
    pub fn fit(floors: &[MeasuredFloor]) -> Result<FittedFloor, Error> {
        let mut found = Problems::default();
        for (at, floor) in floors.iter().enumerate() {
            found.take(floor.check().map_err(|error| error.within(&format!("floors[{at}]"))));
        }
        found.into_result()?;
        let floors: Vec<_> = floors.iter().filter(|floor| floor.xy.len() > 1).collect();
        let differences: usize = floors.iter().map(|floor| floor.xy.len() - 1).sum();
        let refuse = |got: String, expected: &str| {
            Err(Error::new(ProblemKind::Value, "floors", got, expected))
        };
        if differences < 3 {
            let got = format!("{differences} differences of height");
            return refuse(got, "at least three, on one floor or on several");
        }
        let profile = |hurst: f64| Profile::at(&floors, hurst);
        let value = |hurst: f64| Ok::<_, Error>(profile(hurst)?.log_likelihood);
        let (mut least, mut most) = (0.01, 0.99);
        // Golden section.
        let ratio = 0.5 * (5_f64.sqrt() - 1.0);
        let (mut a, mut b) = (most - ratio * (most - least), least + ratio * (most - least));
        let (mut at_a, mut at_b) = (value(a)?, value(b)?);
        for _ in 0..60 {
            if at_a > at_b {
                (most, b, at_b) = (b, a, at_a);
                a = most - ratio * (most - least);
                at_a = value(a)?;
            } else {
                (least, a, at_a) = (a, b, at_b);
                b = least + ratio * (most - least);
                at_b = value(b)?;
            }
        }
        let hurst = 0.5 * (least + most);
        if !(0.02..0.98).contains(&hurst) {
            let got = format!("differences that are the likeliest with H at {hurst:.2}");
            return refuse(
                got,
                "floors of several distances, whose differences grow with distance",
            );
        }
        let step = 0.01;
        let [below, here, above] =
            [profile(hurst - step)?, profile(hurst)?, profile(hurst + step)?];
        let bend = (below.log_likelihood - 2.0 * here.log_likelihood + above.log_likelihood)
            / (step * step);
        if !(here.variance_at_1m_mm2 > 0.0 && bend < 0.0) {
            let got = "heights that do not tell how differences grow with distance".to_owned();
            return refuse(got, "floors of several distances, with some difference of height");
        }
        let hurst_sigma = (-1.0 / bend).sqrt();
        let slope = (above.variance_at_1m_mm2 / below.variance_at_1m_mm2).ln() / (2.0 * step);
        let level = 2.0 / differences as f64 + (slope * hurst_sigma).powi(2);
        Ok(FittedFloor {
            model: Self::self_affine(here.variance_at_1m_mm2, hurst),
            hurst,
            hurst_sigma,
            sigma_at_1m_mm: here.variance_at_1m_mm2.sqrt(),
            sigma_at_1m_relative: 0.5 * level.sqrt(),
            differences,
        })
    }
}

/// A model fitted to floors that were measured.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct FittedFloor {
    /// The likeliest self-affine floor.
    pub model: FloorModel,
    /// H: how fast differences grow with distance.
    pub hurst: f64,
    /// Standard uncertainty of H.
    pub hurst_sigma: f64,
    /// Standard deviation of the difference of heights 1 m apart, mm.
    pub sigma_at_1m_mm: f64,
    /// Its standard uncertainty, as a part of it.
    pub sigma_at_1m_relative: f64,
    /// How many independent differences of height it rests on.
    pub differences: usize,
}

/// The likelihood at one H, with the level that is the likeliest there.
struct Profile {
    variance_at_1m_mm2: f64,
    log_likelihood: f64,
}

impl Profile {
    fn at(floors: &[&MeasuredFloor], hurst: f64) -> Result<Self, Error> {
        let unit = FloorModel::self_affine(1.0, hurst);
        let (mut squares, mut log_determinants, mut count) = (0.0, 0.0, 0.0);
        for floor in floors {
            let covariance = unit.covariance(&floor.xy);
            let size = floor.xy.len() - 1;
            // The first place is held at 0: the rest are differences from it.
            let rest = covariance.view((1, 1), (size, size)).into_owned();
            let factor = factor(rest)?;
            let first = floor.heights_mm[0];
            let differences = floor.heights_mm[1..].iter().map(|height| height - first);
            let differences = DVector::from_iterator(size, differences);
            squares += differences.dot(&factor.solve(&differences));
            log_determinants +=
                factor.l_dirty().diagonal().iter().map(|d| 2.0 * d.ln()).sum::<f64>();
            count += size as f64;
        }
        let variance_at_1m_mm2 = squares / count;
        let log_likelihood = -0.5 * (count * variance_at_1m_mm2.ln() + log_determinants);
        Ok(Self { variance_at_1m_mm2, log_likelihood })
    }
}

fn factor(covariance: DMatrix<f64>) -> Result<Cholesky<f64, Dyn>, Error> {
    Cholesky::new(covariance).ok_or_else(|| {
        let got = "two readings of one place that have no uncertainty";
        let expected = "each place once, or a sigma above 0 mm";
        Error::new(ProblemKind::Geometry, "xy", got, expected)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn grid() -> Vec<[f64; 2]> {
        (0..4)
            .flat_map(|i| (0..3).map(move |j| [f64::from(i) * 700.0, f64::from(j) * 500.0]))
            .collect()
    }

    /// The formula of conditional normals with the datum as one more normal value whose variance is
    /// a million times that of the floor.
    #[test]
    fn the_rest_of_a_floor_is_the_conditional_normal() {
        let model = FloorModel::from_f_numbers(25.0, 20.0).unwrap().with_fall(1.0).unwrap();
        let (read, asked) = (grid()[..7].to_vec(), grid()[7..].to_vec());
        let heights = vec![0.3, -1.0, 2.0, 0.5, 0.1, 1.4, -0.2];
        let floor = MeasuredFloor { xy: read.clone(), heights_mm: heights.clone(), sigma_mm: 0.2 };
        let rest = model.given(&floor, &asked).unwrap();
        let all: Vec<_> = read.iter().chain(&asked).copied().collect();
        let mut covariance = model.covariance(&all).add_scalar(1e6);
        (0..7).for_each(|at| covariance[(at, at)] += 0.04);
        let known = covariance.view((0, 0), (7, 7)).into_owned().try_inverse().unwrap();
        let across = covariance.view((7, 0), (5, 7)).into_owned();
        let means = &across * &known * DVector::from_vec(heights);
        let left = covariance.view((7, 7), (5, 5)) - &across * known * across.transpose();
        for i in 0..5 {
            assert_relative_eq!(rest.heights_mm[i], means[i], epsilon = 1e-4);
            for j in 0..5 {
                let covariance = rest.covariance_mm2[5 * i + j];
                assert_relative_eq!(covariance, left[(i, j)], epsilon = 1e-3);
            }
        }
        // Where the floor was read exactly, nothing is left open.
        let exact = MeasuredFloor { sigma_mm: 0.0, ..floor };
        let again = model.given(&exact, &read[2..3]).unwrap();
        assert_relative_eq!(again.heights_mm[0], exact.heights_mm[2], epsilon = 1e-9);
        assert!(again.covariance_mm2[0].abs() < 1e-9);
        let twice =
            MeasuredFloor { xy: vec![[0.0; 2]; 3], heights_mm: vec![0.0; 3], sigma_mm: 0.0 };
        assert!(model.given(&twice, &read).is_err());
    }

    /// The promise: over floors drawn from a known model, the stated uncertainties are right.
    #[test]
    fn fits_find_the_model_within_their_uncertainty() {
        let truth = FloorModel::self_affine(4.0, 0.6);
        let xy = grid();
        let (mut hurst_errors, mut level_errors) = (Vec::new(), Vec::new());
        for seed in 0..40 {
            let heights = truth.sample(&xy, 12, seed).unwrap();
            let floor = |heights: &[f64]| MeasuredFloor {
                xy: xy.clone(),
                heights_mm: heights.to_vec(),
                sigma_mm: 0.0,
            };
            let floors: Vec<_> = heights.chunks(xy.len()).map(floor).collect();
            let fitted = FloorModel::fit(&floors).unwrap();
            hurst_errors.push((fitted.hurst - 0.6) / fitted.hurst_sigma);
            level_errors.push((fitted.sigma_at_1m_mm / 2.0).ln() / fitted.sigma_at_1m_relative);
        }
        for errors in [hurst_errors, level_errors] {
            let count = errors.len() as f64;
            let mean = errors.iter().sum::<f64>() / count;
            let square = errors.iter().map(|error| error * error).sum::<f64>() / count;
            // Four standard errors of 40 standard normal values.
            assert!(mean.abs() < 0.64 && (0.2..1.9).contains(&square), "{mean} {square}");
        }
    }

    #[test]
    fn too_little_to_tell() {
        let floor = |xy: &[[f64; 2]], heights: &[f64]| MeasuredFloor {
            xy: xy.to_vec(),
            heights_mm: heights.to_vec(),
            sigma_mm: 0.0,
        };
        let pair = floor(&[[0.0, 0.0], [1000.0, 0.0]], &[0.0, 1.0]);
        assert!(FloorModel::fit(&[]).is_err());
        assert!(FloorModel::fit(&[pair.clone(), pair.clone()]).is_err());
        // One distance only.
        assert!(FloorModel::fit(&vec![pair; 5]).is_err());
        assert!(FloorModel::fit(&[floor(&grid(), &[0.0; 12])]).is_err(), "no difference at all");
        assert!(FloorModel::fit(&[floor(&grid(), &[0.0; 3])]).is_err());
        let nan = floor(&[[0.0, 0.0], [f64::NAN, 0.0]], &[0.0, 1.0]);
        assert!(FloorModel::fit(&[nan]).unwrap_err().to_string().contains("floors[0].xy[1].x"));
    }
}

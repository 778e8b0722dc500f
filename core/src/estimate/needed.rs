//! How many readings it takes to prove a limit.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::floor_model::check_sigma;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::limits::Limits;
use crate::survey::{Reading, Survey, adjust};
use crate::verify::{DecisionRule, assess};

/// A survey that is repeated round by round.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum SurveyPattern {
    /// Each round reads every point once from one set-up, as with a laser or a water level.
    #[default]
    Heights,
    /// Each round reads the rise from each point to the next and from the last back to the first, as
    /// with a level that is carried around.
    Loop,
}

impl SurveyPattern {
    /// All patterns, each with its name.
    pub const ALL: [(Self, &'static str); 2] = [(Self::Heights, "heights"), (Self::Loop, "loop")];

    /// The readings of one round over so many points, which are named by their indices.
    fn round(self, points: usize, sigma_mm: f64) -> Vec<Reading> {
        let name = |at: usize| (at % points).to_string();
        let sigma = Some(sigma_mm);
        let reading = |at: usize| match self {
            // The height of the set-up drops out of every difference.
            Self::Heights => Reading::height(name(at), 0.0, sigma),
            Self::Loop => Reading::rise(name(at), name(at + 1), 0.0, sigma),
        };
        (0..points).map(reading).collect()
    }
}

/// The smallest survey that leaves no more doubt than asked.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct ReadingsNeeded {
    /// How often the pattern is gone through.
    pub rounds: usize,
    /// How many readings that is.
    pub readings: usize,
    /// The doubt that it leaves.
    pub doubt: f64,
    /// The standard uncertainty of the largest difference of two heights that it leaves, mm.
    pub sigma_mm: f64,
}

/// Finds the fewest rounds of a survey of the places `xy` that leave at most the `doubt`: the
/// probability that a bed that is brought level by these readings does not keep the limits. `left` is how far its plan
/// leaves it from level at the worst (±), which is taken off every limit.
///
/// Errors of readings are independent and normal with the standard uncertainty `sigma_mm`. The
/// covariance of one round follows from least squares, that of r rounds is an r-th of it, and the doubt is
/// that of [`assess`].
///
/// # Errors
/// Fewer than two places, an uncertainty that is not above 0, a doubt that is not between 0 and ½, limits
/// that [`assess`] refuses or that `left` uses up, and a doubt that a million rounds do not reach.
pub fn readings_needed(
    xy: &[[Length; 2]],
    limits: &Limits,
    joints: &[[usize; 2]],
    pattern: SurveyPattern,
    sigma_mm: f64,
    left: Length,
    doubt: f64,
) -> Result<ReadingsNeeded, Error> {
    const MOST_ROUNDS: usize = 1_000_000;
    let mut found = Problems::default();
    if xy.len() < 2 {
        let got = format!("{} places", xy.len());
        found.add(ProblemKind::Shape, "xy", got, "two or more: a limit is on differences");
    }
    if !(doubt > 0.0 && doubt < 0.5) {
        found.add(ProblemKind::Value, "doubt", doubt, "between 0 and 0.5");
    }
    found.take(check_sigma("sigma", sigma_mm, "mm"));
    if sigma_mm == 0.0 {
        found.add(ProblemKind::Value, "sigma", sigma_mm, "above 0 mm");
    }
    let tight = found.take(tightened(limits, left));
    std::mem::take(&mut found).into_result()?;
    let limits = tight.unwrap_or_default();
    let one = one_round(xy.len(), pattern, sigma_mm)?;
    let level = vec![Length::ZERO; xy.len()];
    let doubt_of = |rounds: usize| {
        let covariance: Vec<f64> = one.iter().map(|value| value / rounds as f64).collect();
        let rule = DecisionRule::GuardBand { risk: doubt };
        Ok::<_, Error>(1.0 - assess(xy, &level, &covariance, &limits, joints, rule)?.probability)
    };
    // More rounds never leave more doubt: double until there are enough, then halve.
    let (mut few, mut enough) = (0, 1);
    while doubt_of(enough)? > doubt {
        few = enough;
        enough *= 2;
        if enough > MOST_ROUNDS {
            // Either of them, or the limits, may be what is wrong.
            let got = format!("{doubt}, of limits that are too tight for these readings");
            let expected = "a doubt that a million rounds reach";
            found.add(ProblemKind::Value, "doubt", got, expected);
            let expected = "readings of which a million leave no more than the doubt";
            found.add(ProblemKind::Value, "sigma", sigma_mm, expected);
            break;
        }
    }
    found.into_result()?;
    while enough - few > 1 {
        let middle = few + (enough - few) / 2;
        if doubt_of(middle)? > doubt { few = middle } else { enough = middle }
    }
    let n = xy.len();
    let variance = |a: usize, b: usize| one[a * n + a] + one[b * n + b] - 2.0 * one[a * n + b];
    let widest = (0..n).flat_map(|a| (0..a).map(move |b| (a, b))).map(|(a, b)| variance(a, b));
    Ok(ReadingsNeeded {
        rounds: enough,
        readings: enough * n,
        doubt: doubt_of(enough)?,
        sigma_mm: (widest.fold(0.0, f64::max) / enough as f64).sqrt(),
    })
}

/// The covariance of the heights after one round, n × n, mm².
fn one_round(points: usize, pattern: SurveyPattern, sigma_mm: f64) -> Result<Vec<f64>, Error> {
    let survey = Survey::new(pattern.round(points, sigma_mm));
    Ok(adjust(&survey)?.covariance_mm2())
}

/// The limits that are left to errors of readings where the plan takes so much of them (±).
fn tightened(limits: &Limits, left: Length) -> Result<Limits, Error> {
    let mut found = Problems::default();
    if left < Length::ZERO {
        found.add(ProblemKind::Value, "left", left, "a length of at least 0 mm");
    }
    let mut rest = limits.clone();
    let either_way = left + left;
    let parts = [
        ("overall", &mut rest.overall, left),
        ("along", &mut rest.along, left),
        ("across", &mut rest.across, left),
        ("joint_step", &mut rest.joint_step, either_way),
    ];
    let parts = parts.into_iter().filter_map(|(name, it, off)| Some((name, it.as_mut()?, off)));
    let named = rest.named.iter_mut().map(|it| ("named", &mut it.within, either_way));
    let mut is_used_up = false;
    for (name, limit, off) in parts.chain(named) {
        if *limit <= off {
            is_used_up = true;
            let expected = format!("above {off}, which the plan leaves");
            found.add(ProblemKind::Value, format!("limits.{name}"), *limit, expected);
        }
        *limit = *limit - off;
    }
    if is_used_up && left > Length::ZERO {
        found.add(ProblemKind::Value, "left", left, "less than each limit allows");
    }
    found.into_result()?;
    Ok(rest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn mm(mm: f64) -> Length {
        Length::from_mm(mm).unwrap()
    }

    /// Two points: the doubt is that of a normal difference beyond 2 φ, of which tables have 1.96.
    #[test]
    fn two_points_in_closed_form() {
        let xy = [[mm(0.0), mm(0.0)], [mm(1000.0), mm(0.0)]];
        for (pattern, variance) in [(SurveyPattern::Heights, 2.0), (SurveyPattern::Loop, 0.5)] {
            let limits = Limits::overall(mm(0.05));
            let found =
                readings_needed(&xy, &limits, &[], pattern, 0.2, Length::ZERO, 0.05).unwrap();
            // 0.1 mm ≥ 1.95996 σ √(variance/r).
            let rounds = (1.95996 * 0.2 / 0.1_f64).powi(2) * variance;
            assert_eq!(found.rounds, rounds.ceil() as usize);
            assert_eq!(found.readings, 2 * found.rounds);
            assert!(found.doubt <= 0.05);
            let sigma = 0.2 * (variance / found.rounds as f64).sqrt();
            assert_relative_eq!(found.sigma_mm, sigma, max_relative = 1e-9);
        }
    }

    #[test]
    fn bad_input() {
        let xy = [[mm(0.0), mm(0.0)], [mm(1000.0), mm(0.0)]];
        let limits = Limits::overall(mm(0.05));
        let ask = |xy: &[[Length; 2]], sigma, left, doubt| {
            readings_needed(xy, &limits, &[], SurveyPattern::Loop, sigma, mm(left), doubt)
        };
        assert!(ask(&xy, 0.1, 0.0, 0.05).is_ok());
        for (sigma, left, doubt) in [
            (0.0, 0.0, 0.05),
            (f64::NAN, 0.0, 0.05),
            (0.1, 0.05, 0.05),
            (0.1, -0.1, 0.05),
            (0.1, 0.0, 0.0),
            (0.1, 0.0, 0.5),
            (1e6, 0.0, 0.05),
        ] {
            assert!(ask(&xy, sigma, left, doubt).is_err(), "{sigma} {left} {doubt}");
        }
        assert!(ask(&xy[..1], 0.1, 0.0, 0.05).is_err());
    }
}

//! From readings to heights.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::points::Index;

/// One observation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "lowercase", deny_unknown_fields)]
#[non_exhaustive]
pub enum Reading {
    /// The height of a point, typed in directly.
    Height {
        /// Id of the point.
        point: String,
        /// Its height, positive upwards.
        value: Length,
        /// Standard uncertainty of the reading; unknown where it is not given.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sigma: Option<Length>,
    },
}

/// The height of a point and its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Height {
    /// Height, positive upwards.
    pub(crate) height: Length,
    /// Standard uncertainty in millimetres; `None` where no reading states one.
    pub(crate) sigma_mm: Option<f64>,
}

/// Heights of all points that were read, in the order of the points.
///
/// Several readings of one point are averaged, each weighted by 1/σ² (inverse-variance weighting,
/// the least-squares estimate), and the mean has 1/σ² equal to the sum of the weights. Where one
/// of them states no σ, all count alike and the mean's σ is unknown.
pub(crate) fn heights(
    readings: &[Reading],
    points: &Index<'_>,
) -> Result<BTreeMap<usize, Height>, Error> {
    let mut found = Problems::default();
    let mut by_point: BTreeMap<usize, Vec<(Length, Option<f64>)>> = BTreeMap::new();
    for (at, reading) in readings.iter().enumerate() {
        let Reading::Height { point, value, sigma } = reading;
        if let Some(sigma) = sigma
            && *sigma <= Length::ZERO
        {
            found.add(
                ProblemKind::Value,
                format!("readings[{at}].sigma"),
                sigma,
                "a length above 0 mm",
            );
        }
        match points.get(point.as_str()) {
            Some(&point) => {
                by_point.entry(point).or_default().push((*value, sigma.map(Length::mm)))
            }
            None => found.add(
                ProblemKind::Unknown,
                format!("readings[{at}].point"),
                format!("{point:?}"),
                "the id of a point of the job",
            ),
        }
    }
    found.into_result()?;
    Ok(by_point.into_iter().map(|(point, read)| (point, mean(&read))).collect())
}

fn mean(read: &[(Length, Option<f64>)]) -> Height {
    if let [(height, sigma_mm)] = *read {
        return Height { height, sigma_mm };
    }
    let weights: Option<Vec<f64>> =
        read.iter().map(|(_, sigma)| sigma.map(|sigma| sigma.powi(-2))).collect();
    let weight = |at: usize| weights.as_ref().map_or(1.0, |weights| weights[at]);
    let total: f64 = (0..read.len()).map(weight).sum();
    let first = read[0].0;
    let above = |at: usize| weight(at) / total * (read[at].0 - first).nm() as f64;
    let shift = (0..read.len()).map(above).sum::<f64>().round();
    Height {
        height: first + Length::from_nm(shift as i64),
        sigma_mm: weights.as_ref().map(|_| total.sqrt().recip()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(value: &str, sigma: Option<&str>) -> Reading {
        let sigma = sigma.map(|sigma| sigma.parse().unwrap());
        Reading::Height { point: "A".into(), value: value.parse().unwrap(), sigma }
    }

    #[test]
    fn repeated_readings_are_averaged_by_weight() {
        let points = Index::from([("A", 3)]);
        let readings = [read("1 mm", Some("0.1 mm")), read("2 mm", Some("0.2 mm"))];
        let height = heights(&readings, &points).unwrap()[&3];
        // Weights 100 and 25: (100 · 1 + 25 · 2) / 125 = 1.2, σ = 1/√125.
        assert_eq!(height.height.nm(), 1_200_000);
        assert!((height.sigma_mm.unwrap() - 125_f64.sqrt().recip()).abs() < 1e-15);
        let readings = [read("1 mm", Some("0.1 mm")), read("2 mm", None)];
        let height = heights(&readings, &points).unwrap()[&3];
        assert_eq!((height.height.nm(), height.sigma_mm), (1_500_000, None));
    }

    #[test]
    fn bad_readings_are_named() {
        let error =
            heights(&[read("1 mm", Some("0 mm")), read("1 mm", Some("-1 mm"))], &Index::new())
                .unwrap_err();
        let fields: Vec<_> =
            error.problems().iter().map(|problem| problem.field.as_str()).collect();
        assert_eq!(
            fields,
            ["readings[0].sigma", "readings[0].point", "readings[1].sigma", "readings[1].point"]
        );
    }
}

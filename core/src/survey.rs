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
/// the least-squares estimate), and the mean has 1/σ² equal to the sum of the weights. They must
/// state their σ for that, and agree: one further from the mean than four of its standard
/// uncertainties is a mistake, not an error of reading.
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
    let mut found = Problems::default();
    let mut heights = BTreeMap::new();
    for (&id, &point) in points.iter().filter(|(_, point)| by_point.contains_key(point)) {
        match mean(id, &by_point[&point]) {
            Ok(height) => {
                heights.insert(point, height);
            }
            Err(error) => {
                found.take::<()>(Err(error));
            }
        }
    }
    found.into_result()?;
    Ok(heights)
}

fn mean(id: &str, read: &[(Length, Option<f64>)]) -> Result<Height, Error> {
    if let [(height, sigma_mm)] = *read {
        return Ok(Height { height, sigma_mm });
    }
    let refuse = |got: String, expected: &str| {
        Err(Error::new(ProblemKind::Value, format!("readings of {id:?}"), got, expected))
    };
    let Some(sigmas) = read.iter().map(|(_, sigma)| *sigma).collect::<Option<Vec<f64>>>() else {
        let got = format!("{} of them, not all with a sigma", read.len());
        return refuse(got, "one reading, or a sigma with each");
    };
    let total: f64 = sigmas.iter().map(|sigma| sigma.powi(-2)).sum();
    let first = read[0].0;
    let part =
        |(sigma, read): (&f64, &(Length, _))| sigma.powi(-2) / total * (read.0 - first).nm() as f64;
    let shift = sigmas.iter().zip(read).map(part).sum::<f64>().round();
    let height = first + Length::from_nm(shift as i64);
    let off = |(sigma, read): &(&f64, &(Length, _))| (read.0 - height).mm().abs() > 4.0 * *sigma;
    if let Some((sigma, (value, _))) = sigmas.iter().zip(read).find(off) {
        let got = format!("{value} with a sigma of {sigma} mm, where their mean is {height}");
        return refuse(got, "readings that agree within four sigma; leave out the mistaken one");
    }
    Ok(Height { height, sigma_mm: Some(total.sqrt().recip()) })
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
        let readings = [read("1 mm", Some("0.1 mm")), read("1.5 mm", Some("0.2 mm"))];
        let height = heights(&readings, &points).unwrap()[&3];
        // Weights 100 and 25: (100 · 1 + 25 · 1.5) / 125 = 1.1, σ = 1/√125.
        assert_eq!(height.height.nm(), 1_100_000);
        assert!((height.sigma_mm.unwrap() - 125_f64.sqrt().recip()).abs() < 1e-15);
    }

    #[test]
    fn readings_of_one_point_must_agree() {
        let points = Index::from([("A", 0)]);
        for other in [read("2 mm", None), read("2.5 mm", Some("0.2 mm"))] {
            let error = heights(&[read("1 mm", Some("0.1 mm")), other], &points).unwrap_err();
            assert_eq!(error.problems()[0].field, "readings of \"A\"");
        }
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

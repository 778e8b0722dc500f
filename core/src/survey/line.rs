//! A line of level steps.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::builder::{LEAST_SIGMA, LEAST_SPAN, SPAN};
use super::divisions::Divisions;
use super::equation::BUBBLE_SIGMA;
use super::instrument::{a_level, is_a_level};
use super::measured::{Mm, Slope};
use super::reading::Reading;
use crate::error::{Error, ProblemKind, Problems};

/// A spirit level that is stepped along a line: what one division says, and how far one step goes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SpiritLevel {
    /// The name of the level. Each level has a zero error of its own.
    #[serde(default = "a_level", skip_serializing_if = "is_a_level")]
    pub name: String,
    /// Slope for one division.
    pub sensitivity: Slope,
    /// Length of a step from point to point: the level's base, or that of the bridge under it.
    pub base: Mm,
    /// Standard uncertainty of one step, in divisions. The default is 0.2 (common practice).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sigma: Option<f64>,
}

impl SpiritLevel {
    /// Finds what would be wrong with every one of its readings.
    pub(super) fn check_step(&self) -> Result<(), Error> {
        let mut found = Problems::default();
        if !(LEAST_SPAN..=Mm::MAX).contains(&self.base.0) {
            found.add(ProblemKind::Value, "level.base", self.base, SPAN);
        }
        let (sensitivity, sigma) = (self.sensitivity.mm_per_m, self.sigma.unwrap_or(BUBBLE_SIGMA));
        for (name, value, unit) in
            [("sensitivity", sensitivity, "mm/m"), ("sigma", sigma, "divisions")]
        {
            if !(LEAST_SIGMA..=Mm::MAX).contains(&value) {
                let field = format!("level.{name}");
                let expected = format!("from 1e-9 to 1e9 {unit}");
                found.add(ProblemKind::Value, field, format!("{value} {unit}"), expected);
            }
        }
        found.into_result()
    }

    pub(super) fn step(&self, a: &str, b: &str, divisions: f64, turned: bool) -> Reading {
        Reading::Bubble {
            a: a.to_owned(),
            b: b.to_owned(),
            divisions: Divisions::One(divisions),
            sensitivity: self.sensitivity,
            base: None,
            span: Some(self.base),
            level: self.name.clone(),
            turned,
            sigma: self.sigma,
            note: None,
        }
    }
}

/// The readings of a level stepped along a line of points, one number of divisions a step. A line
/// that ends where it began closes; one that is read back with the level `turned` shows its zero
/// error.
///
/// # Errors
/// Not one number for each step, or fewer than two points; a base, a sensitivity or a σ that is not
/// above zero.
pub fn level_line(
    level: &SpiritLevel,
    ids: &[String],
    divisions: &[f64],
    turned: bool,
) -> Result<Vec<Reading>, Error> {
    if ids.len() < 2 || divisions.len() != ids.len() - 1 {
        let got = format!("{} numbers for {} points", divisions.len(), ids.len());
        let expected = "one for each step between points that follow each other";
        return Err(Error::new(ProblemKind::Shape, "divisions", got, expected));
    }
    level.check_step()?;
    let steps = ids.windows(2).zip(divisions);
    Ok(steps.map(|(ends, &read)| level.step(&ends[0], &ends[1], read, turned)).collect())
}

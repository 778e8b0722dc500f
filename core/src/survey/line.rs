//! A line of level steps.

use super::measured::{Mm, Slope};
use super::reading::{Divisions, Reading};
use crate::error::{Error, ProblemKind};

/// A spirit level that is stepped along a line: what one division says, and how far one step goes.
#[derive(Debug, Clone, PartialEq)]
pub struct SpiritLevel {
    /// The name of the level, whose zero error is its own.
    pub name: String,
    /// Slope for one division.
    pub sensitivity: Slope,
    /// Length of a step from point to point: the level's base, or that of the bridge under it.
    pub base: Mm,
    /// Standard uncertainty of one step, in divisions; 0.2 unless told (common practice).
    pub sigma: Option<f64>,
}

impl SpiritLevel {
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
        }
    }
}

/// The readings of a level stepped along a line of points, one number of divisions a step. A line
/// that ends where it began closes; one that is read back with the level `turned` shows its zero
/// error.
///
/// # Errors
/// Not one number for each step, or fewer than two points.
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
    let steps = ids.windows(2).zip(divisions);
    Ok(steps.map(|(ends, &read)| level.step(&ends[0], &ends[1], read, turned)).collect())
}

//! What a plan predicted of heights, from the outcome of one job to the next.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::fields;
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::points::{MOST_POINTS, Point};
use crate::verify::Prediction;

/// Heights that a plan predicted, with what is known of their errors.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ExpectedHeights {
    /// Ids of the points of the stage, each once.
    #[schemars(length(max = MOST_POINTS))]
    pub points: Vec<String>,
    /// Height of each of them, mm; only differences count.
    #[schemars(length(max = MOST_POINTS))]
    pub heights_mm: Vec<f64>,
    /// Covariance of the heights, mm², row by row in the order of `points`.
    #[schemars(length(max = MOST_POINTS.pow(2)))]
    pub covariance_mm2: Vec<f64>,
    /// By how much each point may have settled since, as a standard uncertainty. The default is 0.
    #[serde(default)]
    pub settlement: Length,
}

impl ExpectedHeights {
    /// No expected height is known so badly: a standard uncertainty of 1 m.
    const MOST_MM2: f64 = 1e6;

    /// Checks that it expects a height of each of some points.
    ///
    /// # Errors
    /// Points that are not those, each once; numbers that make no prediction.
    pub(super) fn check(&self, points: &[&Point], deadline: &Deadline<'_>) -> Result<(), Error> {
        let mut found = Problems::default();
        for (at, id) in self.points.iter().enumerate() {
            let (field, got) = (format!("points[{at}]"), format!("{id:?}"));
            if self.points[..at].contains(id) {
                found.add(ProblemKind::Duplicate, field, got, "a point that is named once");
            } else if !points.iter().any(|point| point.id == *id) {
                found.add(ProblemKind::Unknown, field, got, "the id of a point of the stage");
            }
        }
        let count = points.len();
        if self.points.len() != count {
            let got = format!("{} points", self.points.len());
            found.add(ProblemKind::Shape, "points", got, "each point of the stage once");
        }
        if self.heights_mm.len() != count {
            let (got, expected) =
                (format!("{} heights", self.heights_mm.len()), format!("{count}"));
            found.add(ProblemKind::Shape, "heights_mm", got, expected);
        }
        found.into_result()?;
        let settlement = self.settlement.mm();
        Prediction::new_by(
            self.heights_mm.clone(),
            self.covariance_mm2.clone(),
            settlement,
            deadline,
        )
        .map_err(|error| fields::of_expected(error, count))?;
        let is_more = |value: &f64| value.abs() > Self::MOST_MM2;
        match self.covariance_mm2.iter().position(is_more) {
            Some(at) => {
                let (got, expected) = (self.covariance_mm2[at], "a number within ±1e6 mm²");
                let field = format!("covariance_mm2[{at}]");
                Err(Error::new(ProblemKind::Value, field, got, expected))
            }
            None => Ok(()),
        }
    }
}

//! Lines and grids of level steps, as they are written by hand.

use std::collections::HashSet;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::fields;
use crate::error::{Error, ProblemKind, Problems};
use crate::points::{MOST_POINTS, Point};
use crate::survey::{MOST_READINGS, Reading, SpiritLevel, Survey, level_grid, level_line};

/// A line of steps with a spirit level from point to point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LevelLine {
    /// The ids of the points in the order of the steps. A closed line ends with its first point.
    #[schemars(length(max = MOST_READINGS))]
    pub ids: Vec<String>,
    /// The divisions of each step, one number a step, positive towards the next point.
    #[schemars(length(max = MOST_READINGS))]
    pub divisions: Vec<f64>,
    /// The spirit level.
    pub level: SpiritLevel,
    /// Whether the level was turned end for end, as on a line that is read back.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub turned: bool,
}

/// A grid of steps with a spirit level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LevelGrid {
    /// The ids of the points, row by row.
    #[schemars(length(max = MOST_POINTS), inner(length(max = MOST_POINTS)))]
    pub ids: Vec<Vec<String>>,
    /// For each row, the divisions of its steps, positive towards its later points.
    #[schemars(length(max = MOST_POINTS), inner(length(max = MOST_POINTS)))]
    pub along: Vec<Vec<f64>>,
    /// For each row but the last, the divisions of the steps to the next row, one a column.
    #[schemars(length(max = MOST_POINTS), inner(length(max = MOST_POINTS)))]
    pub across: Vec<Vec<f64>>,
    /// The spirit level.
    pub level: SpiritLevel,
}

impl LevelLine {
    /// How many readings it makes.
    pub(super) fn steps(&self) -> usize {
        self.divisions.len()
    }
}

impl LevelGrid {
    /// How many readings it makes.
    pub(super) fn steps(&self) -> usize {
        self.along.iter().chain(&self.across).map(Vec::len).sum()
    }
}

/// The steps of lines and grids as readings, in their order.
///
/// # Errors
/// Ids of no point; what [`level_line`] and [`level_grid`] refuse.
pub(super) fn readings(
    points: &[Point],
    lines: &[LevelLine],
    grids: &[LevelGrid],
) -> Result<Vec<Reading>, Error> {
    let known: HashSet<&str> = points.iter().map(|point| point.id.as_str()).collect();
    let mut found = Problems::default();
    let mut steps = Vec::new();
    for (at, line) in lines.iter().enumerate() {
        let field = format!("lines[{at}]");
        check_ids(&format!("{field}.ids"), &line.ids, &known, &mut found);
        let read = level_line(&line.level, &line.ids, &line.divisions, line.turned);
        let read = read.and_then(checked).map_err(|error| fields::of_line(error, &field));
        steps.extend(found.take(read).unwrap_or_default());
    }
    for (at, grid) in grids.iter().enumerate() {
        let field = format!("grids[{at}]");
        for (row, ids) in grid.ids.iter().enumerate() {
            check_ids(&format!("{field}.ids[{row}]"), ids, &known, &mut found);
        }
        let read = level_grid(&grid.level, &grid.ids, &grid.along, &grid.across);
        let of_grid = |error| fields::of_grid(error, &field, &grid.along, &grid.across);
        let read = read.and_then(checked).map_err(of_grid);
        steps.extend(found.take(read).unwrap_or_default());
    }
    found.into_result()?;
    Ok(steps)
}

/// Checks the steps of each line and grid by itself, so that a problem names the line or grid that
/// it is in.
fn checked(readings: Vec<Reading>) -> Result<Vec<Reading>, Error> {
    let survey = Survey::new(readings);
    if !survey.readings.is_empty() {
        survey.check_readings()?;
    }
    Ok(survey.readings)
}

fn check_ids(field: &str, ids: &[String], known: &HashSet<&str>, found: &mut Problems) {
    for (at, id) in ids.iter().enumerate().filter(|(_, id)| !known.contains(id.as_str())) {
        let expected = "the id of a point";
        found.add(ProblemKind::Unknown, format!("{field}[{at}]"), format!("{id:?}"), expected);
    }
}

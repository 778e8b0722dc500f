//! The union-jack survey of a surface plate: two diagonals, four sides, two centre lines.
//!
//! Source: J. C. Moody, "How to calibrate surface plates in the plant", The Tool Engineer, October
//! 1955, pp. 15–21. Each line's own slope is unknown, so that the diagonals are laid through the
//! centre and level from end to end, the sides hung between their corners, and the centre lines
//! between the middles of the sides; where those miss the centre is the closure.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::measured::{Mm, Slope};
use crate::error::{Error, ProblemKind, Problems};

/// Numbers along the eight lines, each line from the first corner or side named to the second. In a
/// survey they are the readings of the level or autocollimator at each step, all in one unit, larger
/// where the line rises more.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UnionJackLines {
    /// Diagonal from north-west to south-east.
    #[schemars(length(max = UnionJackLines::MOST_READINGS))]
    pub nw_se: Vec<f64>,
    /// Diagonal from north-east to south-west.
    #[schemars(length(max = UnionJackLines::MOST_READINGS))]
    pub ne_sw: Vec<f64>,
    /// North side from north-east to north-west.
    #[schemars(length(max = UnionJackLines::MOST_READINGS))]
    pub ne_nw: Vec<f64>,
    /// East side from north-east to south-east.
    #[schemars(length(max = UnionJackLines::MOST_READINGS))]
    pub ne_se: Vec<f64>,
    /// South side from south-east to south-west.
    #[schemars(length(max = UnionJackLines::MOST_READINGS))]
    pub se_sw: Vec<f64>,
    /// West side from north-west to south-west.
    #[schemars(length(max = UnionJackLines::MOST_READINGS))]
    pub nw_sw: Vec<f64>,
    /// Centre line from east to west.
    #[schemars(length(max = UnionJackLines::MOST_READINGS))]
    pub e_w: Vec<f64>,
    /// Centre line from north to south.
    #[schemars(length(max = UnionJackLines::MOST_READINGS))]
    pub n_s: Vec<f64>,
}

impl UnionJackLines {
    /// The most readings along a line of a plate of a job.
    pub const MOST_READINGS: usize = 1_000;

    pub(crate) fn all(&self) -> [(&'static str, &[f64]); 8] {
        [
            ("nw_se", &self.nw_se),
            ("ne_sw", &self.ne_sw),
            ("ne_nw", &self.ne_nw),
            ("ne_se", &self.ne_se),
            ("se_sw", &self.se_sw),
            ("nw_sw", &self.nw_sw),
            ("e_w", &self.e_w),
            ("n_s", &self.n_s),
        ]
    }

    /// Finds what is wrong with them as readings.
    pub(crate) fn check_readings(&self) -> Result<(), Error> {
        let mut found = Problems::default();
        for (name, readings) in self.all() {
            if readings.len() < 2 || readings.len() % 2 == 1 {
                let got = format!("{} readings", readings.len());
                let expected = "an even number of readings, at least 2";
                found.add(ProblemKind::Shape, name, got, expected);
            }
            for (at, reading) in
                readings.iter().enumerate().filter(|(_, r)| r.abs() > Mm::MAX || r.is_nan())
            {
                let expected = "a finite number, within ±1e9";
                found.add(ProblemKind::Value, format!("{name}[{at}]"), reading, expected);
            }
        }
        found.into_result()
    }
}

/// Checks the unit and the step that turn readings into heights.
pub(crate) fn check_scale(unit: Slope, step: Mm) -> Result<(), Error> {
    let mut found = Problems::default();
    if !(step.0 > 0.0 && step.0 <= Mm::MAX) {
        found.add(ProblemKind::Value, "step", step, "a length above 0 mm");
    }
    if !(unit.mm_per_m.abs() > 0.0 && unit.mm_per_m.abs() <= Mm::MAX) {
        found.add(ProblemKind::Value, "unit", unit, "a slope other than 0");
    }
    found.into_result()
}

/// A surface plate's heights about the plane through its centre that both diagonals lie level in.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct UnionJack {
    /// Heights of the stations of each line, mm, one more than it has readings; the lines as
    /// [`UnionJackLines`] lists them.
    pub lines_mm: [Vec<f64>; 8],
    /// Where the centre lines, east to west and north to south, miss the centre, mm.
    pub closures_mm: [f64; 2],
    /// The highest station above the lowest, mm.
    pub flatness_mm: f64,
}

/// Works a union-jack survey out. `unit` is the slope that a reading of 1 stands for, `step` the
/// distance between stations, the length of the foot.
///
/// # Errors
/// Lines without two halves (an even number of readings, at least two), readings that are not
/// finite, a step that is not above zero.
pub fn union_jack(lines: &UnionJackLines, unit: Slope, step: Mm) -> Result<UnionJack, Error> {
    let mut found = Problems::default();
    found.take(lines.check_readings());
    found.take(check_scale(unit, step));
    found.into_result()?;

    let [nw_se, ne_sw, ne_nw, ne_se, se_sw, nw_sw, e_w, n_s] =
        lines.all().map(|(_, readings)| profile(readings, unit, step));
    let [nw_se, ne_sw] = [nw_se, ne_sw].map(|line| {
        let hung = hang(&line, 0.0, 0.0);
        let middle = middle(&hung);
        hung.into_iter().map(|height| height - middle).collect::<Vec<f64>>()
    });
    let [(nw, se), (ne, sw)] = [ends(&nw_se), ends(&ne_sw)];
    let ne_nw = hang(&ne_nw, ne, nw);
    let ne_se = hang(&ne_se, ne, se);
    let se_sw = hang(&se_sw, se, sw);
    let nw_sw = hang(&nw_sw, nw, sw);
    let e_w = hang(&e_w, middle(&ne_se), middle(&nw_sw));
    let n_s = hang(&n_s, middle(&ne_nw), middle(&se_sw));
    let closures_mm = [middle(&e_w), middle(&n_s)];
    let lines_mm = [nw_se, ne_sw, ne_nw, ne_se, se_sw, nw_sw, e_w, n_s];
    let (low, high) = lines_mm
        .iter()
        .flatten()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &h| (low.min(h), high.max(h)));
    Ok(UnionJack { lines_mm, closures_mm, flatness_mm: high - low })
}

/// Heights along a line above its first station, less the slope of its first step, mm.
fn profile(readings: &[f64], unit: Slope, step: Mm) -> Vec<f64> {
    let first = readings[0];
    let steps = readings.iter().map(|reading| unit.over((reading - first) * step.0));
    let mut height = 0.0;
    let stations = steps.map(|rise| {
        height += rise;
        height
    });
    std::iter::once(0.0).chain(stations).collect()
}

/// The line with its ends brought to these heights.
fn hang(line: &[f64], first: f64, last: f64) -> Vec<f64> {
    let (from, to) = ends(line);
    let steps = (line.len() - 1) as f64;
    let tilt = |at: usize| (first - from) + ((last - to) - (first - from)) * at as f64 / steps;
    line.iter().enumerate().map(|(at, height)| height + tilt(at)).collect()
}

fn ends(line: &[f64]) -> (f64, f64) {
    (line[0], line[line.len() - 1])
}

fn middle(line: &[f64]) -> f64 {
    line[line.len() / 2]
}

//! What standards require of the evenness of a floor, and whether a survey of it meets that.
//!
//! Figures: DIN 18202:2013 table 3 as transcribed by building consultants; BS 8204 as given by the
//! Concrete Society; ACI 117-10 table 4.8.5.1; the F-numbers of ASTM E1155, whose constants 4.57 in
//! and 12.5 in and the sample standard deviation are from memory.

use std::fmt;
use std::str::FromStr;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::lines::{self, Line};
use super::straightedge::{self, Gap};
use crate::error::{Error, ProblemKind, Problems};

/// A class of evenness of floors.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[non_exhaustive]
pub enum FloorClass {
    /// DIN 18202 table 3, row 1: unfinished tops of floors.
    #[serde(rename = "DIN 18202 row 1")]
    Din18202Row1,
    /// DIN 18202 table 3, row 2: unfinished tops of floors, raised demands.
    #[serde(rename = "DIN 18202 row 2")]
    Din18202Row2,
    /// DIN 18202 table 3, row 3: finished floors.
    #[serde(rename = "DIN 18202 row 3")]
    Din18202Row3,
    /// DIN 18202 table 3, row 4: finished floors, raised demands.
    #[serde(rename = "DIN 18202 row 4")]
    Din18202Row4,
    /// BS 8204 SR1: 3 mm under a straightedge of 2 m.
    #[serde(rename = "BS 8204 SR1")]
    Bs8204Sr1,
    /// BS 8204 SR2: 5 mm under a straightedge of 2 m.
    #[serde(rename = "BS 8204 SR2")]
    Bs8204Sr2,
    /// BS 8204 SR3: 10 mm under a straightedge of 2 m.
    #[serde(rename = "BS 8204 SR3")]
    Bs8204Sr3,
    /// ACI 117 conventional: overall FF 20, FL 15.
    #[serde(rename = "ACI 117 conventional")]
    Aci117Conventional,
    /// ACI 117 moderately flat: overall FF 25, FL 20.
    #[serde(rename = "ACI 117 moderately flat")]
    Aci117ModeratelyFlat,
    /// ACI 117 flat: overall FF 35, FL 25.
    #[serde(rename = "ACI 117 flat")]
    Aci117Flat,
    /// ACI 117 very flat: overall FF 45, FL 35.
    #[serde(rename = "ACI 117 very flat")]
    Aci117VeryFlat,
    /// ACI 117 superflat: overall FF 60, FL 40.
    #[serde(rename = "ACI 117 superflat")]
    Aci117Superflat,
}

use FloorClass as Class;

impl FloorClass {
    /// All classes, each with its name.
    pub const ALL: [(Self, &'static str); 12] = [
        (Class::Din18202Row1, "DIN 18202 row 1"),
        (Class::Din18202Row2, "DIN 18202 row 2"),
        (Class::Din18202Row3, "DIN 18202 row 3"),
        (Class::Din18202Row4, "DIN 18202 row 4"),
        (Class::Bs8204Sr1, "BS 8204 SR1"),
        (Class::Bs8204Sr2, "BS 8204 SR2"),
        (Class::Bs8204Sr3, "BS 8204 SR3"),
        (Class::Aci117Conventional, "ACI 117 conventional"),
        (Class::Aci117ModeratelyFlat, "ACI 117 moderately flat"),
        (Class::Aci117Flat, "ACI 117 flat"),
        (Class::Aci117VeryFlat, "ACI 117 very flat"),
        (Class::Aci117Superflat, "ACI 117 superflat"),
    ];

    /// What the class asks.
    pub(crate) fn asks(self) -> Asks {
        match self {
            Class::Din18202Row1 => Asks::Din(DinRow::One),
            Class::Din18202Row2 => Asks::Din(DinRow::Two),
            Class::Din18202Row3 => Asks::Din(DinRow::Three),
            Class::Din18202Row4 => Asks::Din(DinRow::Four),
            Class::Bs8204Sr1 => Asks::Edge(3.0),
            Class::Bs8204Sr2 => Asks::Edge(5.0),
            Class::Bs8204Sr3 => Asks::Edge(10.0),
            Class::Aci117Conventional => Asks::Numbers([20.0, 15.0]),
            Class::Aci117ModeratelyFlat => Asks::Numbers([25.0, 20.0]),
            Class::Aci117Flat => Asks::Numbers([35.0, 25.0]),
            Class::Aci117VeryFlat => Asks::Numbers([45.0, 35.0]),
            Class::Aci117Superflat => Asks::Numbers([60.0, 40.0]),
        }
    }
}

impl fmt::Display for FloorClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(Self::ALL.iter().find(|(class, _)| class == self).map_or("", |(_, name)| name))
    }
}

impl FromStr for FloorClass {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        let known = Self::ALL.iter().find(|(_, name)| *name == text);
        known.map(|(class, _)| *class).ok_or_else(|| {
            let names = Self::ALL.map(|(_, name)| format!("{name:?}")).join(", ");
            let (got, expected) = (format!("{text:?}"), format!("one of {names}"));
            Error::new(ProblemKind::Value, "floor_class", got, expected)
        })
    }
}

/// Millimetres: the constants of FF and FL, 4.57 in and 12.5 in.
pub(crate) const FLATNESS: f64 = 4.57 * 25.4;
pub(crate) const LEVELNESS: f64 = 12.5 * 25.4;

/// What a class asks.
pub(crate) enum Asks {
    /// Gaps between high points, by their distance.
    Din(DinRow),
    /// A gap, mm, under a straightedge of 2 m.
    Edge(f64),
    /// Overall FF and FL.
    Numbers([f64; 2]),
}

/// A row of DIN 18202 table 3.
pub(crate) enum DinRow {
    One,
    Two,
    Three,
    Four,
}

impl DinRow {
    /// Gaps, mm, between high points .1, 1, 4, 10 and 15 m apart.
    fn gaps_mm(&self) -> [f64; 5] {
        match self {
            Self::One => [10.0, 15.0, 20.0, 25.0, 30.0],
            Self::Two => [5.0, 8.0, 12.0, 15.0, 20.0],
            Self::Three => [2.0, 4.0, 10.0, 12.0, 15.0],
            Self::Four => [1.0, 3.0, 9.0, 12.0, 15.0],
        }
    }
}

/// The quantity that a floor class limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum FloorQuantity {
    /// The gap under a straightedge, mm.
    Gap,
    /// FF of the whole floor.
    Flatness,
    /// FL of the whole floor.
    Levelness,
    /// FF of one line.
    LineFlatness,
    /// FL of one line.
    LineLevelness,
}

impl FloorQuantity {
    /// The name in documents and in Python: `"gap"`, `"FF"`, `"FL"`, `"line FF"` or `"line FL"`.
    pub fn name(self) -> &'static str {
        match self {
            Self::Gap => "gap",
            Self::Flatness => "FF",
            Self::Levelness => "FL",
            Self::LineFlatness => "line FF",
            Self::LineLevelness => "line FL",
        }
    }
}

impl fmt::Display for FloorQuantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// One thing that a floor class asks, and what the floor has.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct FloorFinding {
    /// The quantity that is limited.
    pub what: FloorQuantity,
    /// What was found; NaN where the survey does not tell.
    pub found: f64,
    /// What is allowed: at most, for a gap; at least, for an F-number.
    pub limit: f64,
    /// Whether it is kept; none where the survey does not tell.
    pub met: Option<bool>,
    /// The points that it was found at, by index: for a gap, the two that the edge rests on and the
    /// one between them; for an F-number, those of the line, or none for the whole floor.
    pub points: Vec<usize>,
}

/// Holds a survey of a floor, heights `z` at plan positions `xy`, mm, against a class of evenness:
/// line by line, by the rule of [`Limits`](crate::Limits): points whose y (x) lie within
/// `line_width_mm` of the least of the line are on one lengthwise (crosswise) line.
///
/// - DIN 18202: for every two high points of a line, the largest gap below the chord between them
///   against table 3, which is interpolated over their distance and rounded to whole millimetres;
///   nearer than .1 m and further than 15 m counts the end of the table. A finding a line: the one
///   closest to its limit, or furthest beyond.
/// - BS 8204: the largest gap under a straightedge of 2 m, a finding a line; NaN where the points are
///   so far apart that 2 m never cover three.
/// - ACI 117: the F-numbers of all lines together, and of each line against three fifths of them.
///   Points of a line must be 12 in or 300 mm apart, within 1 %. FL needs eleven points on a line.
///
/// A line of fewer than three points says nothing. What lies between the points is not known.
///
/// # Errors
/// Sizes that differ, values that are not finite, a negative width; a survey of which no line has
/// three points; for ACI 117, points that are not so far apart.
pub fn check_floor(
    xy: &[[f64; 2]],
    z: &[f64],
    class: FloorClass,
    line_width_mm: f64,
) -> Result<Vec<FloorFinding>, Error> {
    lines::check_points(xy, z, line_width_mm)?;
    let mut lines = lines::all(xy, z, line_width_mm);
    lines.retain(|line| line.points.len() >= 3);
    if lines.is_empty() {
        let got = format!("{} points, no three of them on a line", xy.len());
        let expected = "lines of at least three points along x or y";
        return Err(Error::new(ProblemKind::Geometry, "xy", got, expected));
    }
    match class.asks() {
        Asks::Din(row) => {
            let gaps = row.gaps_mm();
            Ok(lines.iter().filter_map(|line| din(line, gaps)).collect())
        }
        Asks::Edge(limit) => {
            let worst = |line: &Line| match straightedge::largest(line, 2000.0) {
                Some(gap) => of_gap(gap, limit),
                None => FloorFinding {
                    what: FloorQuantity::Gap,
                    found: f64::NAN,
                    limit,
                    met: None,
                    points: line.points.clone(),
                },
            };
            Ok(lines.iter().map(worst).collect())
        }
        Asks::Numbers(asked) => aci(&lines, asked),
    }
}

fn of_gap(gap: Gap, limit: f64) -> FloorFinding {
    let [a, b] = gap.rests_on;
    FloorFinding {
        what: FloorQuantity::Gap,
        found: gap.gap_mm,
        limit,
        met: Some(gap.gap_mm <= limit),
        points: vec![a, gap.at, b],
    }
}

/// The gap closest to its limit, or furthest beyond.
fn din(line: &Line, row: [f64; 5]) -> Option<FloorFinding> {
    let mut worst: Option<FloorFinding> = None;
    straightedge::rests(line, |gap| {
        let limit = allowed(row, gap.distance_mm);
        if worst.as_ref().is_none_or(|worst| gap.gap_mm * worst.limit > worst.found * limit) {
            worst = Some(of_gap(gap, limit));
        }
    });
    worst
}

/// What a row of DIN 18202 table 3 allows between two points so far apart, mm.
fn allowed(row: [f64; 5], distance_mm: f64) -> f64 {
    const AT: [f64; 5] = [100.0, 1000.0, 4000.0, 10_000.0, 15_000.0];
    let distance = distance_mm.clamp(AT[0], AT[4]);
    let step = AT[1..4].iter().filter(|at| **at <= distance).count();
    let part = (distance - AT[step]) / (AT[step + 1] - AT[step]);
    (row[step] + part * (row[step + 1] - row[step])).round()
}

/// The F-numbers of a floor, each the larger the evener; NaN where the lines are too short for it.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct FloorNumbers {
    /// FF, of the curvature from point to point.
    pub flatness: f64,
    /// FL, of the difference of height over ten steps.
    pub levelness: f64,
}

/// The F-numbers of ASTM E1155 from lines of heights, mm, each of points 12 in (or 300 mm) apart:
/// FF = 116.078 mm / (3 S_q + |q̄|) with q = hᵢ − 2 hᵢ₋₁ + hᵢ₋₂, and FL = 317.5 mm / (3 S_z + |z̄|)
/// with z = hᵢ − hᵢ₋₁₀; S the standard deviation and the bar the mean over a line. Lines are combined
/// by their numbers of values r as F = √(Σ r / Σ (r/F²)), so that it does not matter which way a line is
/// walked. The same constants serve 300 mm, which is 1.6 % less than 12 in: the standard's own for
/// metric surveys were not at hand. A line too short for a number does not count; an even floor has
/// infinity.
// The combination is from memory of the standard's clause on it.
pub fn floor_numbers(lines: &[&[f64]]) -> FloorNumbers {
    let bends =
        |line: &&[f64]| -> Vec<f64> { line.windows(3).map(|h| h[2] - 2.0 * h[1] + h[0]).collect() };
    let rises = |line: &&[f64]| -> Vec<f64> { line.windows(11).map(|h| h[10] - h[0]).collect() };
    FloorNumbers {
        flatness: combined(FLATNESS, lines.iter().map(bends)),
        levelness: combined(LEVELNESS, lines.iter().map(rises)),
    }
}

/// The F-number of lines by the values of each.
fn combined(constant: f64, lines: impl Iterator<Item = Vec<f64>>) -> f64 {
    let (mut weights, mut sum) = (0.0, 0.0);
    for values in lines {
        let count = values.len() as f64;
        let mean = values.iter().sum::<f64>() / count;
        let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
        // One value has no deviation, and none has no mean: both are NaN.
        let per_number = (3.0 * (squares / (count - 1.0)).sqrt() + mean.abs()) / constant;
        if !per_number.is_nan() {
            weights += count;
            sum += count * per_number * per_number;
        }
    }
    (weights / sum).sqrt()
}

fn aci(lines: &[Line], asked: [f64; 2]) -> Result<Vec<FloorFinding>, Error> {
    let mut found = Problems::default();
    for line in lines {
        for at in 1..line.points.len() {
            let step = line.stations[at] - line.stations[at - 1];
            if !(0.99 * 300.0..=1.01 * 304.8).contains(&step) {
                let field = format!("xy[{}] to xy[{}]", line.points[at - 1], line.points[at]);
                let expected = "12 in or 300 mm within 1 %, as F-numbers need";
                found.add(ProblemKind::Geometry, field, format!("{step} mm"), expected);
            }
        }
    }
    found.into_result()?;
    // The least that is asked of a part, three fifths, is asked of sections, such as slabs between joints;
    // a line alone is none, so it is reported and not judged.
    let findings = |lines: &[&Line], what: [FloorQuantity; 2], part: f64, judged: bool| {
        let heights: Vec<&[f64]> = lines.iter().map(|line| line.heights.as_slice()).collect();
        let FloorNumbers { flatness, levelness } = floor_numbers(&heights);
        let points = if let [line] = lines { line.points.clone() } else { Vec::new() };
        [(0, flatness), (1, levelness)].map(|(at, number)| FloorFinding {
            what: what[at],
            found: number,
            limit: part * asked[at],
            met: (judged && !number.is_nan()).then_some(number >= part * asked[at]),
            points: points.clone(),
        })
    };
    let all: Vec<&Line> = lines.iter().collect();
    let whole = [FloorQuantity::Flatness, FloorQuantity::Levelness];
    let mut told: Vec<FloorFinding> = findings(&all, whole, 1.0, true).into();
    for overall in &mut told {
        overall.points.clear();
    }
    for line in lines {
        let of_line = [FloorQuantity::LineFlatness, FloorQuantity::LineLevelness];
        told.extend(findings(&[line], of_line, 0.6, false));
    }
    Ok(told)
}

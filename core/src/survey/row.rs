//! A reading from a row of a table: what its columns are called, and which fields each kind has.
//!
//! CSV files and the DataFrames of Python are read here, so that the same row gives the same reading
//! and is refused with the same words.

use std::fmt::Display;
use std::str::FromStr;

use super::instrument::Instrument;
use super::measured::{Mm, Slope};
use super::reading::{Divisions, Reading, a_level};
use crate::error::{Error, ProblemKind, Problems};

/// Every column that a table may have.
pub(super) const COLUMNS: [&str; 16] = [
    "kind",
    "point",
    "a",
    "b",
    "value",
    "sigma",
    "setup",
    "instrument",
    "divisions",
    "sensitivity",
    "base",
    "span",
    "level",
    "turned",
    "at",
    "note",
];

/// A kind of reading, the fields that it needs, and those that it may have.
const KINDS: [(&str, &[&str], &[&str]); 7] = [
    ("height", &["point", "value"], &["sigma", "setup", "instrument"]),
    ("rise", &["a", "b", "value"], &["sigma"]),
    (
        "bubble",
        &["a", "b", "divisions", "sensitivity"],
        &["base", "span", "level", "turned", "sigma"],
    ),
    ("slope", &["a", "b", "value"], &["span", "level", "turned", "sigma"]),
    ("gap", &["point", "a", "b", "value"], &["at", "sigma"]),
    ("leg-gap", &["point", "value"], &["sigma"]),
    ("slate-gap", &["point", "value"], &["sigma"]),
];

/// What a cell of a table holds.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Cell {
    /// A text: an id, or a number with its unit.
    Text(String),
    /// A number: millimetres for a length, mm/m for a slope.
    Number(f64),
    /// Yes or no.
    Flag(bool),
    /// Several numbers, the divisions of a spirit level step by step.
    Numbers(Vec<f64>),
}

/// As a message shows it.
impl Display for Cell {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Text(text) => write!(f, "{text:?}"),
            Self::Number(number) => write!(f, "{number}"),
            Self::Flag(flag) => write!(f, "{flag}"),
            Self::Numbers(numbers) => write!(f, "{numbers:?}"),
        }
    }
}

/// The column that a name stands for, whatever its capitals, hyphens and blanks: `Set-up` is `setup`.
pub(super) fn column(name: &str) -> Option<&'static str> {
    let name: String = name.to_lowercase().chars().filter(|c| !" -_".contains(*c)).collect();
    COLUMNS.into_iter().find(|column| **column == name)
}

/// A word of a table as documents write it: `Leg_gap` and `leg gap` are `leg-gap`.
fn word(text: &str) -> String {
    text.trim().to_lowercase().replace(['_', ' '], "-")
}

impl Reading {
    /// A reading from a row of a table: cells by the names of their columns, which are `kind` and the
    /// fields of [`Reading`]. Empty cells are left out beforehand; a column `note` is not read.
    ///
    /// A text is a number with a unit, a number is millimetres (a slope's mm/m); several divisions are
    /// numbers, or a text that parts them by semicolons or blanks. Capitals, blanks, hyphens and
    /// underscores in the names of columns, kinds and instruments do not matter.
    ///
    /// ```
    /// use truebed::{Cell, Reading};
    /// let text = |text: &str| Cell::Text(text.to_owned());
    /// let row = [("Kind", text("rise")), ("a", text("A")), ("b", text("B")), ("value", Cell::Number(2.5))];
    /// assert_eq!(Reading::from_row(row)?, Reading::rise("A", "B", 2.5, None));
    /// # Ok::<(), truebed::Error>(())
    /// ```
    ///
    /// # Errors
    /// Everything that is wrong with the row, by column.
    pub fn from_row<'a>(cells: impl IntoIterator<Item = (&'a str, Cell)>) -> Result<Self, Error> {
        let mut found = Problems::default();
        let mut row = Row { cells: Vec::new(), place: &|name| name.to_owned(), found: &mut found };
        for (name, cell) in cells {
            match column(name) {
                Some(column) if row.cell(column).is_some() => {
                    row.refuse(
                        ProblemKind::Duplicate,
                        name,
                        format!("{name:?}"),
                        "each column once",
                    );
                }
                Some(column) => row.cells.push((column, cell)),
                None => row.refuse(
                    ProblemKind::Unknown,
                    name,
                    "an unknown column",
                    format!("one of {}", COLUMNS.join(", ")),
                ),
            }
        }
        let reading = row.reading();
        match (found.into_result(), reading) {
            (Ok(()), Some(reading)) => Ok(reading),
            (Err(error), _) => Err(error),
            (Ok(()), None) => Err(Error::new(ProblemKind::Value, "kind", "nothing", KIND)),
        }
    }
}

const KIND: &str = "height, rise, bubble, slope, gap, leg-gap or slate-gap";

/// One row: its cells by column, and where what is wrong is noted.
pub(super) struct Row<'a> {
    pub(super) cells: Vec<(&'static str, Cell)>,
    /// How a problem names the field of a column.
    pub(super) place: &'a dyn Fn(&str) -> String,
    pub(super) found: &'a mut Problems,
}

impl Row<'_> {
    /// The reading, if nothing is wrong with the row.
    pub(super) fn reading(&mut self) -> Option<Reading> {
        let given = match self.cell("kind") {
            Some(Cell::Text(kind)) => word(kind),
            Some(other) => other.to_string(),
            None => String::new(),
        };
        let Some((kind, needed, optional)) = KINDS.into_iter().find(|(kind, ..)| *kind == given)
        else {
            let got = self.cell("kind").map_or("nothing".to_owned(), Cell::to_string);
            self.refuse(ProblemKind::Value, "kind", got, KIND);
            return None;
        };
        for name in COLUMNS.into_iter().filter(|name| !["kind", "note"].contains(name)) {
            match self.cell(name) {
                None if needed.contains(&name) => {
                    let expected = format!("a value, which a {kind} needs");
                    self.refuse(ProblemKind::Value, name, "nothing", expected);
                }
                Some(cell) if !needed.contains(&name) && !optional.contains(&name) => {
                    let got = cell.to_string();
                    let expected = format!("nothing, since a {kind} has none");
                    self.refuse(ProblemKind::Value, name, got, expected);
                }
                _ => {}
            }
        }
        let [point, a, b, setup, level] =
            ["point", "a", "b", "setup", "level"].map(|name| self.name(name));
        let level = level.unwrap_or_else(a_level);
        let turned = self.turned();
        Some(match kind {
            "height" => {
                let (value, sigma) = (self.mm("value"), self.mm("sigma"));
                let instrument = self.instrument();
                Reading::Height { point: point?, value: value?, sigma, setup, instrument }
            }
            "rise" => {
                let (value, sigma) = (self.mm("value"), self.mm("sigma"));
                Reading::Rise { a: a?, b: b?, value: value?, sigma }
            }
            "bubble" => {
                let (divisions, sensitivity) = (self.divisions(), self.slope("sensitivity"));
                let (base, span, sigma) = (self.mm("base"), self.mm("span"), self.number("sigma"));
                let (a, b, divisions, sensitivity) = (a?, b?, divisions?, sensitivity?);
                Reading::Bubble { a, b, divisions, sensitivity, base, span, level, turned, sigma }
            }
            "slope" => {
                let (value, span) = (self.slope("value"), self.mm("span"));
                let sigma = self.slope("sigma");
                Reading::Slope { a: a?, b: b?, value: value?, span, level, turned, sigma }
            }
            "gap" => {
                let (value, sigma, at) = (self.mm("value"), self.mm("sigma"), self.number("at"));
                Reading::Gap { point: point?, a: a?, b: b?, value: value?, at, sigma }
            }
            "leg-gap" => {
                let (value, sigma) = (self.mm("value"), self.mm("sigma"));
                Reading::LegGap { point: point?, value: value?, sigma }
            }
            _ => {
                let (value, sigma) = (self.mm("value"), self.mm("sigma"));
                Reading::SlateGap { point: point?, value: value?, sigma }
            }
        })
    }

    fn cell(&self, name: &str) -> Option<&Cell> {
        self.cells.iter().find(|(column, _)| *column == name).map(|(_, cell)| cell)
    }

    /// An id or a name.
    fn name(&mut self, name: &str) -> Option<String> {
        match self.cell(name)?.clone() {
            Cell::Text(text) => Some(text),
            other => self.refused(name, &other, "a name, which is a text"),
        }
    }

    fn mm(&mut self, name: &str) -> Option<Mm> {
        match self.cell(name)?.clone() {
            Cell::Text(text) => self.parsed(name, &text),
            Cell::Number(mm) => Some(Mm(mm)),
            other => self.refused(name, &other, "a number of mm or a text with a unit"),
        }
    }

    fn slope(&mut self, name: &str) -> Option<Slope> {
        match self.cell(name)?.clone() {
            Cell::Text(text) => self.parsed(name, &text),
            Cell::Number(mm_per_m) => Some(Slope::from_mm_per_m(mm_per_m)),
            other => self.refused(name, &other, "a number of mm/m or a text with a unit"),
        }
    }

    fn parsed<T: FromStr<Err = Error>>(&mut self, name: &str, text: &str) -> Option<T> {
        match text.parse::<T>() {
            Ok(value) => Some(value),
            Err(error) => {
                for problem in error.problems() {
                    self.refuse(problem.kind, name, &problem.got, problem.expected.clone());
                }
                None
            }
        }
    }

    fn number(&mut self, name: &str) -> Option<f64> {
        let cell = self.cell(name)?.clone();
        let number = match &cell {
            Cell::Number(number) => Some(*number),
            Cell::Text(text) => text.trim().parse().ok(),
            _ => None,
        };
        number.or_else(|| self.refused(name, &cell, "a number without a unit"))
    }

    fn divisions(&mut self) -> Option<Divisions> {
        let expected = "numbers parted by semicolons";
        let cell = self.cell("divisions")?.clone();
        let steps = match &cell {
            Cell::Number(number) => return Some(Divisions::One(*number)),
            Cell::Numbers(numbers) => return Some(Divisions::Steps(numbers.clone())),
            Cell::Flag(_) => return self.refused("divisions", &cell, expected),
            Cell::Text(text) => {
                // Nothing beside a semicolon is a number that is missing.
                let parts = text.split(';').flat_map(|part| match part.trim() {
                    "" => vec![part],
                    part => part.split_whitespace().collect(),
                });
                parts.map(str::parse).collect::<Result<Vec<f64>, _>>()
            }
        };
        match steps {
            Ok(steps) if steps.len() == 1 => Some(Divisions::One(steps[0])),
            Ok(steps) => Some(Divisions::Steps(steps)),
            Err(_) => self.refused("divisions", &cell, expected),
        }
    }

    fn turned(&mut self) -> bool {
        let Some(cell) = self.cell("turned").cloned() else { return false };
        let known = match &cell {
            Cell::Flag(flag) => Some(*flag),
            Cell::Number(number) if *number == 0.0 || *number == 1.0 => Some(*number == 1.0),
            Cell::Text(text) => match word(text).as_str() {
                "no" | "false" | "0" => Some(false),
                "yes" | "true" | "1" => Some(true),
                _ => None,
            },
            _ => None,
        };
        known.or_else(|| self.refused("turned", &cell, "yes or no")).unwrap_or_default()
    }

    fn instrument(&mut self) -> Option<Instrument> {
        let cell = self.cell("instrument")?.clone();
        let known = match &cell {
            Cell::Text(text) => serde_json::from_value(word(text).into()).ok(),
            _ => None,
        };
        known
            .or_else(|| self.refused("instrument", &cell, "staff, water-level, laser or indicator"))
    }

    fn refused<T>(&mut self, name: &str, cell: &Cell, expected: &str) -> Option<T> {
        self.refuse(ProblemKind::Value, name, cell, expected);
        None
    }

    fn refuse(
        &mut self,
        kind: ProblemKind,
        name: &str,
        got: impl Display,
        expected: impl Into<String>,
    ) {
        self.found.add(kind, (self.place)(name), got, expected);
    }
}

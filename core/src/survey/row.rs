//! A reading from a row of a table.
//!
//! CSV files and the DataFrames of Python are read here, so that the same row gives the same reading
//! and is refused with the same words.

use std::fmt::Display;
use std::str::FromStr;

use super::divisions::Divisions;
use super::fields::ReadingFields;
use super::instrument::Instrument;
use super::measured::{Mm, Slope};
use super::reading::{Reading, ReadingKind};
use crate::error::{Error, ProblemKind, Problems};

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
    ReadingKind::COLUMNS.into_iter().find(|column| **column == name)
}

/// A word of a table as documents write it: `Leg_gap` and `leg gap` are `leg-gap`.
fn word(text: &str) -> String {
    text.trim().to_lowercase().replace(['_', ' '], "-")
}

impl Reading {
    /// A reading from a row of a table: cells by the names of their columns, which are `kind` and the
    /// fields of [`Reading`]. Empty cells are left out beforehand.
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
        let mut row = Row {
            cells: Vec::new(),
            decimal_comma: false,
            place: &|name| name.to_owned(),
            found: &mut found,
        };
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
                    format!("one of {}", ReadingKind::COLUMNS.join(", ")),
                ),
            }
        }
        let reading = row.reading();
        match (found.into_result(), reading) {
            (Ok(()), Some(reading)) => Ok(reading),
            (Err(error), _) => Err(error),
            (Ok(()), None) => {
                Err(Error::new(ProblemKind::Value, "kind", "nothing", ReadingKind::names()))
            }
        }
    }
}

/// One row: its cells by column, and where what is wrong is noted.
pub(super) struct Row<'a> {
    pub(super) cells: Vec<(&'static str, Cell)>,
    /// Whether a comma in a number is its decimal point.
    pub(super) decimal_comma: bool,
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
        let Some(kind) = ReadingKind::named(&given) else {
            let got = self.cell("kind").map_or("nothing".to_owned(), Cell::to_string);
            self.refuse(ProblemKind::Value, "kind", got, ReadingKind::names());
            return None;
        };
        let ReadingKind { name, needed, optional, .. } = kind;
        for column in ReadingKind::COLUMNS.into_iter().filter(|it| *it != "kind") {
            match self.cell(column) {
                None if needed.contains(&column) => {
                    let expected = format!("a value, which a {name} needs");
                    self.refuse(ProblemKind::Value, column, "nothing", expected);
                }
                Some(cell) if !needed.contains(&column) && !optional.contains(&column) => {
                    let got = cell.to_string();
                    let expected = format!("nothing, since a {name} has none");
                    self.refuse(ProblemKind::Value, column, got, expected);
                }
                _ => {}
            }
        }
        kind.read(self)
    }

    fn cell(&self, name: &str) -> Option<&Cell> {
        self.cells.iter().find(|(column, _)| *column == name).map(|(_, cell)| cell)
    }

    /// A cell that holds a number, or several.
    fn figure(&self, name: &str) -> Option<Cell> {
        match self.cell(name)? {
            Cell::Text(text) if self.decimal_comma => Some(Cell::Text(text.replace(',', "."))),
            other => Some(other.clone()),
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

impl ReadingFields for Row<'_> {
    fn text(&mut self, name: &'static str) -> Option<String> {
        match self.cell(name)?.clone() {
            Cell::Text(text) => Some(text),
            other => self.refused(name, &other, "a text"),
        }
    }

    fn mm(&mut self, name: &'static str) -> Option<Mm> {
        match self.figure(name)? {
            Cell::Text(text) => self.parsed(name, &text),
            Cell::Number(mm) => Some(Mm(mm)),
            other => self.refused(name, &other, "a number of mm or a text with a unit"),
        }
    }

    fn slope(&mut self, name: &'static str) -> Option<Slope> {
        match self.figure(name)? {
            Cell::Text(text) => self.parsed(name, &text),
            Cell::Number(mm_per_m) => Some(Slope::from_mm_per_m(mm_per_m)),
            other => self.refused(name, &other, "a number of mm/m or a text with a unit"),
        }
    }

    fn number(&mut self, name: &'static str) -> Option<f64> {
        let cell = self.figure(name)?;
        let number = match &cell {
            Cell::Number(number) => Some(*number),
            Cell::Text(text) => text.trim().parse().ok(),
            _ => None,
        };
        number.or_else(|| self.refused(name, &cell, "a number without a unit"))
    }

    fn divisions(&mut self, name: &'static str) -> Option<Divisions> {
        let expected = "numbers parted by semicolons";
        let cell = self.figure(name)?;
        let steps = match &cell {
            Cell::Number(number) => return Some(Divisions::One(*number)),
            Cell::Numbers(numbers) => return Some(Divisions::Steps(numbers.clone())),
            Cell::Flag(_) => return self.refused(name, &cell, expected),
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
            Err(_) => self.refused(name, &cell, expected),
        }
    }

    fn flag(&mut self, name: &'static str) -> Option<bool> {
        let cell = self.cell(name)?.clone();
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
        known.or_else(|| self.refused(name, &cell, "yes or no"))
    }

    fn instrument(&mut self, name: &'static str) -> Option<Instrument> {
        let cell = self.cell(name)?.clone();
        let known = match &cell {
            Cell::Text(text) => serde_json::from_value(word(text).into()).ok(),
            _ => None,
        };
        known.or_else(|| self.refused(name, &cell, "staff, water-level, laser or indicator"))
    }
}

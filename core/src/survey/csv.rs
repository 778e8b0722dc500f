//! Readings from a table of comma-separated values.

use std::str::FromStr;

use csv::{ReaderBuilder, StringRecord, Trim};

use super::instrument::Instrument;
use super::measured::{Mm, Slope};
use super::reading::{Divisions, Reading};
use crate::error::{Error, ProblemKind, Problems};

const COLUMNS: [&str; 16] = [
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

/// Reads readings from comma-separated values: a line of column names in any order, then one
/// reading a line. The columns are `kind` and the fields of [`Reading`] by name; those that no
/// reading needs may be left out, and cells that a reading does not need stay empty. Several
/// `divisions` stand in one cell, parted by semicolons; `turned` is yes or no; a column `note` is
/// not read; lines that begin with # are left out.
///
/// ```
/// let readings = truebed::readings_from_csv("
/// kind,  point, setup, a, b, value,   sigma
/// height, A,    S1,     ,  , 1203 mm,
/// height, B,    S1,     ,  , 1201 mm,
/// rise,    ,      ,    A, B, 1.8 mm,  0.1 mm
/// ")?;
/// assert_eq!(readings.len(), 3);
/// # Ok::<(), truebed::Error>(())
/// ```
///
/// # Errors
/// Everything that is wrong, by line and column: columns that are unknown or named twice, lines
/// of another length, cells that cannot be read, that are missing, or that the kind does not have.
pub fn readings_from_csv(text: &str) -> Result<Vec<Reading>, Error> {
    let text = text.trim_start_matches('\u{feff}');
    let mut reader = ReaderBuilder::new()
        .trim(Trim::All)
        .comment(Some(b'#'))
        .flexible(true)
        .from_reader(text.as_bytes());
    let mut found = Problems::default();
    let header = match reader.headers() {
        Ok(header) => header.clone(),
        Err(error) => return Err(unreadable(&error)),
    };
    let line = line_of(text, header.position());
    for (at, name) in header.iter().enumerate() {
        let field = format!("line {line}");
        if !COLUMNS.contains(&name) {
            let expected = format!("columns of these: {}", COLUMNS.join(", "));
            found.add(ProblemKind::Unknown, field, format!("{name:?}"), expected);
        } else if header.iter().take(at).any(|other| other == name) {
            found.add(ProblemKind::Duplicate, field, format!("{name:?}"), "each column once");
        }
    }
    if !header.iter().any(|name| name == "kind") {
        let expected = "a column \"kind\"";
        found.add(ProblemKind::Document, format!("line {line}"), "none", expected);
    }
    found.into_result()?;
    let mut found = Problems::default();
    let mut readings = Vec::new();
    for record in reader.records() {
        match record {
            Ok(record) => {
                if record.iter().all(str::is_empty) {
                    continue;
                }
                let line = line_of(text, record.position());
                if record.len() > header.len() {
                    let expected = format!("at most {}", header.len());
                    let got = format!("{} cells", record.len());
                    found.add(ProblemKind::Shape, format!("line {line}"), got, expected);
                    continue;
                }
                let mut row = Row { header: &header, record: &record, line, found: &mut found };
                readings.extend(row.reading());
            }
            Err(error) => {
                found.take::<()>(Err(unreadable(&error)));
            }
        }
    }
    found.into_result()?;
    Ok(readings)
}

/// The line on which a record begins. The reader's position is where it began to look for it, before
/// empty lines and remarks.
fn line_of(text: &str, position: Option<&csv::Position>) -> u64 {
    let Some(position) = position else { return 1 };
    let from = usize::try_from(position.byte()).ok().and_then(|byte| text.get(byte..));
    let skipped =
        from.unwrap_or_default().lines().take_while(|l| l.is_empty() || l.starts_with('#'));
    position.line() + skipped.count() as u64
}

fn unreadable(error: &csv::Error) -> Error {
    let line = error.position().map_or(0, csv::Position::line);
    let field = format!("line {line}");
    Error::new(ProblemKind::Document, field, error, "comma-separated values in UTF-8")
}

/// One line of the table.
struct Row<'a> {
    header: &'a StringRecord,
    record: &'a StringRecord,
    line: u64,
    found: &'a mut Problems,
}

impl<'a> Row<'a> {
    fn reading(&mut self) -> Option<Reading> {
        let kind = self.text("kind").unwrap_or_default();
        let (needed, optional): (&[&str], &[&str]) = match kind {
            "height" => (&["point", "value"], &["sigma", "setup", "instrument"]),
            "rise" => (&["a", "b", "value"], &["sigma"]),
            "bubble" => (
                &["a", "b", "divisions", "sensitivity"],
                &["base", "span", "level", "turned", "sigma"],
            ),
            "slope" => (&["a", "b", "value"], &["span", "level", "turned", "sigma"]),
            "gap" => (&["point", "a", "b", "value"], &["at", "sigma"]),
            "leg-gap" => (&["point", "value"], &["sigma"]),
            _ => {
                let expected = "height, rise, bubble, slope, gap or leg-gap";
                self.refuse(ProblemKind::Value, "kind", format!("{kind:?}"), expected);
                return None;
            }
        };
        for name in COLUMNS.iter().filter(|name| !["kind", "note"].contains(name)) {
            match self.text(name) {
                None if needed.contains(name) => {
                    let expected = format!("a value, which a {kind} needs");
                    self.refuse(ProblemKind::Value, name, "nothing", expected);
                }
                Some(cell) if !needed.contains(name) && !optional.contains(name) => {
                    let expected = format!("nothing, since a {kind} has none");
                    self.refuse(ProblemKind::Value, name, format!("{cell:?}"), expected);
                }
                _ => {}
            }
        }
        let [point, a, b, setup, level] =
            ["point", "a", "b", "setup", "level"].map(|name| self.text(name).map(str::to_owned));
        let level = level.unwrap_or_else(|| "level".to_owned());
        let turned = self.turned();
        Some(match kind {
            "height" => {
                let (value, sigma) = (self.cell::<Mm>("value"), self.cell("sigma"));
                let instrument = self.instrument();
                Reading::Height { point: point?, value: value?, sigma, setup, instrument }
            }
            "rise" => {
                let (value, sigma) = (self.cell("value"), self.cell("sigma"));
                Reading::Rise { a: a?, b: b?, value: value?, sigma }
            }
            "bubble" => {
                let (divisions, sensitivity) = (self.divisions(), self.cell("sensitivity"));
                let (base, span, sigma) =
                    (self.cell("base"), self.cell("span"), self.number("sigma"));
                let (a, b, divisions, sensitivity) = (a?, b?, divisions?, sensitivity?);
                Reading::Bubble { a, b, divisions, sensitivity, base, span, level, turned, sigma }
            }
            "slope" => {
                let (value, span) = (self.cell::<Slope>("value"), self.cell("span"));
                let sigma = self.cell("sigma");
                Reading::Slope { a: a?, b: b?, value: value?, span, level, turned, sigma }
            }
            "gap" => {
                let (value, sigma, at) =
                    (self.cell("value"), self.cell("sigma"), self.number("at"));
                Reading::Gap { point: point?, a: a?, b: b?, value: value?, at, sigma }
            }
            _ => {
                let (value, sigma) = (self.cell("value"), self.cell("sigma"));
                Reading::LegGap { point: point?, value: value?, sigma }
            }
        })
    }

    /// A cell that is not empty.
    fn text(&self, name: &str) -> Option<&'a str> {
        let at = self.header.iter().position(|column| column == name)?;
        self.record.get(at).filter(|cell| !cell.is_empty())
    }

    fn cell<T: FromStr<Err = Error>>(&mut self, name: &str) -> Option<T> {
        match self.text(name)?.parse::<T>() {
            Ok(value) => Some(value),
            Err(error) => {
                for problem in error.problems() {
                    let field = format!("line {}, {name}", self.line);
                    self.found.add(problem.kind, field, &problem.got, problem.expected.clone());
                }
                None
            }
        }
    }

    fn number(&mut self, name: &str) -> Option<f64> {
        let cell = self.text(name)?.to_owned();
        let number = cell.parse().ok();
        if number.is_none() {
            self.refuse(ProblemKind::Value, name, format!("{cell:?}"), "a number without a unit");
        }
        number
    }

    fn divisions(&mut self) -> Option<Divisions> {
        let cell = self.text("divisions")?.to_owned();
        let steps: Result<Vec<f64>, _> = cell.split(';').map(|step| step.trim().parse()).collect();
        match steps {
            Ok(steps) if steps.len() == 1 => Some(Divisions::One(steps[0])),
            Ok(steps) => Some(Divisions::Steps(steps)),
            Err(_) => {
                let expected = "numbers parted by semicolons";
                self.refuse(ProblemKind::Value, "divisions", format!("{cell:?}"), expected);
                None
            }
        }
    }

    fn turned(&mut self) -> bool {
        match self.text("turned").map(str::to_lowercase).as_deref() {
            None | Some("no" | "false" | "0") => false,
            Some("yes" | "true" | "1") => true,
            Some(cell) => {
                self.refuse(ProblemKind::Value, "turned", format!("{cell:?}"), "yes or no");
                false
            }
        }
    }

    fn instrument(&mut self) -> Option<Instrument> {
        let cell = self.text("instrument")?.to_owned();
        let instrument = serde_json::from_value(cell.clone().into()).ok();
        if instrument.is_none() {
            let expected = "staff, water-level, laser or indicator";
            self.refuse(ProblemKind::Value, "instrument", format!("{cell:?}"), expected);
        }
        instrument
    }

    fn refuse(
        &mut self,
        kind: ProblemKind,
        name: &str,
        got: impl std::fmt::Display,
        expected: impl Into<String>,
    ) {
        self.found.add(kind, format!("line {}, {name}", self.line), got, expected);
    }
}

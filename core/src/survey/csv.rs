//! Readings from a table of comma-separated values.

use csv::{ReaderBuilder, StringRecord, Trim};

use super::reading::{Reading, ReadingKind};
use super::row::{Cell, Row, column};
use crate::error::{Error, ProblemKind, Problems};

/// Reads readings from a table of comma-separated values: a line of column names in any order, then
/// one reading a line. The columns are `kind` and the fields of [`Reading`] by name, in any capitals;
/// those that no reading needs may be left out, and cells that a reading does not need stay empty. A
/// number needs its unit. Several `divisions` stand in one cell, parted by semicolons or blanks;
/// `turned` is yes or no; a `note` is a remark of your own, which is kept; lines that begin with # are left out.
///
/// Cells may be parted by semicolons or tabs instead of commas: the line of names tells. Where they are
/// parted by semicolons, a comma in a number is its decimal point.
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
    let delimiter = delimiter(text);
    let mut reader = ReaderBuilder::new()
        .delimiter(delimiter)
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
    let columns: Vec<_> = header.iter().map(column).collect();
    for (at, name) in header.iter().enumerate() {
        let field = format!("line {line}");
        if columns[at].is_none() {
            let expected = format!("columns of these: {}", ReadingKind::COLUMNS.join(", "));
            found.add(ProblemKind::Unknown, field, format!("{name:?}"), expected);
        } else if columns[..at].contains(&columns[at]) {
            found.add(ProblemKind::Duplicate, field, format!("{name:?}"), "each column once");
        }
    }
    if !columns.contains(&Some("kind")) {
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
                let (cells, decimal_comma) = (cells(&columns, &record), delimiter == b';');
                let place = |name: &str| format!("line {line}, {name}");
                let mut row = Row { cells, decimal_comma, place: &place, found: &mut found };
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

/// What parts the cells of a line: what its line of names has, a tab or a semicolon before a comma.
fn delimiter(text: &str) -> u8 {
    let names = text.lines().find(|line| !line.trim().is_empty() && !line.starts_with('#'));
    let names = names.unwrap_or_default().as_bytes();
    *b"\t;".iter().find(|mark| names.contains(mark)).unwrap_or(&b',')
}

/// The cells that are not empty, by column.
fn cells(columns: &[Option<&'static str>], record: &StringRecord) -> Vec<(&'static str, Cell)> {
    let cells = columns.iter().zip(record).filter(|(_, text)| !text.is_empty());
    cells.filter_map(|(column, text)| Some(((*column)?, Cell::Text(text.to_owned())))).collect()
}

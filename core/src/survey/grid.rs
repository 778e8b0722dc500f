//! A grid of level steps.

use super::line::SpiritLevel;
use super::reading::Reading;
use crate::error::{Error, ProblemKind, Problems};

/// The readings of a level stepped along all lines of a grid: `ids` row by row; `along`, one number
/// of divisions for each step within a row, from its first point on; `across`, one for each step
/// from a row to the next. Every mesh closes, so that each reading is checked.
///
/// # Errors
/// Rows of different lengths, or not one number for each step; a base, a sensitivity or a σ that is
/// not above zero.
pub fn level_grid(
    level: &SpiritLevel,
    ids: &[Vec<String>],
    along: &[Vec<f64>],
    across: &[Vec<f64>],
) -> Result<Vec<Reading>, Error> {
    let mut found = Problems::default();
    let columns = ids.first().map_or(0, Vec::len);
    let mut check = |name: &str, rows: Vec<usize>, (count, width): (usize, usize)| {
        if rows.len() != count {
            let expected = format!("{count} rows");
            found.add(ProblemKind::Shape, name, format!("{} rows", rows.len()), expected);
        }
        for (at, row) in rows.into_iter().enumerate().filter(|(_, row)| *row != width) {
            let expected = format!("{width} values");
            found.add(
                ProblemKind::Shape,
                format!("{name}[{at}]"),
                format!("{row} values"),
                expected,
            );
        }
    };
    let sizes = |rows: &[Vec<f64>]| rows.iter().map(Vec::len).collect();
    check("ids", ids.iter().map(Vec::len).collect(), (ids.len(), columns));
    check("along", sizes(along), (ids.len(), columns.saturating_sub(1)));
    check("across", sizes(across), (ids.len().saturating_sub(1), columns));
    found.take(level.check_step());
    found.into_result()?;
    let mut readings = Vec::new();
    for (row, read) in ids.iter().zip(along) {
        let steps = row.windows(2).zip(read);
        readings.extend(steps.map(|(ends, &read)| level.step(&ends[0], &ends[1], read, false)));
    }
    for (rows, read) in ids.windows(2).zip(across) {
        let steps = rows[0].iter().zip(&rows[1]).zip(read);
        readings.extend(steps.map(|((a, b), &read)| level.step(a, b, read, false)));
    }
    Ok(readings)
}

//! Many planes in one call.

use std::num::NonZero;

use super::blocks;
use super::fit_plane::{fit, scale};
use super::kind::PlaneKind;
use crate::error::{Error, ProblemKind, Problems};

/// Planes of many tables, column by column; see [`Plane`](super::Plane) for what each is.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Planes {
    /// Slope along x, one a table.
    pub slope_x: Vec<f64>,
    /// Slope along y, one a table.
    pub slope_y: Vec<f64>,
    /// Height of the plane at x = y = 0, mm, one a table.
    pub offset_mm: Vec<f64>,
    /// Deviations, mm: tables × points, table by table.
    pub deviations_mm: Vec<f64>,
    /// Peak-to-valley, mm, one a table.
    pub flatness_mm: Vec<f64>,
    /// Root mean square of the deviations, mm, one a table.
    pub rms_mm: Vec<f64>,
    /// Largest deviation above the plane, mm, one a table.
    pub above_mm: Vec<f64>,
    /// Largest deviation below the plane, mm, one a table.
    pub below_mm: Vec<f64>,
}

/// Fits a plane to each of many tables of `points` points, on all cores; each is that of
/// [`fit_plane`](super::fit_plane). Heights `z` come table by table, mm; `xy` holds the plan
/// positions of one table, which then all have, or those of every table.
///
/// # Errors
/// Sizes that do not go into each other; those of `fit_plane`, with the table: `tables[7].z[2]`.
pub fn fit_planes(
    xy: &[[f64; 2]],
    z: &[f64],
    points: usize,
    kind: PlaneKind,
) -> Result<Planes, Error> {
    fit_planes_on(None, xy, z, points, kind)
}

/// Fits planes as [`fit_planes`] does, on at most so many threads; the default is one for each core. The
/// planes are the same on any number. Where no thread can be started, the thread of this call does the
/// work.
///
/// # Errors
/// Those of [`fit_planes`].
pub fn fit_planes_on(
    threads: Option<NonZero<usize>>,
    xy: &[[f64; 2]],
    z: &[f64],
    points: usize,
    kind: PlaneKind,
) -> Result<Planes, Error> {
    let mut found = Problems::default();
    if points < 3 {
        found.add(ProblemKind::Geometry, "points", points, "at least 3 for a plane");
    } else if !z.len().is_multiple_of(points) {
        let expected = format!("tables of {points}");
        found.add(ProblemKind::Shape, "z", format!("{} values", z.len()), expected);
    }
    if xy.len() != points && xy.len() != z.len() {
        let expected = format!("{points}, for all tables, or {}, one for each height", z.len());
        found.add(ProblemKind::Shape, "xy", format!("{} rows", xy.len()), expected);
    }
    found.into_result()?;

    let shared = xy.len() == points;
    let mut deviations_mm = vec![0.0; z.len()];
    let blocks = blocks::fill_on(threads, &mut deviations_mm, points * 256, |range, out| {
        let tables = (range.start / points..).zip(out.chunks_mut(points));
        let one = |(table, out): (usize, &mut [f64])| {
            let own = table * points..(table + 1) * points;
            let xy = if shared { xy } else { &xy[own.clone()] };
            let z = &z[own];
            let fit = fit(xy, z, kind, None)
                .map_err(|error| error.within(&format!("tables[{table}]")))?;
            let spread = fit.deviate(xy, z, scale(kind, &fit), out);
            Ok([
                fit.slope[0],
                fit.slope[1],
                fit.offset(),
                spread.highest - spread.lowest,
                spread.rms(points),
                spread.highest.max(0.0),
                (-spread.lowest).max(0.0),
            ])
        };
        tables.map(one).collect::<Vec<Result<_, Error>>>()
    });
    let mut found = Problems::default();
    let rows: Vec<[f64; 7]> =
        blocks.into_iter().flatten().filter_map(|row| found.take(row)).collect();
    found.into_result()?;
    let column = |at: usize| rows.iter().map(|row| row[at]).collect();
    Ok(Planes {
        slope_x: column(0),
        slope_y: column(1),
        offset_mm: column(2),
        flatness_mm: column(3),
        rms_mm: column(4),
        above_mm: column(5),
        below_mm: column(6),
        deviations_mm,
    })
}

//! The highest support, slopes, straightedges and floor classes.

use numpy::{IntoPyArray, PyReadonlyArray1, PyReadonlyArray2, PyReadonlyArrayDyn};
use pyo3::prelude::*;
use truebed::{FloorClass, LocalSlope};

use crate::error::{Problems, Refused, one, raised, shown};
use crate::plane::uncertainty;
use crate::result::result;
use crate::value;

/// A `truebed.Highest`.
#[pyfunction]
pub(crate) fn highest<'py>(
    py: Python<'py>,
    heights: PyReadonlyArray1<'py, f64>,
    known: &str,
    values: PyReadonlyArrayDyn<'py, f64>,
    confidence: f64,
    ids: &Bound<'py, PyAny>,
) -> PyResult<Bound<'py, PyAny>> {
    let (heights, uncertainty) = (heights.as_slice()?, uncertainty(known, values.as_slice()?));
    let found = py
        .detach(|| truebed::highest(heights, uncertainty, confidence))
        .map_err(|error| raised(py, &error))?;
    Ok(result!(
        py,
        "_highest",
        Highest {
            highest: found.highest,
            probabilities: found.probabilities.into_pyarray(py),
            error: found.error,
            candidates: found.candidates,
            decided: found.decided,
            ids: ids,
        }
    ))
}

/// A `truebed.LocalSlopes`.
#[pyfunction]
pub(crate) fn local_slopes<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    line_width: &Bound<'py, PyAny>,
) -> PyResult<Bound<'py, PyAny>> {
    let width = one(py, "line_width", value::length(line_width))?.mm();
    let (xy, z) = (xy.as_slice()?, z.as_slice()?);
    let slopes = py
        .detach(|| truebed::local_slopes(xy.as_chunks().0, z, width))
        .map_err(|error| raised(py, &error))?;
    let slope = |it: &LocalSlope| {
        let points = it.points.to_vec();
        Ok(result!(py, "_floor", LocalSlope { points: points, slope: it.slope }))
    };
    let all = |slopes: &[LocalSlope]| slopes.iter().map(slope).collect::<PyResult<Vec<_>>>();
    let (along, across) = (all(&slopes.along)?, all(&slopes.across)?);
    Ok(result!(py, "_floor", LocalSlopes { along: along, across: across }))
}

/// A `truebed.Gap`, or None; on the line between two places where `ends` are given.
#[pyfunction]
pub(crate) fn straightedge<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    ends: Option<[[f64; 2]; 2]>,
    length: &Bound<'py, PyAny>,
    line_width: &Bound<'py, PyAny>,
) -> PyResult<Option<Bound<'py, PyAny>>> {
    let mut found = Problems::default();
    let length = found.take(|| "length".to_owned(), value::length(length));
    let width = found.take(|| "line_width".to_owned(), value::length(line_width));
    let (length, width) = found.finish(py, length.zip(width))?;
    let (length, width) = (length.mm(), width.mm());
    let (xy, z) = (xy.as_slice()?.as_chunks().0, z.as_slice()?);
    let gap = py
        .detach(|| match ends {
            None => truebed::straightedge(xy, z, length, width),
            Some([start, end]) => truebed::straightedge_between(xy, z, start, end, length, width),
        })
        .map_err(|error| raised(py, &error))?;
    let Some(gap) = gap else { return Ok(None) };
    Ok(Some(result!(
        py,
        "_floor",
        Gap {
            gap_mm: gap.gap_mm,
            at: gap.at,
            rests_on: gap.rests_on.to_vec(),
            distance_mm: gap.distance_mm,
        }
    )))
}

/// A list of `truebed.FloorFinding`.
#[pyfunction]
pub(crate) fn check_floor<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    floor_class: &Bound<'py, PyAny>,
    line_width: &Bound<'py, PyAny>,
) -> PyResult<Vec<Bound<'py, PyAny>>> {
    let mut found = Problems::default();
    let class = found.take(|| "floor_class".to_owned(), self::class(floor_class));
    let width = found.take(|| "line_width".to_owned(), value::length(line_width));
    let (class, width) = found.finish(py, class.zip(width))?;
    let (xy, z) = (xy.as_slice()?.as_chunks().0, z.as_slice()?);
    let findings = py
        .detach(|| truebed::check_floor(xy, z, class, width.mm()))
        .map_err(|error| raised(py, &error))?;
    self::findings(py, &findings)
}

/// A class by its name.
pub(crate) fn class(name: &Bound<'_, PyAny>) -> Result<FloorClass, Refused> {
    let class = name.extract::<&str>().ok().and_then(|name| name.parse().ok());
    class.ok_or_else(|| {
        let names = FloorClass::ALL.map(|(_, name)| format!("{name:?}")).join(", ");
        Refused::value(shown(name), format!("one of {names}"))
    })
}

/// A `truebed.FloorFinding` of each.
pub(crate) fn findings<'py>(
    py: Python<'py>,
    findings: &[truebed::FloorFinding],
) -> PyResult<Vec<Bound<'py, PyAny>>> {
    let finding = |it: &truebed::FloorFinding| {
        Ok(result!(
            py,
            "_floor",
            FloorFinding {
                what: it.what.name(),
                found: it.found,
                limit: it.limit,
                met: it.met,
                points: &it.points,
            }
        ))
    };
    findings.iter().map(finding).collect()
}

/// A `truebed.FloorNumbers` of lines of heights.
#[pyfunction]
pub(crate) fn floor_numbers<'py>(
    py: Python<'py>,
    lines: Vec<PyReadonlyArray1<'py, f64>>,
) -> PyResult<Bound<'py, PyAny>> {
    let lines = lines.iter().map(PyReadonlyArray1::as_slice).collect::<Result<Vec<_>, _>>()?;
    let numbers = py.detach(|| truebed::floor_numbers(&lines));
    Ok(result!(
        py,
        "_floor",
        FloorNumbers { flatness: numbers.flatness, levelness: numbers.levelness }
    ))
}

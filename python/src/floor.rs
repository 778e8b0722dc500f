//! The highest support, slopes, straightedges and floor classes.

use numpy::{IntoPyArray, PyReadonlyArray1, PyReadonlyArray2, PyReadonlyArrayDyn};
use pyo3::prelude::*;
use pyo3::types::PyTuple;
use truebed::{FloorClass, FloorFinding, Gap, LocalSlope};

use crate::error::{Problems, Refused, one, raised, shown};
use crate::plane::uncertainty;
use crate::value;

type SlopeValues = (Vec<usize>, f64);
type FindingValues = (&'static str, f64, f64, Option<bool>, Vec<usize>);
type GapValues = (f64, usize, Vec<usize>, f64);

/// The values of a `truebed.Highest`, in the order of its fields.
#[pyfunction]
pub(crate) fn highest<'py>(
    py: Python<'py>,
    heights: PyReadonlyArray1<'py, f64>,
    known: &str,
    values: PyReadonlyArrayDyn<'py, f64>,
    confidence: f64,
) -> PyResult<Bound<'py, PyTuple>> {
    let (heights, uncertainty) = (heights.as_slice()?, uncertainty(known, values.as_slice()?));
    let found = py
        .detach(|| truebed::highest(heights, uncertainty, confidence))
        .map_err(|error| raised(py, &error))?;
    let probabilities = found.probabilities.into_pyarray(py);
    (found.highest, probabilities, found.error, found.candidates, found.decided).into_pyobject(py)
}

/// The values of each `truebed.LocalSlope` along and across.
#[pyfunction]
pub(crate) fn local_slopes(
    py: Python<'_>,
    xy: PyReadonlyArray2<'_, f64>,
    z: PyReadonlyArray1<'_, f64>,
    line_width: &Bound<'_, PyAny>,
) -> PyResult<(Vec<SlopeValues>, Vec<SlopeValues>)> {
    let width = one(py, "line_width", value::length(line_width))?.mm();
    let (xy, z) = (xy.as_slice()?, z.as_slice()?);
    let slopes = py
        .detach(|| truebed::local_slopes(xy.as_chunks().0, z, width))
        .map_err(|error| raised(py, &error))?;
    let values = |slopes: Vec<LocalSlope>| {
        slopes.into_iter().map(|it| (it.points.to_vec(), it.slope)).collect()
    };
    Ok((values(slopes.along), values(slopes.across)))
}

/// The values of a `truebed.Gap`, or None; on the line between two places where `ends` are given.
#[pyfunction]
pub(crate) fn straightedge(
    py: Python<'_>,
    xy: PyReadonlyArray2<'_, f64>,
    z: PyReadonlyArray1<'_, f64>,
    ends: Option<[[f64; 2]; 2]>,
    length: &Bound<'_, PyAny>,
    line_width: &Bound<'_, PyAny>,
) -> PyResult<Option<GapValues>> {
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
    let values = |gap: Gap| (gap.gap_mm, gap.at, gap.rests_on.to_vec(), gap.distance_mm);
    Ok(gap.map(values))
}

/// The values of each `truebed.FloorFinding`, in the order of its fields.
#[pyfunction]
pub(crate) fn check_floor(
    py: Python<'_>,
    xy: PyReadonlyArray2<'_, f64>,
    z: PyReadonlyArray1<'_, f64>,
    floor_class: &Bound<'_, PyAny>,
    line_width: &Bound<'_, PyAny>,
) -> PyResult<Vec<FindingValues>> {
    let mut found = Problems::default();
    let class = found.take(|| "floor_class".to_owned(), self::class(floor_class));
    let width = found.take(|| "line_width".to_owned(), value::length(line_width));
    let (class, width) = found.finish(py, class.zip(width))?;
    let (xy, z) = (xy.as_slice()?.as_chunks().0, z.as_slice()?);
    let findings = py
        .detach(|| truebed::check_floor(xy, z, class, width.mm()))
        .map_err(|error| raised(py, &error))?;
    Ok(values(findings))
}

/// A class by its name.
pub(crate) fn class(name: &Bound<'_, PyAny>) -> Result<FloorClass, Refused> {
    let class = name.extract::<&str>().ok().and_then(|name| name.parse().ok());
    class.ok_or_else(|| {
        let names = FloorClass::ALL.map(|(_, name)| format!("{name:?}")).join(", ");
        Refused::value(shown(name), format!("one of {names}"))
    })
}

/// The values of each `truebed.FloorFinding`, in the order of its fields.
pub(crate) fn values(findings: Vec<FloorFinding>) -> Vec<FindingValues> {
    findings.into_iter().map(|it| (it.what, it.found, it.limit, it.met, it.points)).collect()
}

/// FF and FL of lines of heights.
#[pyfunction]
pub(crate) fn floor_numbers(
    py: Python<'_>,
    lines: Vec<PyReadonlyArray1<'_, f64>>,
) -> PyResult<(f64, f64)> {
    let lines = lines.iter().map(PyReadonlyArray1::as_slice).collect::<Result<Vec<_>, _>>()?;
    let numbers = py.detach(|| truebed::floor_numbers(&lines));
    Ok((numbers.flatness, numbers.levelness))
}

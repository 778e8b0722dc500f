//! Reference planes.

use numpy::{IntoPyArray, PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use pyo3::types::PyTuple;
use truebed::PlaneKind;

use crate::error::{Refused, one, raised, shown};

/// The values of a `truebed.Plane`, in the order of its fields.
#[pyfunction]
pub(crate) fn fit_plane<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    kind: &Bound<'py, PyAny>,
    weights: Option<PyReadonlyArray1<'py, f64>>,
) -> PyResult<Bound<'py, PyTuple>> {
    let kind = one(py, "kind", self::kind(kind))?;
    let (xy, z) = (xy.as_slice()?, z.as_slice()?);
    let weights = weights.as_ref().map(PyReadonlyArray1::as_slice).transpose()?;
    let plane = py
        .detach(|| truebed::fit_plane(xy.as_chunks().0, z, kind, weights))
        .map_err(|error| raised(py, &error))?;
    let values = (
        plane.slope_x,
        plane.slope_y,
        plane.offset_mm,
        plane.deviations_mm.into_pyarray(py),
        plane.flatness_mm,
        plane.rms_mm,
    );
    values.into_pyobject(py)
}

fn kind(value: &Bound<'_, PyAny>) -> Result<PlaneKind, Refused> {
    match value.extract::<&str>() {
        Ok("least-squares") => Ok(PlaneKind::LeastSquares),
        _ => Err(Refused::value(
            shown(value),
            "\"least-squares\", the one kind of plane in this version",
        )),
    }
}

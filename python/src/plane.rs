//! Reference planes, and what a frame stands on.

use numpy::{IntoPyArray, PyArray1, PyArrayMethods};
use numpy::{PyReadonlyArray1, PyReadonlyArray2, PyReadonlyArrayDyn, PyUntypedArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyTuple;
use truebed::{Direction, PlaneKind, Uncertainty};

use crate::error::{Refused, one, raised, shown};

type PlaneValues<'py> = (f64, f64, f64, Bound<'py, PyArray1<f64>>, f64, f64, f64, f64);

/// The values of a `truebed.Plane`, in the order of its fields.
#[pyfunction]
pub(crate) fn fit_plane<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    kind: &Bound<'py, PyAny>,
    weights: Option<PyReadonlyArray1<'py, f64>>,
) -> PyResult<PlaneValues<'py>> {
    let kind = one(py, "kind", self::kind(kind))?;
    let (xy, z) = (xy.as_slice()?, z.as_slice()?);
    let weights = weights.as_ref().map(PyReadonlyArray1::as_slice).transpose()?;
    let plane = py
        .detach(|| truebed::fit_plane(xy.as_chunks().0, z, kind, weights))
        .map_err(|error| raised(py, &error))?;
    Ok(values(py, plane))
}

/// The values of a `truebed.Planes`, in the order of its fields.
#[pyfunction]
pub(crate) fn fit_planes<'py>(
    py: Python<'py>,
    xy: PyReadonlyArrayDyn<'py, f64>,
    z: PyReadonlyArray2<'py, f64>,
    kind: &Bound<'py, PyAny>,
) -> PyResult<Bound<'py, PyTuple>> {
    let kind = one(py, "kind", self::kind(kind))?;
    let (tables, points) = (z.shape()[0], z.shape()[1]);
    let (xy, z) = (xy.as_slice()?, z.as_slice()?);
    let planes = py
        .detach(|| truebed::fit_planes(xy.as_chunks().0, z, points, kind))
        .map_err(|error| raised(py, &error))?;
    let values = (
        planes.slope_x.into_pyarray(py),
        planes.slope_y.into_pyarray(py),
        planes.offset_mm.into_pyarray(py),
        planes.deviations_mm.into_pyarray(py).reshape([tables, points])?,
        planes.flatness_mm.into_pyarray(py),
        planes.rms_mm.into_pyarray(py),
        planes.above_mm.into_pyarray(py),
        planes.below_mm.into_pyarray(py),
    );
    values.into_pyobject(py)
}

/// The values of a `truebed.LeastSquares`, those of its plane in a tuple of their own. `known`
/// says what `values` are: "alike", "weights", "sigmas" or "covariance".
#[pyfunction]
pub(crate) fn least_squares<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    known: &str,
    values: PyReadonlyArrayDyn<'py, f64>,
) -> PyResult<Bound<'py, PyTuple>> {
    let (xy, z) = (xy.as_slice()?, z.as_slice()?);
    let uncertainty = uncertainty(known, values.as_slice()?);
    let fit = py
        .detach(|| truebed::least_squares(xy.as_chunks().0, z, uncertainty))
        .map_err(|error| raised(py, &error))?;
    let covariance = fit.covariance.as_flattened().to_vec().into_pyarray(py).reshape([3, 3])?;
    (self::values(py, fit.plane), covariance, fit.residual_sd, fit.dof).into_pyobject(py)
}

/// The values of a `truebed.MinimumZone`, in it those of its plane and of each contact.
#[pyfunction]
pub(crate) fn minimum_zone<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    direction: &Bound<'py, PyAny>,
) -> PyResult<Bound<'py, PyTuple>> {
    let direction = match direction.extract::<&str>() {
        Ok("vertical") => Direction::Vertical,
        Ok("normal") => Direction::Normal,
        _ => {
            let refused = Refused::value(shown(direction), "\"vertical\" or \"normal\"");
            one(py, "direction", Err(refused))?
        }
    };
    let (xy, z) = (xy.as_slice()?, z.as_slice()?);
    let zone = py
        .detach(|| truebed::minimum_zone(xy.as_chunks().0, z, direction))
        .map_err(|error| raised(py, &error))?;
    let contacts: Vec<_> = zone.contacts.iter().map(|it| (it.point, it.above, it.share)).collect();
    (values(py, zone.plane), contacts, zone.bound_mm, zone.proven).into_pyobject(py)
}

/// The values of a `truebed.Resting`, in it those of its plane and of each rock.
#[pyfunction]
pub(crate) fn resting<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    centre: Option<[f64; 2]>,
) -> PyResult<Bound<'py, PyTuple>> {
    let (xy, z) = (xy.as_slice()?, z.as_slice()?);
    let stance = py
        .detach(|| truebed::resting(xy.as_chunks().0, z, centre))
        .map_err(|error| raised(py, &error))?;
    let rocks: Vec<_> = stance
        .rocks
        .iter()
        .map(|it| (it.edge.to_vec(), it.onto, it.drop_mm, it.rise_mm, it.margin_mm))
        .collect();
    let values = (
        values(py, stance.plane),
        stance.supports.to_vec(),
        stance.shares.to_vec(),
        stance.touching,
        stance.floats_mm.into_pyarray(py),
        stance.margin_mm,
        stance.stable,
        rocks,
    );
    values.into_pyobject(py)
}

fn values(py: Python<'_>, plane: truebed::Plane) -> PlaneValues<'_> {
    (
        plane.slope_x,
        plane.slope_y,
        plane.offset_mm,
        plane.deviations_mm.into_pyarray(py),
        plane.flatness_mm,
        plane.rms_mm,
        plane.above_mm,
        plane.below_mm,
    )
}

/// What the package says that it knows; it says nothing else.
pub(crate) fn uncertainty<'a>(known: &str, values: &'a [f64]) -> Uncertainty<'a> {
    match known {
        "weights" => Uncertainty::Weights(values),
        "sigmas" => Uncertainty::Sigmas(values),
        "covariance" => Uncertainty::Covariance(values),
        _ => Uncertainty::Alike,
    }
}

fn kind(value: &Bound<'_, PyAny>) -> Result<PlaneKind, Refused> {
    let known = value.extract::<&str>().ok().and_then(|name| name.parse().ok());
    known.ok_or_else(|| {
        let names = PlaneKind::ALL.map(|(_, name)| format!("{name:?}")).join(", ");
        Refused::value(shown(value), format!("one of {names}"))
    })
}

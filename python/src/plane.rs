//! Reference planes, and what a frame stands on.

use numpy::{IntoPyArray, PyArrayMethods};
use numpy::{PyReadonlyArray1, PyReadonlyArray2, PyReadonlyArrayDyn, PyUntypedArrayMethods};
use pyo3::prelude::*;
use truebed::{Direction, PlaneKind, Uncertainty};

use crate::error::{Refused, one, raised, shown};
use crate::result::result;

/// A `truebed.Plane`.
#[pyfunction]
pub(crate) fn fit_plane<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    kind: &Bound<'py, PyAny>,
    weights: Option<PyReadonlyArray1<'py, f64>>,
    ids: &Bound<'py, PyAny>,
) -> PyResult<Bound<'py, PyAny>> {
    let kind = one(py, "kind", self::kind(kind))?;
    let (xy, z) = (xy.as_slice()?, z.as_slice()?);
    let weights = weights.as_ref().map(PyReadonlyArray1::as_slice).transpose()?;
    let plane = py
        .detach(|| truebed::fit_plane(xy.as_chunks().0, z, kind, weights))
        .map_err(|error| raised(py, &error))?;
    self::plane(plane, ids)
}

/// A `truebed.Planes`.
#[pyfunction]
pub(crate) fn fit_planes<'py>(
    py: Python<'py>,
    xy: PyReadonlyArrayDyn<'py, f64>,
    z: PyReadonlyArray2<'py, f64>,
    kind: &Bound<'py, PyAny>,
    threads: Option<&Bound<'py, PyAny>>,
) -> PyResult<Bound<'py, PyAny>> {
    let kind = one(py, "kind", self::kind(kind))?;
    let threads = one(py, "threads", crate::value::threads(threads))?;
    let (tables, points) = (z.shape()[0], z.shape()[1]);
    let (xy, z) = (xy.as_slice()?, z.as_slice()?);
    let planes = py
        .detach(|| truebed::fit_planes_on(threads, xy.as_chunks().0, z, points, kind))
        .map_err(|error| raised(py, &error))?;
    Ok(result!(
        py,
        "_plane",
        Planes {
            slope_x: planes.slope_x.into_pyarray(py),
            slope_y: planes.slope_y.into_pyarray(py),
            offset_mm: planes.offset_mm.into_pyarray(py),
            deviations_mm: planes.deviations_mm.into_pyarray(py).reshape([tables, points])?,
            flatness_mm: planes.flatness_mm.into_pyarray(py),
            rms_mm: planes.rms_mm.into_pyarray(py),
            above_mm: planes.above_mm.into_pyarray(py),
            below_mm: planes.below_mm.into_pyarray(py),
        }
    ))
}

/// A `truebed.LeastSquares`. `known` says what `values` are: "alike", "weights", "sigmas" or
/// "covariance".
#[pyfunction]
pub(crate) fn least_squares<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    known: &str,
    values: PyReadonlyArrayDyn<'py, f64>,
    ids: &Bound<'py, PyAny>,
) -> PyResult<Bound<'py, PyAny>> {
    let (xy, z) = (xy.as_slice()?, z.as_slice()?);
    let uncertainty = uncertainty(known, values.as_slice()?);
    let fit = py
        .detach(|| truebed::least_squares(xy.as_chunks().0, z, uncertainty))
        .map_err(|error| raised(py, &error))?;
    let covariance = fit.covariance.as_flattened().to_vec().into_pyarray(py).reshape([3, 3])?;
    Ok(result!(
        py,
        "_plane",
        LeastSquares {
            plane: plane(fit.plane, ids)?,
            covariance: covariance,
            residual_sd: fit.residual_sd,
            dof: fit.dof,
        }
    ))
}

/// A `truebed.MinimumZone`.
#[pyfunction]
pub(crate) fn minimum_zone<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    direction: &Bound<'py, PyAny>,
    ids: &Bound<'py, PyAny>,
) -> PyResult<Bound<'py, PyAny>> {
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
    let contact = |it: &truebed::Contact| {
        Ok(result!(py, "_plane", Contact { point: it.point, above: it.above, share: it.share }))
    };
    let contacts = zone.contacts.iter().map(contact).collect::<PyResult<Vec<_>>>()?;
    Ok(result!(
        py,
        "_plane",
        MinimumZone {
            plane: plane(zone.plane, ids)?,
            contacts: contacts,
            bound_mm: zone.bound_mm,
            proven: zone.proven,
        }
    ))
}

/// A `truebed.Resting`.
#[pyfunction]
pub(crate) fn resting<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    centre: Option<[f64; 2]>,
    ids: &Bound<'py, PyAny>,
) -> PyResult<Bound<'py, PyAny>> {
    let (xy, z) = (xy.as_slice()?, z.as_slice()?);
    let stance = py
        .detach(|| truebed::resting(xy.as_chunks().0, z, centre))
        .map_err(|error| raised(py, &error))?;
    let rock = |it: &truebed::Rock| {
        Ok(result!(
            py,
            "_plane",
            Rock {
                edge: it.edge.to_vec(),
                onto: it.onto,
                drop_mm: it.drop_mm,
                rise_mm: it.rise_mm,
                margin_mm: it.margin_mm,
            }
        ))
    };
    let rocks = stance.rocks.iter().map(rock).collect::<PyResult<Vec<_>>>()?;
    Ok(result!(
        py,
        "_plane",
        Resting {
            plane: plane(stance.plane, ids)?,
            supports: stance.supports.to_vec(),
            shares: stance.shares.to_vec(),
            touching: stance.touching,
            floats_mm: stance.floats_mm.into_pyarray(py),
            margin_mm: stance.margin_mm,
            stable: stance.stable,
            rocks: rocks,
        }
    ))
}

/// A `truebed.Plane` of points that go by these ids.
fn plane<'py>(plane: truebed::Plane, ids: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
    let py = ids.py();
    Ok(result!(
        py,
        "_plane",
        Plane {
            slope_x: plane.slope_x,
            slope_y: plane.slope_y,
            offset_mm: plane.offset_mm,
            deviations_mm: plane.deviations_mm.into_pyarray(py),
            flatness_mm: plane.flatness_mm,
            rms_mm: plane.rms_mm,
            above_mm: plane.above_mm,
            below_mm: plane.below_mm,
            ids: ids,
        }
    ))
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

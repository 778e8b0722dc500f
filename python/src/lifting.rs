//! What weighs how much, what stands on each leg, and how many people a lift takes.

use numpy::{IntoPyArray, PyReadonlyArray2};
use pyo3::prelude::*;
use truebed::SlateWeight;

use crate::error::raised;
use crate::result::result;

/// A `truebed.Mass`.
#[pyfunction]
pub(crate) fn slate_mass<'py>(
    py: Python<'py>,
    outline: PyReadonlyArray2<'py, f64>,
    thickness_mm: f64,
    density_kg_per_m3: f64,
) -> PyResult<Bound<'py, PyAny>> {
    let outline = outline.as_slice()?.as_chunks().0.to_vec();
    let mass = SlateWeight { outline, thickness_mm, density_kg_per_m3 }.mass();
    let mass = mass.map_err(|error| raised(py, &error))?;
    let [x_mm, y_mm] = mass.at;
    Ok(result!(py, "_lifting", Mass { kg: mass.kg, x_mm: x_mm, y_mm: y_mm }))
}

/// A `truebed.LegLoads`.
#[pyfunction]
pub(crate) fn leg_loads<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    kg: f64,
    at: [f64; 2],
) -> PyResult<Bound<'py, PyAny>> {
    let loads = truebed::leg_loads(xy.as_slice()?.as_chunks().0, truebed::Mass { kg, at });
    let loads = loads.map_err(|error| raised(py, &error))?;
    let (stands, raises): (Vec<f64>, Vec<f64>) =
        loads.into_iter().map(|load| (load.stands_kg, load.raises_kg)).unzip();
    let (stands, raises) = (stands.into_pyarray(py), raises.into_pyarray(py));
    Ok(result!(py, "_lifting", LegLoads { stands_kg: stands, raises_kg: raises }))
}

/// How many people a lift takes.
#[pyfunction]
pub(crate) fn people(py: Python<'_>, kg: f64, kg_a_person: f64) -> PyResult<u32> {
    truebed::people(kg, kg_a_person).map_err(|error| raised(py, &error))
}

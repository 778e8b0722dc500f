//! Rolling balls.

use numpy::{PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use truebed::BedSurface;

use crate::error::raised;
use crate::result::result;
use crate::value::plain;

fn made<'py>(py: Python<'py>, roll: &truebed::Roll) -> PyResult<Bound<'py, PyAny>> {
    Ok(result!(
        py,
        "_roll",
        Roll {
            start_mm: roll.start_mm.to_vec(),
            end_mm: roll.end_mm.to_vec(),
            drift_mm: roll.drift_mm,
            along_mm: roll.along_mm,
            time_s: roll.time_s,
            speed: roll.speed,
        }
    ))
}

/// A `truebed.Roll`.
#[pyfunction]
pub(crate) fn roll<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    start: [f64; 2],
    velocity: [f64; 2],
    resistance: f64,
) -> PyResult<Bound<'py, PyAny>> {
    let (xy, z) = (xy.as_slice()?.as_chunks().0, z.as_slice()?);
    let rolled =
        py.detach(|| BedSurface::new(xy, z).and_then(|bed| bed.roll(start, velocity, resistance)));
    made(py, &rolled.map_err(|error| raised(py, &error))?)
}

/// A `truebed.BallRolls`.
#[pyfunction]
pub(crate) fn roll_balls<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    resistance: f64,
) -> PyResult<Bound<'py, PyAny>> {
    let (xy, z) = (xy.as_slice()?.as_chunks().0, z.as_slice()?);
    let balls = py.detach(|| BedSurface::new(xy, z).and_then(|bed| bed.roll_balls(resistance)));
    let balls = balls.map_err(|error| raised(py, &error))?;
    let rolls = |rolls: &[truebed::Roll]| {
        rolls.iter().map(|roll| made(py, roll)).collect::<PyResult<Vec<_>>>()
    };
    Ok(result!(
        py,
        "_roll",
        BallRolls {
            along: rolls(&balls.along)?,
            across: rolls(&balls.across)?,
            steepest: balls.steepest,
            stays: balls.stays,
        }
    ))
}

/// The acceleration of a solid ball that rolls down a slope (a ratio) without resistance, m/s²:
/// (5/7) g sin θ.
///
/// >>> import truebed
/// >>> round(truebed.rolling_acceleration(0.001), 6)
/// 0.007005
#[pyfunction]
pub(crate) fn rolling_acceleration(slope: &Bound<'_, PyAny>) -> PyResult<f64> {
    Ok(truebed::rolling_acceleration(plain("slope", slope)?))
}

/// How far a ball that keeps rolling at a speed, m/s, drifts down a cross slope (a ratio) over a
/// length in mm: (5/14) g sin θ (L/v)², mm.
///
/// >>> import truebed
/// >>> round(truebed.drift_mm(0.0002, 2540, 0.5), 2)
/// 18.08
#[pyfunction]
pub(crate) fn drift_mm(
    cross_slope: &Bound<'_, PyAny>,
    length_mm: &Bound<'_, PyAny>,
    speed: &Bound<'_, PyAny>,
) -> PyResult<f64> {
    let (cross_slope, length_mm) =
        (plain("cross_slope", cross_slope)?, plain("length_mm", length_mm)?);
    Ok(truebed::drift_mm(cross_slope, length_mm, plain("speed", speed)?))
}

/// The speed, m/s, at which a ball just comes to rest after rolling a length in mm on a level bed
/// against a rolling resistance: √(2 µ g L).
///
/// >>> import truebed
/// >>> round(truebed.dying_speed(2540, 0.01), 3)
/// 0.706
#[pyfunction]
pub(crate) fn dying_speed(
    length_mm: &Bound<'_, PyAny>,
    resistance: &Bound<'_, PyAny>,
) -> PyResult<f64> {
    let (length_mm, resistance) =
        (plain("length_mm", length_mm)?, plain("resistance", resistance)?);
    Ok(truebed::dying_speed(length_mm, resistance))
}

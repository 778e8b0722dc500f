//! Rolling balls.

use numpy::{PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use truebed::BedSurface;

use crate::error::raised;

type RollValues = ([f64; 2], [f64; 2], f64, f64, f64, f64);

fn values(roll: &truebed::Roll) -> RollValues {
    (roll.start_mm, roll.end_mm, roll.drift_mm, roll.along_mm, roll.time_s, roll.speed)
}

/// The values of a `truebed.Roll`, in the order of its fields.
#[pyfunction]
pub(crate) fn roll(
    py: Python<'_>,
    xy: PyReadonlyArray2<'_, f64>,
    z: PyReadonlyArray1<'_, f64>,
    start: [f64; 2],
    velocity: [f64; 2],
    resistance: f64,
) -> PyResult<RollValues> {
    let (xy, z) = (xy.as_slice()?.as_chunks().0, z.as_slice()?);
    let rolled =
        py.detach(|| BedSurface::new(xy, z).and_then(|bed| bed.roll(start, velocity, resistance)));
    rolled.map(|roll| values(&roll)).map_err(|error| raised(py, &error))
}

/// The values of a `truebed.Play`, and in it those of each `truebed.Roll`, in the order of their
/// fields.
#[pyfunction]
pub(crate) fn play(
    py: Python<'_>,
    xy: PyReadonlyArray2<'_, f64>,
    z: PyReadonlyArray1<'_, f64>,
    resistance: f64,
) -> PyResult<(Vec<RollValues>, Vec<RollValues>, f64, bool)> {
    let (xy, z) = (xy.as_slice()?.as_chunks().0, z.as_slice()?);
    let play = py.detach(|| BedSurface::new(xy, z).and_then(|bed| bed.play(resistance)));
    let play = play.map_err(|error| raised(py, &error))?;
    let rolls = |rolls: &[truebed::Roll]| rolls.iter().map(values).collect();
    Ok((rolls(&play.along), rolls(&play.across), play.steepest, play.stays))
}

/// The acceleration of a solid ball that rolls down a slope (a ratio) without resistance, m/s²:
/// (5/7) g sin θ.
///
/// >>> import truebed
/// >>> round(truebed.rolling_acceleration(0.001), 6)
/// 0.007005
#[pyfunction]
pub(crate) fn rolling_acceleration(slope: f64) -> f64 {
    truebed::rolling_acceleration(slope)
}

/// How far a ball that keeps rolling at a speed, m/s, drifts down a cross slope (a ratio) over a
/// length in mm: (5/14) g sin θ (L/v)², mm.
///
/// >>> import truebed
/// >>> round(truebed.drift_mm(0.0002, 2540, 0.5), 2)
/// 18.08
#[pyfunction]
pub(crate) fn drift_mm(cross_slope: f64, length_mm: f64, speed: f64) -> f64 {
    truebed::drift_mm(cross_slope, length_mm, speed)
}

/// The speed, m/s, at which a ball just comes to rest after rolling a length in mm on a level bed
/// against a rolling resistance: √((10/7) µ g L).
///
/// >>> import truebed
/// >>> round(truebed.dying_speed(2540, 0.01), 3)
/// 0.597
#[pyfunction]
pub(crate) fn dying_speed(length_mm: f64, resistance: f64) -> f64 {
    truebed::dying_speed(length_mm, resistance)
}

//! Heights held against limits.

use numpy::{PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use serde_json::Value;
use truebed::Length;

use crate::error::{Problems, Refused, raised};
use crate::limits::limits;
use crate::problem::joints;

type FindingValues = (String, Vec<usize>, f64, f64, bool);

/// The values of a `truebed.Verdict`, and in it those of each `truebed.Finding`, in the order of
/// their fields.
#[pyfunction]
pub(crate) fn check(
    py: Python<'_>,
    xy: Option<PyReadonlyArray2<'_, f64>>,
    heights: PyReadonlyArray1<'_, f64>,
    limits: &Bound<'_, PyAny>,
    joints: Option<&Bound<'_, PyAny>>,
) -> PyResult<(bool, Vec<FindingValues>)> {
    let mut found = Problems::default();
    let mut length = |value: f64, field: &dyn Fn() -> String| {
        found.take(field, Length::from_mm(value).map_err(Refused::from)).unwrap_or_default()
    };
    let heights: Vec<Length> = heights
        .as_slice()?
        .iter()
        .enumerate()
        .map(|(at, &height)| length(height, &|| format!("heights[{at}]")))
        .collect();
    let places: Vec<[Length; 2]> = match &xy {
        Some(xy) => {
            let rows = xy.as_slice()?.as_chunks::<2>().0.iter().enumerate();
            let row = |(at, &[x, y]): (usize, &[f64; 2])| {
                [length(x, &|| format!("xy[{at}, 0]")), length(y, &|| format!("xy[{at}, 1]"))]
            };
            rows.map(row).collect()
        }
        // Without limits along lines nobody looks where the points lie.
        None => vec![[Length::ZERO; 2]; heights.len()],
    };
    let limits = found.take(|| "limits".to_owned(), self::limits(limits));
    if let (None, Some(limits)) = (&xy, &limits)
        && (limits.along.is_some()
            || limits.across.is_some()
            || limits.slope_along_um_per_m + limits.slope_across_um_per_m > 0)
    {
        let expected = "an array of shape (n, 2), which limits along and across and slopes need";
        let refused = Err::<(), _>(Refused::value("None", expected));
        found.take(|| "xy".to_owned(), refused);
    }
    let joints = self::joints(&mut found, joints)?;
    let (limits, joints) = found.finish(py, limits.zip(joints))?;
    let verdict = py
        .detach(|| truebed::check(&places, &heights, &limits, &joints))
        .map_err(|error| raised(py, &error))?;
    let findings = verdict.findings.into_iter().map(|finding| {
        let limit = match serde_json::to_value(finding.limit) {
            Ok(Value::String(name)) => name,
            _ => String::new(),
        };
        (limit, finding.points, finding.found.mm(), finding.allowed.mm(), finding.met)
    });
    Ok((verdict.met, findings.collect()))
}

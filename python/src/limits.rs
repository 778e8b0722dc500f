//! What counts as level.

use pyo3::prelude::*;
use truebed::Length;

use crate::error::{Problems, Refused};
use crate::value::length;

/// What counts as level; every limit a length (mm, or a text with a unit), at least one of the
/// first four given: overall ± over all points, along ± over each lengthwise line, across ± over
/// each crosswise line, the largest step at a joint; and the width within which points are on one
/// line, 10 mm unless told.
#[pyclass(frozen, eq, module = "truebed")]
#[derive(PartialEq)]
pub(crate) struct Limits(truebed::Limits);

#[pymethods]
impl Limits {
    #[new]
    #[pyo3(signature = (overall = None, along = None, across = None, joint_step = None, line_width = None))]
    fn new(
        py: Python<'_>,
        overall: Option<&Bound<'_, PyAny>>,
        along: Option<&Bound<'_, PyAny>>,
        across: Option<&Bound<'_, PyAny>>,
        joint_step: Option<&Bound<'_, PyAny>>,
        line_width: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let mut found = Problems::default();
        let mut limits = truebed::Limits::default();
        let mut read = |name: &str, value: Option<&Bound<'_, PyAny>>| {
            value.and_then(|value| found.take(|| format!("limits.{name}"), length(value)))
        };
        limits.overall = read("overall", overall);
        limits.along = read("along", along);
        limits.across = read("across", across);
        limits.joint_step = read("joint_step", joint_step);
        limits.line_width = read("line_width", line_width).unwrap_or(limits.line_width);
        found.finish(py, Some(Self(limits)))
    }

    /// The limits of the World Pool-Billiard Association's "Tables & Equipment Specifications"
    /// (effective November 2001), §2-5: 0.020 in lengthwise, 0.010 in across, joints within
    /// 0.005 in. The document limits flatness; these limits ask the same figures of the heights
    /// themselves, which is stricter.
    #[staticmethod]
    fn wpa_2001() -> Self {
        Self(truebed::Limits::wpa_2001())
    }

    /// ± over all points, mm; None where not asked for.
    #[getter]
    fn overall(&self) -> Option<f64> {
        self.0.overall.map(Length::mm)
    }

    /// ± over the points of each lengthwise line, mm; None where not asked for.
    #[getter]
    fn along(&self) -> Option<f64> {
        self.0.along.map(Length::mm)
    }

    /// ± over the points of each crosswise line, mm; None where not asked for.
    #[getter]
    fn across(&self) -> Option<f64> {
        self.0.across.map(Length::mm)
    }

    /// The largest step between the two sides of a joint, mm; None where not asked for.
    #[getter]
    fn joint_step(&self) -> Option<f64> {
        self.0.joint_step.map(Length::mm)
    }

    /// Points within this width of each other are on one line, mm.
    #[getter]
    fn line_width(&self) -> f64 {
        self.0.line_width.mm()
    }

    fn __repr__(&self) -> String {
        let mut given = Vec::new();
        for (name, limit) in [
            ("overall", self.overall()),
            ("along", self.along()),
            ("across", self.across()),
            ("joint_step", self.joint_step()),
            ("line_width", Some(self.line_width())),
        ] {
            given.extend(limit.map(|limit| format!("{name}={limit}")));
        }
        format!("Limits({})", given.join(", "))
    }

    fn __getnewargs__(&self) -> (Option<f64>, Option<f64>, Option<f64>, Option<f64>, f64) {
        (self.overall(), self.along(), self.across(), self.joint_step(), self.line_width())
    }
}

/// Limits as a call takes them: a `Limits`, or a length, which is the overall ±.
pub(crate) fn limits(value: &Bound<'_, PyAny>) -> Result<truebed::Limits, Refused> {
    match value.cast::<Limits>() {
        Ok(limits) => Ok(limits.get().0.clone()),
        Err(_) => length(value).map(truebed::Limits::overall),
    }
}

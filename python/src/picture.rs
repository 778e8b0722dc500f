//! Pictures.

use std::borrow::Cow;

use pyo3::prelude::*;
use pyo3::types::PyString;
use serde_json::Value;
use truebed::{ShimPlan, Status, TradeoffMark, Units};

use crate::error::{Problems, Refused, one, raised, shown};
use crate::problem::ShimProblem;

/// What the picture of a plan shows, put together when somebody asks for it.
#[pyclass(frozen, module = "truebed._truebed")]
pub(crate) struct Picture(Source);

enum Source {
    /// A plan, and the problem that it is of.
    Plan { problem: Py<ShimProblem>, plan: ShimPlan },
    /// A picture that was put together before.
    Made(truebed::Picture),
}

impl Picture {
    pub(crate) fn of(problem: &Bound<'_, ShimProblem>, plan: ShimPlan) -> Self {
        Self(Source::Plan { problem: problem.clone().unbind(), plan })
    }

    fn made(&self, py: Python<'_>) -> PyResult<Cow<'_, truebed::Picture>> {
        let (problem, plan) = match &self.0 {
            Source::Plan { problem, plan } => (problem.get(), plan),
            Source::Made(picture) => return Ok(Cow::Borrowed(picture)),
        };
        let picture = match &problem.ids {
            Some(ids) => truebed::Picture::named(&problem.problem, plan, ids),
            None => truebed::Picture::new(&problem.problem, plan),
        };
        Ok(Cow::Owned(picture.map_err(|error| raised(py, &error))?))
    }
}

#[pymethods]
impl Picture {
    /// Reads what `__getnewargs__` gives.
    #[new]
    fn new(py: Python<'_>, json: &str) -> PyResult<Self> {
        let read = serde_json::from_str(json);
        let read = read.map_err(|error| Refused::document(error.to_string(), "a picture as JSON"));
        one(py, "picture", read.map(|picture| Self(Source::Made(picture))))
    }

    /// The picture as SVG.
    fn svg(&self, py: Python<'_>, units: &Bound<'_, PyAny>, narrow: bool) -> PyResult<String> {
        let units = one(py, "units", self::units(units))?;
        let picture = self.made(py)?;
        let draw = if narrow { truebed::Picture::svg_narrow } else { truebed::Picture::svg };
        Ok(py.detach(|| draw(&picture, units)))
    }

    fn __eq__(&self, py: Python<'_>, other: &Self) -> PyResult<bool> {
        Ok(self.made(py)? == other.made(py)?)
    }

    fn __getnewargs__(&self, py: Python<'_>) -> PyResult<(String,)> {
        Ok((serde_json::to_string(&*self.made(py)?).unwrap_or_default(),))
    }
}

/// What the picture of a trade-off shows of a `truebed.ShimPlan`.
#[derive(FromPyObject)]
pub(crate) struct Mark {
    status: String,
    meets_limits: bool,
    pieces: usize,
    worst_mm: f64,
    verdict: Option<Sure>,
}

/// What it shows of a `truebed.Verdict`.
#[derive(FromPyObject)]
struct Sure {
    probability: f64,
}

/// Draws the plans of a trade-off.
#[pyfunction]
pub(crate) fn tradeoff_picture(
    py: Python<'_>,
    plans: Vec<Bound<'_, PyAny>>,
    units: &Bound<'_, PyAny>,
    narrow: bool,
) -> PyResult<String> {
    let mut found = Problems::default();
    let units = found.take(|| "units".to_owned(), self::units(units));
    let mut marks = Vec::new();
    for (at, plan) in plans.iter().enumerate() {
        let mark = plan.extract::<Mark>().map_err(|_| Refused::wrong_type(plan, "a ShimPlan"));
        marks.extend(found.take(|| format!("plans[{at}]"), mark));
    }
    let units = found.finish(py, units)?;
    let mark = |plan: Mark| TradeoffMark {
        status: serde_json::from_value(Value::String(plan.status)).unwrap_or(Status::Budget),
        met: plan.meets_limits,
        pieces: plan.pieces,
        worst_mm: plan.worst_mm,
        probability: plan.verdict.map(|verdict| verdict.probability),
    };
    let marks = marks.into_iter().map(mark);
    Ok(match narrow {
        true => truebed::tradeoff_picture_narrow(marks, units),
        false => truebed::tradeoff_picture(marks, units),
    })
}

/// Units by the name that they have in a job.
pub(crate) fn units(value: &Bound<'_, PyAny>) -> Result<Units, Refused> {
    let expected = "\"both\", \"metric\" or \"inch\"";
    let Ok(name) = value.cast::<PyString>() else {
        return Err(Refused::wrong_type(value, expected));
    };
    serde_json::from_value(Value::String(name.to_string_lossy().into_owned()))
        .map_err(|_| Refused::value(shown(value), expected))
}

//! Pictures.

use pyo3::prelude::*;
use pyo3::types::PyString;
use serde_json::Value;
use truebed::{ShimPlan, ShimProblem, Status, TradeoffMark, Units};

use crate::error::{Problems, Refused, one, raised, shown};

/// What the picture of a plan shows.
#[pyclass(frozen, eq, module = "truebed._truebed")]
#[derive(PartialEq)]
pub(crate) struct Picture(truebed::Picture);

impl Picture {
    pub(crate) fn of(
        py: Python<'_>,
        problem: &ShimProblem,
        ids: Option<&[String]>,
        plan: &ShimPlan,
    ) -> PyResult<Self> {
        let picture = match ids {
            Some(ids) => truebed::Picture::named(problem, plan, ids),
            None => truebed::Picture::new(problem, plan),
        };
        picture.map(Self).map_err(|error| raised(py, &error))
    }
}

#[pymethods]
impl Picture {
    /// Reads what `__getnewargs__` gives.
    #[new]
    fn new(py: Python<'_>, json: &str) -> PyResult<Self> {
        let read = serde_json::from_str(json);
        let read = read.map_err(|error| Refused::document(error.to_string(), "a picture as JSON"));
        one(py, "picture", read.map(Self))
    }

    /// The picture as SVG.
    fn svg(&self, py: Python<'_>, units: &Bound<'_, PyAny>) -> PyResult<String> {
        let units = one(py, "units", self::units(units))?;
        Ok(py.detach(|| self.0.svg(units)))
    }

    fn __getnewargs__(&self) -> (String,) {
        (serde_json::to_string(&self.0).unwrap_or_default(),)
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
    Ok(truebed::tradeoff_picture(marks.into_iter().map(mark), units))
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

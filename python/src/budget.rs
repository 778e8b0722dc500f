//! When a search has to stop short of a proof.

use pyo3::prelude::*;

use crate::error::{Problems, Refused};
use crate::value::whole;

const NODES: &str = "a whole number of search nodes, 0 or more";

/// When a search has to stop short of a proof: after so many search nodes (the same number gives
/// the same plan on every machine; the default is 20 million), or after so many milliseconds (the
/// default is no limit; the plan then depends on the machine).
///
/// >>> import truebed
/// >>> truebed.Budget(nodes=10_000)
/// Budget(nodes=10000, time_ms=None)
#[pyclass(frozen, eq, module = "truebed")]
#[derive(PartialEq)]
pub(crate) struct Budget(truebed::Budget);

#[pymethods]
impl Budget {
    #[new]
    #[pyo3(signature = (nodes = None, time_ms = None))]
    fn new(
        py: Python<'_>,
        nodes: Option<&Bound<'_, PyAny>>,
        time_ms: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let mut found = Problems::default();
        let mut budget = truebed::Budget::default();
        let mut read = |name: &str, value: Option<&Bound<'_, PyAny>>, expected| {
            let value = value.map(|value| whole(value, expected));
            value.and_then(|value| found.take(|| format!("budget.{name}"), value))
        };
        budget.nodes = read("nodes", nodes, NODES).unwrap_or(budget.nodes);
        budget.time_ms = read("time_ms", time_ms, "a whole number of milliseconds, 0 or more");
        found.finish(py, Some(Self(budget)))
    }

    /// The most search nodes.
    #[getter]
    fn nodes(&self) -> u64 {
        self.0.nodes
    }

    /// The longest time, ms; None for no limit.
    #[getter]
    fn time_ms(&self) -> Option<u64> {
        self.0.time_ms
    }

    fn __repr__(&self) -> String {
        let time_ms = self.0.time_ms.map_or_else(|| "None".to_owned(), |ms| ms.to_string());
        format!("Budget(nodes={}, time_ms={time_ms})", self.0.nodes)
    }

    fn __getnewargs__(&self) -> (u64, Option<u64>) {
        (self.0.nodes, self.0.time_ms)
    }
}

/// A budget as a call takes it: a `Budget`, or a number of nodes.
pub(crate) fn budget(value: &Bound<'_, PyAny>) -> Result<truebed::Budget, Refused> {
    match value.cast::<Budget>() {
        Ok(budget) => Ok(budget.get().0),
        Err(_) => {
            let nodes = whole(value, &format!("None, a Budget or {NODES}"))?;
            Ok(truebed::Budget { nodes, ..Default::default() })
        }
    }
}

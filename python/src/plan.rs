//! The shim solvers.

use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::PyTuple;
use truebed::{Length, ShimPlan};

use crate::error::raised;
use crate::problem::ShimProblem;
use crate::signal::Signals;

/// The values of a plan.
#[pyfunction]
pub(crate) fn plan_shims<'py>(
    py: Python<'py>,
    problem: &Bound<'py, ShimProblem>,
) -> PyResult<Bound<'py, PyTuple>> {
    let problem = &problem.get().0;
    let (plan, signalled) = py.detach(|| {
        let signals = Signals::new();
        let plan = truebed::plan_shims_until(problem, &|| signals.raised());
        (plan, signals.finish())
    });
    signalled?;
    values(py, problem, &plan.map_err(|error| raised(py, &error))?)
}

/// The values of each plan of a trade-off.
#[pyfunction]
pub(crate) fn tradeoff<'py>(
    py: Python<'py>,
    problem: &Bound<'py, ShimProblem>,
) -> PyResult<Vec<Bound<'py, PyTuple>>> {
    let problem = &problem.get().0;
    let plans = py.detach(|| truebed::tradeoff(problem)).map_err(|error| raised(py, &error))?;
    plans.iter().map(|plan| values(py, problem, plan)).collect()
}

/// The values of a plan for each problem.
#[pyfunction]
pub(crate) fn plan_many<'py>(
    py: Python<'py>,
    problems: Vec<Bound<'py, ShimProblem>>,
) -> PyResult<Vec<Bound<'py, PyTuple>>> {
    let problems: Vec<_> = problems.iter().map(|problem| problem.get().0.clone()).collect();
    let plans = py.detach(|| truebed::plan_many(&problems));
    let values = |(problem, plan): (_, Result<_, _>)| {
        values(py, problem, &plan.map_err(|error| raised(py, &error))?)
    };
    problems.iter().zip(plans).map(values).collect()
}

/// The values of a `truebed.ShimPlan`, in the order of its fields.
fn values<'py>(
    py: Python<'py>,
    problem: &truebed::ShimProblem,
    plan: &ShimPlan,
) -> PyResult<Bound<'py, PyTuple>> {
    let status = serde_json::to_value(plan.status).unwrap_or_default();
    let thickness = |&kind: &usize| problem.stock[kind].thickness.mm();
    let stacks: Vec<Vec<f64>> =
        plan.stacks.iter().map(|stack| stack.iter().map(thickness).collect()).collect();
    let mm = |lengths: &[Length]| PyArray1::from_iter(py, lengths.iter().map(|it| it.mm()));
    let values = (
        status.as_str(),
        plan.pieces,
        plan.bound,
        plan.worst_mm(),
        plan.target_mm(),
        stacks,
        mm(&plan.lifts),
        mm(&plan.tops),
        &plan.used,
        plan.meets_limits,
        &plan.unreachable,
        plan.nodes,
    );
    values.into_pyobject(py)
}

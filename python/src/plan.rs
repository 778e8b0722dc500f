//! The shim solvers.

use numpy::PyArray1;
use pyo3::IntoPyObjectExt;
use pyo3::prelude::*;
use pyo3::types::PyTuple;
use truebed::{DecisionRule, Length, ShimPlan, Shortfall};

use crate::error::{Problems, raised};
use crate::name::Names;
use crate::picture::Picture;
use crate::problem::ShimProblem;
use crate::shim::stock;
use crate::signal::Signals;
use crate::value::job_name;
use crate::verdict;

/// Runs a search without the GIL until it is done or Ctrl-C comes.
fn interruptible<T: Send>(
    py: Python<'_>,
    search: impl FnOnce(&dyn Fn() -> bool) -> T + Send,
) -> PyResult<T> {
    let (found, signalled) = py.detach(|| {
        let signals = Signals::new();
        let found = search(&|| signals.raised());
        (found, signals.finish())
    });
    signalled?;
    Ok(found)
}

/// The values of a plan.
#[pyfunction]
pub(crate) fn plan_shims<'py>(
    py: Python<'py>,
    problem: &Bound<'py, ShimProblem>,
) -> PyResult<Bound<'py, PyTuple>> {
    let asked = problem.get();
    let problem = &asked.problem;
    let plan = interruptible(py, |stop| truebed::plan_shims_until(problem, stop))?;
    values(py, asked, &plan.map_err(|error| raised(py, &error))?)
}

/// The values of each plan of a trade-off.
#[pyfunction]
pub(crate) fn tradeoff<'py>(
    py: Python<'py>,
    problem: &Bound<'py, ShimProblem>,
) -> PyResult<Vec<Bound<'py, PyTuple>>> {
    let asked = problem.get();
    let problem = &asked.problem;
    let plans = interruptible(py, |stop| truebed::tradeoff_until(problem, stop))?;
    let plans = plans.map_err(|error| raised(py, &error))?;
    plans.iter().map(|plan| values(py, asked, plan)).collect()
}

/// The values of a plan for each problem. The progress, if there is any, is called with the number
/// of problems that are done; it may raise.
#[pyfunction]
pub(crate) fn plan_many<'py>(
    py: Python<'py>,
    problems: Vec<Bound<'py, ShimProblem>>,
    progress: Option<Py<PyAny>>,
) -> PyResult<Vec<Bound<'py, PyTuple>>> {
    let problems: Vec<&ShimProblem> = problems.iter().map(Bound::get).collect();
    let solved: Vec<_> = problems.iter().map(|asked| asked.problem.clone()).collect();
    let (plans, signalled) = py.detach(|| {
        let signals = Signals::new();
        let plans = truebed::plan_many_until(&solved, &|done| {
            signals.raised_or(|py| match &progress {
                Some(progress) => progress.call1(py, (done,)).map(drop),
                None => Ok(()),
            })
        });
        (plans, signals.finish())
    });
    signalled?;
    let values = |(&asked, plan): (&&ShimProblem, Result<_, _>)| {
        values(py, asked, &plan.map_err(|error| raised(py, &error))?)
    };
    problems.iter().zip(plans).map(values).collect()
}

/// The values of a `truebed.ShimPlan`, in the order of its fields.
fn values<'py>(
    py: Python<'py>,
    ShimProblem { problem, ids }: &ShimProblem,
    plan: &ShimPlan,
) -> PyResult<Bound<'py, PyTuple>> {
    let stock = &problem.stock;
    let stack = |(stack, setting): (&Vec<usize>, &Option<Length>)| -> Vec<f64> {
        let thickness = |&kind: &usize| match (stock[kind].adjusts, setting) {
            (Some(_), Some(setting)) => setting.mm(),
            _ => stock[kind].thickness.mm(),
        };
        stack.iter().map(thickness).collect()
    };
    let stacks: Vec<Vec<f64>> = plan.stacks.iter().zip(&plan.settings).map(stack).collect();
    let mm = |lengths: &[Length]| PyArray1::from_iter(py, lengths.iter().map(|it| it.mm()));
    let values = [
        job_name(&plan.status).into_bound_py_any(py)?,
        plan.pieces.into_bound_py_any(py)?,
        plan.bound.into_bound_py_any(py)?,
        plan.worst_mm().into_bound_py_any(py)?,
        plan.target_mm().into_bound_py_any(py)?,
        stacks.into_bound_py_any(py)?,
        mm(&plan.lifts).into_any(),
        mm(&plan.tops).into_any(),
        (&plan.used).into_bound_py_any(py)?,
        plan.meets_limits.into_bound_py_any(py)?,
        (&plan.lifted).into_bound_py_any(py)?,
        plan.moved.into_bound_py_any(py)?,
        plan.tilt_um_per_m.map(|slope| slope as f64 / 1e3).into_bound_py_any(py)?,
        (&plan.unreachable).into_bound_py_any(py)?,
        plan.nodes.into_bound_py_any(py)?,
        ids.into_bound_py_any(py)?,
        predicted(py, problem, plan)?,
        Picture::of(py, problem, ids.as_deref(), plan)?.into_bound_py_any(py)?,
    ];
    PyTuple::new(py, values)
}

/// The values of the verdict that a plan leads one to expect; None where all counts as exact.
fn predicted<'py>(
    py: Python<'py>,
    problem: &truebed::ShimProblem,
    plan: &ShimPlan,
) -> PyResult<Bound<'py, PyAny>> {
    let uncertain = problem.covariance_mm2.iter().flatten().any(|&value| value != 0.0)
        || problem.stock.iter().any(|shim| shim.sigma > Length::ZERO);
    if !uncertain {
        return Ok(py.None().into_bound(py));
    }
    let risk = problem.options.risk;
    let rule = risk.map_or_else(DecisionRule::default, |risk| DecisionRule::GuardBand { risk });
    let verdict = py.detach(|| plan.predict(problem, rule)).map_err(|error| raised(py, &error))?;
    Ok(verdict::values(&verdict).into_pyobject(py)?.into_any())
}

/// The values of a `truebed.Addition`.
type AdditionValues<'py> = (Vec<u32>, u64, f64, Bound<'py, PyTuple>);

/// The values of a `truebed.Conflict`, of an addition, and of the flattest plan.
type ShortfallValues<'py> = (Bound<'py, PyTuple>, Option<AdditionValues<'py>>, Bound<'py, PyTuple>);

/// The values of a `truebed.Shortfall`, and in it those of what it is made of, each in the order of
/// its fields; None where the stock suffices.
#[pyfunction]
pub(crate) fn shortfall<'py>(
    py: Python<'py>,
    problem: &Bound<'py, ShimProblem>,
    catalogue: Option<&Bound<'py, PyAny>>,
) -> PyResult<Option<ShortfallValues<'py>>> {
    let asked = problem.get();
    let problem = &asked.problem;
    let mut found = Problems::default();
    let catalogue = match catalogue {
        Some(catalogue) => {
            let names = Names::new(asked.ids.as_deref());
            stock(&mut found, "catalogue", catalogue, &names)?.map(|stock| Some(stock.0))
        }
        None => Some(None),
    };
    let catalogue = found.finish(py, catalogue)?;
    let search =
        |stop: &dyn Fn() -> bool| truebed::shortfall_until(problem, catalogue.as_deref(), stop);
    let shortfall = interruptible(py, search)?.map_err(|error| raised(py, &error))?;
    let Some(Shortfall { conflict, addition, flattest, .. }) = shortfall else { return Ok(None) };
    let limits = conflict
        .limits
        .iter()
        .map(|span| (job_name(&span.limit), span.members.clone(), span.width.mm()));
    let conflict = (
        conflict.supports,
        limits.collect::<Vec<_>>(),
        conflict.scarce,
        conflict.max_pieces,
        conflict.max_stack,
        conflict.minimal,
    );
    let addition = addition.map(|addition| {
        let more = catalogue.as_deref().unwrap_or(&problem.stock);
        let stock = [&problem.stock, more].concat();
        let wider = truebed::ShimProblem { stock, ..problem.clone() };
        let wider = ShimProblem { problem: wider, ids: asked.ids.clone() };
        let plan = values(py, &wider, &addition.plan)?;
        PyResult::Ok((addition.pieces, addition.price, addition.bound, plan))
    });
    let flattest = values(py, asked, &flattest)?;
    Ok(Some((conflict.into_pyobject(py)?, addition.transpose()?, flattest)))
}

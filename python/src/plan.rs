//! The shim solvers.

use numpy::{PyArray1, PyArray2, PyArrayMethods};
use pyo3::IntoPyObjectExt;
use pyo3::prelude::*;
use truebed::{DecisionRule, Length, ShimPlan, Shortfall};

use crate::error::{Problems, one, raised};
use crate::name::Names;
use crate::picture::Picture;
use crate::problem::ShimProblem;
use crate::result::{Uncollected, result};
use crate::shim::{Shim, stock};
use crate::signal::{Signals, interruptible};
use crate::value::job_name;
use crate::verdict;

/// A `truebed.ShimPlan`.
#[pyfunction]
pub(crate) fn plan_shims<'py>(
    py: Python<'py>,
    problem: &Bound<'py, ShimProblem>,
) -> PyResult<Bound<'py, PyAny>> {
    let asked = &problem.get().problem;
    let plan = interruptible(py, |stop| truebed::plan_shims_until(asked, stop))?;
    made(problem, plan.map_err(|error| raised(py, &error))?)
}

/// A list of `truebed.ShimPlan`.
#[pyfunction]
pub(crate) fn tradeoff<'py>(
    py: Python<'py>,
    problem: &Bound<'py, ShimProblem>,
) -> PyResult<Vec<Bound<'py, PyAny>>> {
    let asked = &problem.get().problem;
    let plans = interruptible(py, |stop| truebed::tradeoff_until(asked, stop))?;
    let plans = plans.map_err(|error| raised(py, &error))?;
    plans.into_iter().map(|plan| made(problem, plan)).collect()
}

/// A `truebed.ShimPlan` for each problem. The progress, if there is any, is called with the number
/// of problems that are done; it may raise.
#[pyfunction]
pub(crate) fn plan_many<'py>(
    py: Python<'py>,
    problems: Vec<Bound<'py, ShimProblem>>,
    progress: Option<Py<PyAny>>,
    threads: Option<&Bound<'py, PyAny>>,
) -> PyResult<Vec<Bound<'py, PyAny>>> {
    let solved: Vec<_> = problems.iter().map(|asked| &asked.get().problem).collect();
    let threads = one(py, "threads", crate::value::threads(threads))?;
    let (plans, signalled) = py.detach(|| {
        let signals = Signals::new();
        let plans = truebed::plan_many_on(threads, &solved, &|done| {
            signals.raised_or(|py| match &progress {
                Some(progress) => progress.call1(py, (done,)).map(drop),
                None => Ok(()),
            })
        });
        (plans, signals.finish())
    });
    signalled?;
    let _uncollected = Uncollected::new(py);
    let made =
        |(asked, plan): (_, Result<_, _>)| made(asked, plan.map_err(|error| raised(py, &error))?);
    problems.iter().zip(plans).map(made).collect()
}

/// A `truebed.ShimPlan`.
fn made<'py>(asked: &Bound<'py, ShimProblem>, plan: ShimPlan) -> PyResult<Bound<'py, PyAny>> {
    let py = asked.py();
    let ShimProblem { problem, ids } = asked.get();
    let named = |supports: &[usize]| match ids {
        Some(ids) => {
            let ids: Vec<_> = supports.iter().filter_map(|&at| ids.get(at)).collect();
            ids.into_bound_py_any(py)
        }
        None => supports.into_bound_py_any(py),
    };
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
    Ok(result!(
        py,
        "_plan",
        ShimPlan {
            status: job_name(&plan.status),
            pieces: plan.pieces,
            bound: plan.bound,
            worst_mm: plan.worst_mm(),
            target_mm: plan.target_mm(),
            stacks: stacks,
            lifts_mm: mm(&plan.lifts),
            tops_mm: mm(&plan.tops),
            used: &plan.used,
            left: Shim::left(problem, &plan, ids.as_deref()),
            meets_limits: plan.meets_limits,
            lifted: named(&plan.lifted)?,
            moved: plan.moved,
            slopes_mm_per_m: plan.tilt_um_per_m.map(|slope| slope as f64 / 1e3).to_vec(),
            unreachable: named(&plan.unreachable)?,
            nodes: plan.nodes,
            ids: ids,
            verdict: predicted(py, problem, &plan)?,
            predicted_covariance: covariance(py, problem, &plan)?,
            _drawing: Picture::of(asked, plan),
        }
    ))
}

/// The covariance of the tops, mm²; None where all counts as exact.
fn covariance<'py>(
    py: Python<'py>,
    problem: &truebed::ShimProblem,
    plan: &ShimPlan,
) -> PyResult<Option<Bound<'py, PyArray2<f64>>>> {
    let count = problem.supports.len();
    // Heights that count as exact have a covariance of zeros.
    let known = |values: &Vec<f64>| values.iter().any(|&value| value != 0.0);
    let predicted = plan.covariance_after(problem).filter(known);
    predicted.map(|values| PyArray1::from_vec(py, values).reshape([count, count])).transpose()
}

/// The `truebed.Verdict` that a plan leads one to expect; None where all counts as exact.
fn predicted<'py>(
    py: Python<'py>,
    problem: &truebed::ShimProblem,
    plan: &ShimPlan,
) -> PyResult<Bound<'py, PyAny>> {
    let uncertain = problem.covariance_mm2.iter().flatten().any(|&value| value != 0.0)
        || problem.stock.iter().any(|shim| shim.sigma.max(shim.common_sigma) > Length::ZERO);
    if !uncertain {
        return Ok(py.None().into_bound(py));
    }
    let rule = DecisionRule::default();
    let verdict = py.detach(|| plan.predict(problem, rule)).map_err(|error| raised(py, &error))?;
    verdict::made(py, &verdict)
}

/// A `truebed.Shortfall`, or None where the stock suffices.
#[pyfunction]
pub(crate) fn shortfall<'py>(
    py: Python<'py>,
    problem: &Bound<'py, ShimProblem>,
    catalogue: Option<&Bound<'py, PyAny>>,
) -> PyResult<Option<Bound<'py, PyAny>>> {
    let asked = problem.get();
    let mut found = Problems::default();
    let catalogue = match catalogue {
        Some(catalogue) => {
            let names = Names::new(asked.ids.as_deref());
            stock(&mut found, "catalogue", catalogue, &names)?.map(|stock| Some(stock.0))
        }
        None => Some(None),
    };
    let catalogue = found.finish(py, catalogue)?;
    let search = |stop: &dyn Fn() -> bool| {
        truebed::shortfall_until(&asked.problem, catalogue.as_deref(), stop)
    };
    let shortfall = interruptible(py, search)?.map_err(|error| raised(py, &error))?;
    let Some(Shortfall { conflict, addition, flattest, .. }) = shortfall else { return Ok(None) };
    let named = |supports: &[usize]| -> Option<Vec<&String>> {
        let ids = asked.ids.as_ref()?;
        Some(supports.iter().filter_map(|&at| ids.get(at)).collect())
    };
    let limit = |span: &truebed::Span| {
        Ok(result!(
            py,
            "_shortfall",
            ConflictLimit {
                limit: job_name(&span.limit),
                points: &span.members,
                allowed_mm: span.width.mm(),
                ids: named(&span.members),
            }
        ))
    };
    let limits = conflict.limits.iter().map(limit).collect::<PyResult<Vec<_>>>()?;
    let conflict = result!(
        py,
        "_shortfall",
        Conflict {
            ids: named(&conflict.supports),
            supports: conflict.supports,
            limits: limits,
            scarce: conflict.scarce,
            max_pieces: conflict.max_pieces,
            max_stack: conflict.max_stack,
            minimal: conflict.minimal,
        }
    );
    let addition = addition.map(|addition| {
        let problem = &asked.problem;
        let more = catalogue.as_deref().unwrap_or(&problem.stock);
        let stock = [&problem.stock, more].concat();
        let wider = truebed::ShimProblem { stock, ..problem.clone() };
        let wider = Bound::new(py, ShimProblem { problem: wider, ids: asked.ids.clone() })?;
        PyResult::Ok(result!(
            py,
            "_shortfall",
            Addition {
                pieces: addition.pieces,
                price: addition.price,
                bound: addition.bound,
                plan: made(&wider, addition.plan)?,
            }
        ))
    });
    Ok(Some(result!(
        py,
        "_shortfall",
        Shortfall {
            conflict: conflict,
            addition: addition.transpose()?,
            flattest: made(problem, flattest)?,
        }
    )))
}

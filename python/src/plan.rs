//! The shim solver.

use numpy::{PyArray1, PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use pyo3::types::{PyString, PyTuple};
use serde_json::Value;
use truebed::{Length, Order, PlanOptions, ShimPlan, ShimProblem, Support};

use crate::budget::budget;
use crate::error::{Problems, Refused, raised, shown};
use crate::limits::limits;
use crate::shim::stock;
use crate::value::{flag, whole};

const INDEX: &str = "an index, 0 or more";
const MOST: &str = "None or a whole number of pieces from 0 to 4294967295";

/// The values of a `truebed.ShimPlan`, in the order of its fields.
#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn plan_shims<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    heights: PyReadonlyArray1<'py, f64>,
    stock: &Bound<'py, PyAny>,
    limits: &Bound<'py, PyAny>,
    order: &Bound<'py, PyAny>,
    keep_highest: &Bound<'py, PyAny>,
    max_pieces: Option<&Bound<'py, PyAny>>,
    joints: Option<&Bound<'py, PyAny>>,
    budget: Option<&Bound<'py, PyAny>>,
) -> PyResult<Bound<'py, PyTuple>> {
    let mut found = Problems::default();
    let supports = supports(&mut found, xy.as_slice()?, heights.as_slice()?);
    let stock = self::stock(&mut found, stock)?;
    let limits = found.take(|| "limits".to_owned(), self::limits(limits));
    let joints = match joints {
        Some(joints) => self::joints(&mut found, joints)?,
        None => Some(Vec::new()),
    };
    let options = options(&mut found, order, keep_highest, max_pieces, budget);
    let problem = (|| {
        let mut problem = ShimProblem::new(supports, stock?, limits?);
        problem.joints = joints?;
        problem.options = options?;
        Some(problem)
    })();
    let problem = found.finish(py, problem)?;
    let plan = py.detach(|| truebed::plan_shims(&problem)).map_err(|error| raised(py, &error))?;
    values(py, &problem, &plan)
}

fn supports(found: &mut Problems, xy: &[f64], heights: &[f64]) -> Vec<Support> {
    let mut read = |value: f64, field: &dyn Fn() -> String| {
        found.take(field, Length::from_mm(value).map_err(Refused::from)).unwrap_or_default()
    };
    xy.as_chunks::<2>()
        .0
        .iter()
        .zip(heights)
        .enumerate()
        .map(|(at, (&[x, y], &height))| Support {
            x: read(x, &|| format!("xy[{at}, 0]")),
            y: read(y, &|| format!("xy[{at}, 1]")),
            height: read(height, &|| format!("heights[{at}]")),
        })
        .collect()
}

/// Pairs of indices of supports.
fn joints(found: &mut Problems, joints: &Bound<'_, PyAny>) -> PyResult<Option<Vec<[usize; 2]>>> {
    let Ok(rows) = joints.try_iter() else {
        let refused = Refused::wrong_type(joints, "a list of pairs of indices of supports");
        return Ok(found.take(|| "joints".to_owned(), Err(refused)));
    };
    let mut pairs = Vec::new();
    for (at, row) in rows.enumerate() {
        let row = row?;
        let pair = row.extract::<[Bound<'_, PyAny>; 2]>();
        let pair = pair.map_err(|_| Refused::wrong_type(&row, "a pair of indices of supports"));
        let pair = pair.and_then(|[a, b]| Ok([whole(&a, INDEX)?, whole(&b, INDEX)?]));
        pairs.extend(found.take(|| format!("joints[{at}]"), pair));
    }
    Ok(Some(pairs))
}

fn options(
    found: &mut Problems,
    order: &Bound<'_, PyAny>,
    keep_highest: &Bound<'_, PyAny>,
    max_pieces: Option<&Bound<'_, PyAny>>,
    budget: Option<&Bound<'_, PyAny>>,
) -> Option<PlanOptions> {
    let order = found.take(|| "order".to_owned(), self::order(order));
    let keep_highest = found.take(|| "keep_highest".to_owned(), flag(keep_highest));
    let max_pieces = max_pieces.map(|most| whole(most, MOST)).transpose();
    let max_pieces = found.take(|| "max_pieces".to_owned(), max_pieces);
    let budget = budget.map_or(Ok(truebed::Budget::default()), self::budget);
    let budget = found.take(|| "budget".to_owned(), budget);
    Some(PlanOptions {
        order: order?,
        keep_highest: keep_highest?,
        max_pieces: max_pieces?,
        budget: budget?,
        ..PlanOptions::default()
    })
}

/// An order by the name that it has in a job.
fn order(value: &Bound<'_, PyAny>) -> Result<Order, Refused> {
    let expected = "\"fewest-pieces\", \"flattest\", \"fewest-lifts\" or \"cheapest\"";
    let Ok(name) = value.cast::<PyString>() else {
        return Err(Refused::wrong_type(value, expected));
    };
    serde_json::from_value(Value::String(name.to_string_lossy().into_owned()))
        .map_err(|_| Refused::value(shown(value), expected))
}

fn values<'py>(
    py: Python<'py>,
    problem: &ShimProblem,
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

//! What the shim solvers are asked.

use numpy::{PyArray1, PyArray2, PyArrayMethods, PyUntypedArrayMethods};
use numpy::{PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyFloat, PyInt, PyList, PyString, PyTuple};
use serde::de::DeserializeOwned;
use serde_json::Value;
use truebed::{Length, Order, Placed, PlanOptions, RiskOf, StockIs, Support};

use crate::budget::budget;
use crate::error::{Problems, Refused, raised, shown};
use crate::limits::limits;
use crate::name::Names;
use crate::result::Uncollected;
use crate::shim::stock;
use crate::survey::Solution;
use crate::value::{flag, index, length, number, whole};

const MOST: &str = "None or a whole number of pieces from 0 to 4294967295";

/// A problem that has been read and checked, so that a solver can take it without the GIL.
#[pyclass(frozen, module = "truebed._truebed")]
pub(crate) struct ShimProblem {
    pub(crate) problem: truebed::ShimProblem,
    /// What the supports are called, where they have ids.
    pub(crate) ids: Option<Vec<String>>,
}

#[pymethods]
impl ShimProblem {
    #[new]
    #[pyo3(signature = (xy, heights, stock, limits, *, order, keep_highest, max_pieces, max_stack, joints, budget, placed, covariance, risk, risk_of, stock_is, owned, ids, survey))]
    #[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
    fn new(
        py: Python<'_>,
        xy: PyReadonlyArray2<'_, f64>,
        heights: PyReadonlyArray1<'_, f64>,
        stock: &Bound<'_, PyAny>,
        limits: &Bound<'_, PyAny>,
        order: &Bound<'_, PyAny>,
        keep_highest: &Bound<'_, PyAny>,
        max_pieces: Option<&Bound<'_, PyAny>>,
        max_stack: Option<&Bound<'_, PyAny>>,
        joints: Option<&Bound<'_, PyAny>>,
        budget: Option<&Bound<'_, PyAny>>,
        placed: Option<&Bound<'_, PyAny>>,
        covariance: Option<PyReadonlyArray2<'_, f64>>,
        risk: Option<&Bound<'_, PyAny>>,
        risk_of: &Bound<'_, PyAny>,
        stock_is: Option<&Bound<'_, PyAny>>,
        owned: Option<&Bound<'_, PyAny>>,
        ids: Option<Vec<String>>,
        survey: Option<&Bound<'_, Solution>>,
    ) -> PyResult<Self> {
        let mut found = Problems::default();
        let names = Names::new(ids.as_deref());
        let supports = supports(&mut found, xy.as_slice()?, heights.as_slice()?);
        let stock = self::stock(&mut found, "stock", stock, &names)?;
        let limits = found.take(|| "limits".to_owned(), self::limits(&names, limits));
        let joints = self::joints(&mut found, joints)?;
        let (order, keep_highest) = (Some(order), Some(keep_highest));
        let given = Given { order, keep_highest, max_pieces, max_stack, budget, risk };
        let options = options(&mut found, &given);
        let risk_of = named(risk_of, "\"each\" or \"all\"");
        let risk_of: Option<RiskOf> = found.take(|| "risk_of".to_owned(), risk_of);
        let stock_is = stock_is.map(|name| named(name, "\"left\", \"whole\" or None")).transpose();
        let stock_is: Option<Option<StockIs>> = found.take(|| "stock_is".to_owned(), stock_is);
        let owned = owned.map(|owned| self::stock(&mut found, "placed.left", owned, &names));
        let owned = owned.transpose()?.flatten();
        let placed = self::placed(&mut found, placed)?;
        let problem = (|| {
            let (stock, only_under) = stock?;
            let mut problem = truebed::ShimProblem::new(supports, stock, limits?);
            problem.only_under = only_under;
            problem.joints = joints?;
            problem.options = options?;
            problem.options.risk_of = risk_of?;
            Some((problem, stock_is?))
        })();
        let (mut problem, stock_is) = found.finish(py, problem)?;
        if let Some(survey) = survey {
            problem.self_check = survey.get().0.self_check();
        }
        if let Some(covariance) = covariance {
            problem.covariance_mm2 = Some(covariance.as_slice()?.to_vec());
        }
        if let Some(stacks) = placed {
            let placed = Placed::from_thicknesses(&stacks, &problem.stock);
            let placed = placed.map_err(|error| raised(py, &error))?;
            if stock_is == Some(StockIs::Whole) {
                let left = placed.left_of(&problem.stock);
                problem.stock = left.map_err(|error| raised(py, &error))?;
            }
            problem.placed = Some(placed);
            if let (None, Some((left, _))) = (stock_is, owned) {
                let mut found = Problems::default();
                check_owned(&mut found, &problem.stock, &left);
                found.finish(py, Some(()))?;
            }
        }
        py.detach(|| problem.check()).map_err(|error| raised(py, &error))?;
        Ok(Self { problem, ids })
    }
}

/// The options of a problem as Python gives them; those that are missing have their defaults.
pub(crate) struct Given<'a, 'py> {
    pub(crate) order: Option<&'a Bound<'py, PyAny>>,
    pub(crate) keep_highest: Option<&'a Bound<'py, PyAny>>,
    pub(crate) max_pieces: Option<&'a Bound<'py, PyAny>>,
    pub(crate) max_stack: Option<&'a Bound<'py, PyAny>>,
    pub(crate) budget: Option<&'a Bound<'py, PyAny>>,
    pub(crate) risk: Option<&'a Bound<'py, PyAny>>,
}

impl ShimProblem {
    /// The problem of an item that holds nothing but plain lists and arrays of numbers; `None` for any
    /// other, and for one that has something wrong with it.
    fn plain(item: &Bound<'_, PyAny>) -> Option<Self> {
        let item = item.cast_exact::<PyDict>().ok()?;
        let (mut xy, mut heights, mut stock, mut limits) = (None, None, None, None);
        let mut given: [Option<Bound<'_, PyAny>>; 6] = Default::default();
        for (name, value) in item {
            let name = name.cast_exact::<PyString>().ok()?.to_str().ok()?.to_owned();
            match name.as_str() {
                "xy" => xy = Some(pairs(&value)?),
                "heights" => heights = Some(numbers(&value)?),
                "stock" => stock = Some(value),
                "limits" => limits = Some(value),
                "order" => given[0] = Some(value),
                "keep_highest" => given[1] = Some(value),
                "max_pieces" => given[2] = Some(value),
                "max_stack" => given[3] = Some(value),
                "budget" => given[4] = Some(value),
                "risk" => given[5] = Some(value),
                _ => return None,
            }
        }
        let (xy, heights) = (xy?, heights?);
        if xy.len() != 2 * heights.len() {
            return None;
        }
        let [order, keep_highest] = [0, 1].map(|at| given[at].as_ref());
        let [max_pieces, max_stack, budget, risk] =
            [2, 3, 4, 5].map(|at| given[at].as_ref().filter(|value| !value.is_none()));
        let options = Given { order, keep_highest, max_pieces, max_stack, budget, risk };
        let mut found = Problems::default();
        let names = Names::default();
        let supports = supports(&mut found, &xy, &heights);
        let (stock, only_under) = self::stock(&mut found, "stock", &stock?, &names).ok()??;
        let limits = self::limits(&names, &limits?).ok()?;
        let options = self::options(&mut found, &options);
        let options = found.finish(item.py(), options).ok()?;
        let mut problem = truebed::ShimProblem::new(supports, stock, limits);
        (problem.only_under, problem.options) = (only_under, options);
        problem.check().is_ok().then_some(Self { problem, ids: None })
    }
}

/// The problem of each item that is plain, and `None` for the others, which Python reads.
#[pyfunction]
pub(crate) fn read_plain<'py>(
    py: Python<'py>,
    items: Vec<Bound<'py, PyAny>>,
) -> PyResult<Vec<Option<Bound<'py, ShimProblem>>>> {
    let _uncollected = Uncollected::new(py);
    let made = |item| ShimProblem::plain(item).map(|problem| Bound::new(py, problem)).transpose();
    items.iter().map(made).collect()
}

/// The numbers of a list, a tuple or an array.
fn numbers(values: &Bound<'_, PyAny>) -> Option<Vec<f64>> {
    if let Ok(array) = values.cast_exact::<PyArray1<f64>>() {
        return array.try_readonly().ok()?.as_slice().ok().map(<[f64]>::to_vec);
    }
    if let Ok(list) = values.cast_exact::<PyList>() {
        return list.iter().map(|value| exact(&value)).collect();
    }
    values.cast_exact::<PyTuple>().ok()?.iter().map(|value| exact(&value)).collect()
}

/// The numbers of pairs, row by row.
fn pairs(rows: &Bound<'_, PyAny>) -> Option<Vec<f64>> {
    if let Ok(array) = rows.cast_exact::<PyArray2<f64>>() {
        let array = array.try_readonly().ok()?;
        return (array.shape()[1] == 2).then(|| array.as_slice().ok().map(<[f64]>::to_vec))?;
    }
    let pair = |row: Bound<'_, PyAny>| numbers(&row).filter(|row| row.len() == 2);
    let rows: Option<Vec<_>> = match rows.cast_exact::<PyList>() {
        Ok(rows) => rows.iter().map(pair).collect(),
        Err(_) => rows.cast_exact::<PyTuple>().ok()?.iter().map(pair).collect(),
    };
    rows.map(|rows| rows.concat())
}

/// A float or an int, and neither a bool nor anything else that is one in part.
fn exact(value: &Bound<'_, PyAny>) -> Option<f64> {
    if let Ok(float) = value.cast_exact::<PyFloat>() {
        return Some(float.value());
    }
    value.cast_exact::<PyInt>().ok()?.extract().ok()
}

/// That a stock has no more pieces than the plan in place has left of it: more of them than were ever
/// owned would be planned with.
fn check_owned(found: &mut Problems, stock: &[truebed::Shim], left: &[truebed::Shim]) {
    for (at, shim) in stock.iter().enumerate() {
        let is_kind = |other: &&truebed::Shim| {
            (other.thickness, other.adjusts) == (shim.thickness, shim.adjusts)
        };
        let Some(left) = left.iter().find(is_kind).and_then(|left| left.count) else { continue };
        if shim.count.is_none_or(|count| count > left) {
            let got = shim.count.map_or("None".to_owned(), |count| count.to_string());
            let expected = format!(
                "at most {left}, which the plan in place has left (plan.left); or stock_is=\"whole\" \
                 where the pieces in place are counted too, \"left\" where more were bought"
            );
            found
                .take(|| format!("stock[{at}].count"), Err::<(), _>(Refused::value(got, expected)));
        }
    }
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

/// Pairs of indices of supports; none where `None` is given.
pub(crate) fn joints(
    found: &mut Problems,
    joints: Option<&Bound<'_, PyAny>>,
) -> PyResult<Option<Vec<[usize; 2]>>> {
    let Some(joints) = joints else { return Ok(Some(Vec::new())) };
    let Ok(rows) = joints.try_iter() else {
        let refused = Refused::wrong_type(joints, "a list of pairs of indices of supports");
        return Ok(found.take(|| "joints".to_owned(), Err(refused)));
    };
    let mut pairs = Vec::new();
    for (at, row) in rows.enumerate() {
        let row = row?;
        let pair = row.extract::<[Bound<'_, PyAny>; 2]>();
        let pair = pair.map_err(|_| Refused::wrong_type(&row, "a pair of indices of supports"));
        let pair = pair.and_then(|[a, b]| Ok([index(&a)?, index(&b)?]));
        pairs.extend(found.take(|| format!("joints[{at}]"), pair));
    }
    Ok(Some(pairs))
}

/// The thickness of each piece in place, support by support.
fn placed(
    found: &mut Problems,
    placed: Option<&Bound<'_, PyAny>>,
) -> PyResult<Option<Vec<Vec<Length>>>> {
    let Some(placed) = placed else { return Ok(None) };
    let expected = "a ShimPlan, or for each support a list of the thickness of each piece";
    let Ok(stacks) = placed.try_iter() else {
        let refused = Refused::wrong_type(placed, expected);
        return Ok(found.take(|| "placed".to_owned(), Err(refused)));
    };
    let mut read = Vec::new();
    for (at, stack) in stacks.enumerate() {
        let stack = stack?;
        let field = || format!("placed[{at}]");
        let (Ok(pieces), false) = (stack.try_iter(), stack.is_instance_of::<PyString>()) else {
            found.take(field, Err::<(), _>(Refused::wrong_type(&stack, expected)));
            continue;
        };
        let mut thicknesses = Vec::new();
        for piece in pieces {
            thicknesses.extend(found.take(field, length(&piece?)));
        }
        read.push(thicknesses);
    }
    Ok(Some(read))
}

pub(crate) fn options(found: &mut Problems, given: &Given<'_, '_>) -> Option<PlanOptions> {
    let default = PlanOptions::default();
    let order = given.order.map_or(Ok(default.order), self::order);
    let order = found.take(|| "order".to_owned(), order);
    let keep_highest = given.keep_highest.map_or(Ok(default.keep_highest), flag);
    let keep_highest = found.take(|| "keep_highest".to_owned(), keep_highest);
    let max_pieces = given.max_pieces.map(|most| whole(most, MOST)).transpose();
    let max_pieces = found.take(|| "max_pieces".to_owned(), max_pieces);
    let max_stack = given.max_stack.map(length).transpose();
    let max_stack = found.take(|| "max_stack".to_owned(), max_stack);
    let budget = given.budget.map_or(Ok(default.budget), self::budget);
    let budget = found.take(|| "budget".to_owned(), budget);
    let risk = given.risk.map(|risk| number(risk, "a probability")).transpose();
    let risk = found.take(|| "risk".to_owned(), risk);
    Some(PlanOptions {
        order: order?,
        keep_highest: keep_highest?,
        max_pieces: max_pieces?,
        max_stack: max_stack?,
        risk: risk?,
        risk_of: RiskOf::default(),
        budget: budget?,
    })
}

/// An order by the name that it has in a job.
fn order(value: &Bound<'_, PyAny>) -> Result<Order, Refused> {
    named(value, "\"fewest-pieces\", \"flattest\", \"fewest-lifts\" or \"cheapest\"")
}

/// A choice by the name that it has in a job.
fn named<T: DeserializeOwned>(
    value: &Bound<'_, PyAny>,
    expected: &'static str,
) -> Result<T, Refused> {
    let Ok(name) = value.cast::<PyString>() else {
        return Err(Refused::wrong_type(value, expected));
    };
    serde_json::from_value(Value::String(name.to_string_lossy().into_owned()))
        .map_err(|_| Refused::value(shown(value), expected))
}

//! Lengths, numbers, counts and flags as Python gives them.

use std::num::NonZero;

use numpy::{PyArray1, PyArrayMethods};
use pyo3::conversion::FromPyObjectOwned;
use pyo3::prelude::*;
use pyo3::types::{PyFloat, PyInt, PyString};
use serde::Serialize;
use serde_json::Value;
use truebed::Length;

use crate::error::{Problems, Refused, one, shown};

const LENGTH: &str = "a number of mm or a text with a unit";

/// A length: a number of millimetres, or a text with a unit.
pub(crate) fn length(value: &Bound<'_, PyAny>) -> Result<Length, Refused> {
    Ok(match text(value)? {
        Some(length) => length,
        None => Length::from_mm(of_millimetres(value)?)?,
    })
}

/// A length in millimetres that keeps what a number has beyond the nanometre.
fn millimetres(value: &Bound<'_, PyAny>) -> Result<f64, Refused> {
    Ok(match text(value)? {
        Some(length) => length.mm(),
        None => of_millimetres(value)?,
    })
}

/// A number of millimetres: plain, or a quantity with a unit of its own, as those of Pint.
pub(crate) fn of_millimetres(value: &Bound<'_, PyAny>) -> Result<f64, Refused> {
    if let Ok(float) = value.cast_exact::<PyFloat>() {
        return Ok(float.value());
    }
    match quantity(value, "mm") {
        Some(mm) => number(&mm.map_err(|_| Refused::wrong_type(value, "a length"))?, LENGTH),
        None => number(value, LENGTH),
    }
}

/// What a quantity with a unit of its own, as those of Pint, is in another unit; none where it is no
/// quantity.
pub(crate) fn quantity<'py>(
    value: &Bound<'py, PyAny>,
    unit: &str,
) -> Option<PyResult<Bound<'py, PyAny>>> {
    let is = |name| value.hasattr(name).unwrap_or(false);
    let converted = || value.call_method1("to", (unit,))?.getattr("magnitude");
    (is("magnitude") && is("to")).then(converted)
}

/// A text, as an id or a name: every language takes it, so it is Unicode without lone surrogates.
pub(crate) fn unicode(text: &Bound<'_, PyString>) -> Result<String, Refused> {
    match text.to_cow() {
        Ok(text) => Ok(text.into_owned()),
        Err(_) => Err(Refused::value(shown(text), "a text in Unicode, without lone surrogates")),
    }
}

fn text(value: &Bound<'_, PyAny>) -> Result<Option<Length>, Refused> {
    let Ok(text) = value.cast::<PyString>() else { return Ok(None) };
    // A lone surrogate is no part of any length, so what becomes of it does not matter.
    Ok(Some(text.to_string_lossy().parse()?))
}

/// A plain number.
pub(crate) fn number(value: &Bound<'_, PyAny>, expected: &str) -> Result<f64, Refused> {
    if let Ok(float) = value.cast_exact::<PyFloat>() {
        return Ok(float.value());
    }
    let number = if is_no_number(value) { None } else { value.extract().ok() };
    number.ok_or_else(|| Refused::wrong_type(value, expected))
}

/// A whole number that fits `T`, so never a negative one.
pub(crate) fn whole<'py, T: FromPyObjectOwned<'py>>(
    value: &Bound<'py, PyAny>,
    expected: &str,
) -> Result<T, Refused> {
    // `__index__` is what tells whole numbers, NumPy's among them, from floats that happen to be
    // whole.
    let plain = value.is_exact_instance_of::<PyInt>();
    if !plain && (is_no_number(value) || !value.hasattr("__index__").unwrap_or(false)) {
        return Err(Refused::wrong_type(value, expected));
    }
    value.extract().map_err(|_| Refused::value(shown(value), expected))
}

/// The index of a support or a point.
pub(crate) fn index(value: &Bound<'_, PyAny>) -> Result<usize, Refused> {
    whole(value, "an index, 0 or more")
}

/// A number of threads; None for one for each core.
pub(crate) fn threads(value: Option<&Bound<'_, PyAny>>) -> Result<Option<NonZero<usize>>, Refused> {
    let expected = "None or a number of threads, 1 or more";
    let read = |value: &Bound<'_, PyAny>| {
        let number = whole::<usize>(value, expected)?;
        NonZero::new(number).ok_or_else(|| Refused::value("0", expected))
    };
    value.map(read).transpose()
}

/// The name that a job has for one of several choices.
pub(crate) fn job_name(choice: &impl Serialize) -> String {
    match serde_json::to_value(choice) {
        Ok(Value::String(name)) => name,
        _ => String::new(),
    }
}

/// `True` or `False`.
pub(crate) fn flag(value: &Bound<'_, PyAny>) -> Result<bool, Refused> {
    value.extract().map_err(|_| Refused::wrong_type(value, "True or False"))
}

/// Python's bool is an int, and NumPy's bools, times and complex numbers turn into floats (the latter
/// without their imaginary part): none of them is meant as a number.
fn is_no_number(value: &Bound<'_, PyAny>) -> bool {
    const KINDS: [&str; 5] = ["bool", "complex", "clongdouble", "datetime64", "timedelta64"];
    let name = value.get_type().name();
    name.is_ok_and(|name| KINDS.iter().any(|kind| name.to_string_lossy().starts_with(kind)))
}

/// Reads a length and returns it in millimetres, to the nearest nanometre: a number is
/// millimetres, a text needs a unit ("0.010 in", "1/64 in", "10 thou", "0.25 mm", "40 um").
///
/// Raises InputError for a text without a unit or that is no length, and for what lies beyond
/// 1000 km or is not finite; InputTypeError for what is neither a number nor a text.
///
/// >>> import truebed
/// >>> truebed.parse_length("1/64 in")
/// 0.396875
#[pyfunction]
pub(crate) fn parse_length(length: &Bound<'_, PyAny>) -> PyResult<f64> {
    one(length.py(), "length", self::length(length)).map(Length::mm)
}

/// The elements of an array of lengths, in millimetres.
#[pyfunction]
pub(crate) fn lengths<'py>(
    py: Python<'py>,
    field: &str,
    elements: Vec<Bound<'py, PyAny>>,
    shape: Vec<usize>,
) -> PyResult<Bound<'py, PyAny>> {
    array(py, field, &elements, shape, millimetres)
}

/// A plain number.
#[pyfunction]
pub(crate) fn plain(field: &str, value: &Bound<'_, PyAny>) -> PyResult<f64> {
    one(value.py(), field, number(value, "a number"))
}

/// A list of texts, such as ids.
#[pyfunction]
pub(crate) fn texts(
    py: Python<'_>,
    field: &str,
    items: Vec<Bound<'_, PyAny>>,
) -> PyResult<Vec<String>> {
    let mut found = Problems::default();
    let read = |(at, item): (usize, &Bound<'_, PyAny>)| {
        let text = match item.cast::<PyString>() {
            Ok(text) => unicode(text),
            Err(_) => Err(Refused::wrong_type(item, "a text")),
        };
        found.take(|| format!("{field}[{at}]"), text)
    };
    let texts = items.iter().enumerate().filter_map(read).collect();
    found.finish(py, Some(texts))
}

/// The elements of an array of plain numbers.
#[pyfunction]
pub(crate) fn numbers<'py>(
    py: Python<'py>,
    field: &str,
    elements: Vec<Bound<'py, PyAny>>,
    shape: Vec<usize>,
) -> PyResult<Bound<'py, PyAny>> {
    array(py, field, &elements, shape, |value| number(value, "a number"))
}

fn array<'py>(
    py: Python<'py>,
    field: &str,
    elements: &[Bound<'py, PyAny>],
    shape: Vec<usize>,
    read: impl Fn(&Bound<'py, PyAny>) -> Result<f64, Refused>,
) -> PyResult<Bound<'py, PyAny>> {
    let mut found = Problems::default();
    let values = elements
        .iter()
        .enumerate()
        .filter_map(|(at, value)| {
            let place = || match shape[..] {
                [_, columns] => format!("{field}[{}, {}]", at / columns, at % columns),
                _ => format!("{field}[{at}]"),
            };
            found.take(place, read(value))
        })
        .collect();
    let values = found.finish(py, Some(values))?;
    Ok(PyArray1::from_vec(py, values).reshape(shape)?.into_any())
}

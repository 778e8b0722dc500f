//! The job document.

use std::num::NonZero;

use pyo3::prelude::*;
use pyo3::pybacked::PyBackedBytes;
use truebed::{Budget, Error, Job};

use crate::budget::budget;
use crate::error::{Problems, Refused, one, raised};
use crate::signal::{Signals, interruptible};

/// How a job is run, as Python gives it.
type Given<'a, 'py> = (Option<&'a Bound<'py, PyAny>>, Option<&'a Bound<'py, PyAny>>);

/// Runs a job: JSON text in UTF-8 in and out.
#[pyfunction]
#[pyo3(signature = (document, *, budget, stop))]
pub(crate) fn run_job(
    py: Python<'_>,
    document: &[u8],
    budget: Option<&Bound<'_, PyAny>>,
    stop: Option<&Bound<'_, PyAny>>,
) -> PyResult<String> {
    done(py, document, true, (budget, stop), |job| {
        Ok(job.to_json_like(std::str::from_utf8(document).unwrap_or_default()))
    })
}

/// The work sheet of a job, which is run before unless it has been.
#[pyfunction]
#[pyo3(signature = (document, *, run, budget, stop))]
pub(crate) fn job_sheet(
    py: Python<'_>,
    document: &[u8],
    run: bool,
    budget: Option<&Bound<'_, PyAny>>,
    stop: Option<&Bound<'_, PyAny>>,
) -> PyResult<String> {
    done(py, document, run, (budget, stop), |job| Ok(job.sheet_of_outcome()))
}

/// The stages of a job, as SVG.
#[pyfunction]
#[pyo3(signature = (document, *, narrow, run, budget, stop))]
pub(crate) fn job_picture(
    py: Python<'_>,
    document: &[u8],
    narrow: bool,
    run: bool,
    budget: Option<&Bound<'_, PyAny>>,
    stop: Option<&Bound<'_, PyAny>>,
) -> PyResult<String> {
    let draw = if narrow { Job::picture_narrow_of_outcome } else { Job::picture_of_outcome };
    done(py, document, run, (budget, stop), |job| Ok(draw(&job)))
}

/// The page that a crew works from, as HTML.
#[pyfunction]
#[pyo3(signature = (document, *, run, budget, stop))]
pub(crate) fn job_page(
    py: Python<'_>,
    document: &[u8],
    run: bool,
    budget: Option<&Bound<'_, PyAny>>,
    stop: Option<&Bound<'_, PyAny>>,
) -> PyResult<String> {
    done(py, document, run, (budget, stop), |job| job.page_of_outcome())
}

/// The document of the next pass of a job: JSON text of both in, JSON text out.
#[pyfunction]
#[pyo3(signature = (document, readings, *, run))]
pub(crate) fn next_pass(
    py: Python<'_>,
    document: &[u8],
    readings: &[u8],
    run: bool,
) -> PyResult<String> {
    let (document, readings) = (utf8(py, document)?, utf8(py, readings)?);
    let made = match run {
        true => interruptible(py, |stop| {
            truebed::next_pass_until(document, readings, &Budget::UNLIMITED, stop)
        })?,
        false => py.detach(|| truebed::next_pass_of_outcome(document, readings)),
    };
    made.map_err(|error| raised(py, &error))
}

/// Runs a job until it is done, is stopped or Ctrl-C comes, or takes it as it was run, and makes something
/// of it.
fn done(
    py: Python<'_>,
    document: &[u8],
    run: bool,
    (budget, stop): Given<'_, '_>,
    make: impl FnOnce(Job) -> Result<String, Error> + Send,
) -> PyResult<String> {
    let document = utf8(py, document)?;
    let mut found = Problems::default();
    let budget = found.take(|| "budget".to_owned(), of_job(budget));
    let stop = found.take(|| "stop".to_owned(), callable(stop));
    let (budget, stop) = found.finish(py, budget.zip(stop))?;
    if !run {
        let made = py.detach(|| Job::done_from_json(document).and_then(make));
        return made.map_err(|error| raised(py, &error));
    }
    let (made, signalled) = py.detach(|| {
        let signals = Signals::new();
        let asks =
            || signals.stops(|py| stop.as_ref().map_or(Ok(false), |stop| truth(py, stop, ())));
        let job = Job::from_json(document).and_then(|job| job.run_until(&budget, &asks));
        // Nothing is made of a run that Ctrl-C ended.
        (job.and_then(make), signals.finish())
    });
    signalled?;
    made.map_err(|error| raised(py, &error))
}

/// Runs many jobs; for each its document, or the exception that says what is wrong with it.
#[pyfunction]
#[pyo3(signature = (documents, *, budget, threads, ask))]
pub(crate) fn run_jobs<'py>(
    py: Python<'py>,
    documents: Vec<PyBackedBytes>,
    budget: Option<&Bound<'py, PyAny>>,
    threads: Option<&Bound<'py, PyAny>>,
    ask: Option<Py<PyAny>>,
) -> PyResult<Vec<Bound<'py, PyAny>>> {
    let mut found = Problems::default();
    let budget = found.take(|| "budget".to_owned(), of_job(budget));
    let threads = found.take(|| "threads".to_owned(), crate::value::threads(threads));
    let (budget, threads): (Budget, Option<NonZero<usize>>) =
        found.finish(py, budget.zip(threads))?;
    let texts: Vec<PyResult<&str>> = documents.iter().map(|it| utf8(py, it)).collect();
    let good: Vec<&str> = texts.iter().flatten().copied().collect();
    let (done, signalled) = py.detach(|| {
        let signals = Signals::new();
        let done = truebed::run_jobs(threads, &good, &budget, &|done| {
            signals.stops(|py| ask.as_ref().map_or(Ok(false), |ask| truth(py, ask, (done,))))
        });
        (done, signals.finish())
    });
    signalled?;
    let mut done = done.into_iter().map(|it| it.map_err(|error| raised(py, &error)));
    let each = texts.into_iter().filter_map(|text| match text {
        Ok(_) => done.next(),
        Err(error) => Some(Err(error)),
    });
    each.map(|it| match it {
        Ok(text) => Ok(text.into_pyobject(py)?.into_any()),
        Err(error) => Ok(error.into_value(py).into_bound(py).into_any()),
    })
    .collect()
}

/// The JSON Schema of the document, as JSON text.
#[pyfunction]
pub(crate) fn job_schema() -> String {
    Job::json_schema()
}

/// The budget of a run; the default is that of the job alone.
pub(crate) fn of_job(value: Option<&Bound<'_, PyAny>>) -> Result<Budget, Refused> {
    value.map_or(Ok(Budget::UNLIMITED), budget)
}

fn callable(value: Option<&Bound<'_, PyAny>>) -> Result<Option<Py<PyAny>>, Refused> {
    let expected = "None or what can be called without arguments";
    let read = |value: &Bound<'_, PyAny>| match value.is_callable() {
        true => Ok(value.clone().unbind()),
        false => Err(Refused::wrong_type(value, expected)),
    };
    value.map(read).transpose()
}

/// Whether what is called answers with something true.
fn truth<'py>(
    py: Python<'py>,
    called: &Py<PyAny>,
    arguments: impl pyo3::call::PyCallArgs<'py>,
) -> PyResult<bool> {
    called.bind(py).call1(arguments)?.is_truthy()
}

fn utf8<'a>(py: Python<'_>, document: &'a [u8]) -> PyResult<&'a str> {
    let text = std::str::from_utf8(document);
    one(py, "job", text.map_err(|error| Refused::document(error.to_string(), "text in UTF-8")))
}

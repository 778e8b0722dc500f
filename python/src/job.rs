//! The job document.

use pyo3::prelude::*;
use truebed::{Budget, Job};

use crate::error::{Refused, one, raised};
use crate::signal::interruptible;

/// Runs a job: JSON text in UTF-8 in and out.
#[pyfunction]
pub(crate) fn run_job(py: Python<'_>, document: &[u8]) -> PyResult<String> {
    run(py, document, |job| job.to_json())
}

/// Runs a job and writes its work sheet.
#[pyfunction]
pub(crate) fn job_sheet(py: Python<'_>, document: &[u8]) -> PyResult<String> {
    run(py, document, |job| job.sheet_of_outcome())
}

/// Runs a job and draws its stages, as SVG.
#[pyfunction]
pub(crate) fn job_picture(py: Python<'_>, document: &[u8], narrow: bool) -> PyResult<String> {
    let draw = if narrow { Job::picture_narrow_of_outcome } else { Job::picture_of_outcome };
    run(py, document, draw)
}

/// Runs a job until it is done or Ctrl-C comes, and writes what came of it.
fn run(
    py: Python<'_>,
    document: &[u8],
    write: impl FnOnce(&Job) -> String + Send,
) -> PyResult<String> {
    let document = utf8(py, document)?;
    let budget = Budget { nodes: u64::MAX, time_ms: None };
    let run = |stop: &dyn Fn() -> bool| {
        let job = Job::from_json(document)?.run_until(&budget, stop)?;
        Ok(write(&job))
    };
    interruptible(py, run)?.map_err(|error: truebed::Error| raised(py, &error))
}

/// Runs a job and writes the page that a crew works from, as HTML.
#[pyfunction]
pub(crate) fn job_page(py: Python<'_>, document: &[u8]) -> PyResult<String> {
    let document = utf8(py, document)?;
    let page = || Job::from_json(document)?.page();
    py.detach(page).map_err(|error| raised(py, &error))
}

/// The document of the next pass of a job: JSON text of both in, JSON text out.
#[pyfunction]
pub(crate) fn next_pass(py: Python<'_>, document: &[u8], readings: &[u8]) -> PyResult<String> {
    let (document, readings) = (utf8(py, document)?, utf8(py, readings)?);
    py.detach(|| truebed::next_pass(document, readings)).map_err(|error| raised(py, &error))
}

/// The JSON Schema of the document, as JSON text.
#[pyfunction]
pub(crate) fn job_schema() -> String {
    Job::json_schema()
}

fn utf8<'a>(py: Python<'_>, document: &'a [u8]) -> PyResult<&'a str> {
    let text = std::str::from_utf8(document);
    one(py, "job", text.map_err(|error| Refused::document(error.to_string(), "text in UTF-8")))
}

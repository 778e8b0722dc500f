//! The job document.

use pyo3::prelude::*;
use truebed::Job;

use crate::error::{Refused, one, raised};

/// Runs a job: JSON text in UTF-8 in and out.
#[pyfunction]
pub(crate) fn run_job(py: Python<'_>, document: &[u8]) -> PyResult<String> {
    let document = utf8(py, document)?;
    py.detach(|| truebed::run_job(document)).map_err(|error| raised(py, &error))
}

/// Runs a job and writes its work sheet.
#[pyfunction]
pub(crate) fn job_sheet(py: Python<'_>, document: &[u8]) -> PyResult<String> {
    let document = utf8(py, document)?;
    let sheet = || Job::from_json(document)?.sheet();
    py.detach(sheet).map_err(|error| raised(py, &error))
}

/// Runs a job and draws its stages, as SVG.
#[pyfunction]
pub(crate) fn job_picture(py: Python<'_>, document: &[u8]) -> PyResult<String> {
    let document = utf8(py, document)?;
    let picture = || Job::from_json(document)?.picture();
    py.detach(picture).map_err(|error| raised(py, &error))
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

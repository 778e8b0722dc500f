//! From problems to exceptions.

use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::PyType;
use truebed::{Problem, ProblemKind};

/// Why a value was refused; the field is known to whoever asked for the value.
pub(crate) struct Refused {
    kind: ProblemKind,
    wrong_type: bool,
    got: String,
    expected: String,
}

impl Refused {
    /// A value of the right type that the field cannot take.
    pub(crate) fn value(got: impl Into<String>, expected: impl Into<String>) -> Self {
        Self {
            kind: ProblemKind::Value,
            wrong_type: false,
            got: got.into(),
            expected: expected.into(),
        }
    }

    /// A name that nothing has.
    pub(crate) fn unknown(got: impl Into<String>, expected: impl Into<String>) -> Self {
        Self { kind: ProblemKind::Unknown, ..Self::value(got, expected) }
    }

    /// What is no document.
    pub(crate) fn document(got: impl Into<String>, expected: impl Into<String>) -> Self {
        Self { kind: ProblemKind::Document, ..Self::value(got, expected) }
    }

    /// A value of a type that the field does not take.
    pub(crate) fn wrong_type(value: &Bound<'_, PyAny>, expected: impl Into<String>) -> Self {
        let of = value.get_type().name().map_or_else(|_| String::new(), |name| name.to_string());
        let got = format!("{} ({of})", shown(value));
        Self { kind: ProblemKind::Value, wrong_type: true, got, expected: expected.into() }
    }
}

impl Refused {
    /// Whether it is the type that is wrong.
    pub(crate) fn is_wrong_type(&self) -> bool {
        self.wrong_type
    }
}

impl From<truebed::Error> for Refused {
    /// The first problem of a single value: it has no other.
    fn from(error: truebed::Error) -> Self {
        let problem = &error.problems()[0];
        Self {
            kind: problem.kind,
            wrong_type: false,
            got: problem.got.clone(),
            expected: problem.expected.clone(),
        }
    }
}

/// How Python writes a value, at a length that a message can bear.
pub(crate) fn shown(value: &Bound<'_, PyAny>) -> String {
    const MOST: usize = 80;
    // What has no repr is told by its type alone.
    let text = value.repr().map_or_else(|_| "…".into(), |text| text.to_string());
    if text.chars().count() <= MOST {
        return text;
    }
    text.chars().take(MOST).chain("…".chars()).collect()
}

/// The core's collector of problems, which collects what is refused of one call.
#[derive(Default)]
pub(crate) struct Problems {
    found: truebed::Problems,
    /// Whether the first had a wrong type.
    wrong_type: Option<bool>,
}

impl Problems {
    /// Takes the value out of a result, or notes under which field it was refused.
    pub(crate) fn take<T>(
        &mut self,
        field: impl FnOnce() -> String,
        result: Result<T, Refused>,
    ) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(Refused { kind, wrong_type, got, expected }) => {
                self.wrong_type.get_or_insert(wrong_type);
                if !self.found.is_full() {
                    self.found.push(Problem { kind, field: field(), got, expected });
                }
                None
            }
        }
    }

    /// The value, if nothing was refused.
    pub(crate) fn finish<T>(self, py: Python<'_>, value: Option<T>) -> PyResult<T> {
        match (self.found.into_result(), value) {
            (Ok(()), Some(value)) => Ok(value),
            (Ok(()), None) => Err(exception(py, false, ProblemKind::Value.code(), Vec::new())),
            (Err(error), _) => Err(of(py, self.wrong_type.unwrap_or(false), &error)),
        }
    }
}

/// The value, or the exception that says under which field it was refused.
pub(crate) fn one<T>(py: Python<'_>, field: &str, result: Result<T, Refused>) -> PyResult<T> {
    let mut found = Problems::default();
    let value = found.take(|| field.to_owned(), result);
    found.finish(py, value)
}

/// The exception of an error of the core.
pub(crate) fn raised(py: Python<'_>, error: &truebed::Error) -> PyErr {
    of(py, false, error)
}

fn of(py: Python<'_>, wrong_type: bool, error: &truebed::Error) -> PyErr {
    let problems = error.problems().iter();
    let problems = problems.map(|it| (it.field.clone(), it.got.clone(), it.expected.clone()));
    exception(py, wrong_type, error.code(), problems.collect())
}

fn exception(
    py: Python<'_>,
    wrong_type: bool,
    code: i32,
    problems: Vec<(String, String, String)>,
) -> PyErr {
    // The classes are Python's own: subclasses of two builtins cannot be made through the stable
    // ABI.
    static INPUT: PyOnceLock<Py<PyType>> = PyOnceLock::new();
    static INPUT_TYPE: PyOnceLock<Py<PyType>> = PyOnceLock::new();
    let class = if wrong_type {
        INPUT_TYPE.import(py, "truebed._error", "InputTypeError")
    } else {
        INPUT.import(py, "truebed._error", "InputError")
    };
    match class.and_then(|class| class.call1((code, problems))) {
        Ok(exception) => PyErr::from_value(exception),
        Err(error) => error,
    }
}

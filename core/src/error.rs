//! What is wrong with an input: every problem found, each with the field, what was got and what
//! was expected.
//!
//! Bad input is an [`Error`]. How a search ended is never one: see
//! [`Status`](crate::Status).

use std::fmt;

use crate::shown::shown;

/// The kind of a [`Problem`]. The numbers are the status numbers of the C library and the `.code`
/// of the Python exceptions; a number is never used again for anything else.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
#[repr(i32)]
pub enum ProblemKind {
    /// A value that the field cannot take: not a number, negative, out of range.
    Value = 10,
    /// A length that cannot be read: no unit, an unknown unit, no number.
    Length = 11,
    /// The same id, place or pair given twice.
    Duplicate = 12,
    /// An id that names nothing.
    Unknown = 13,
    /// Arrays whose sizes do not match, or an empty one.
    Shape = 14,
    /// Points that do not span what was asked for: too few, or all on one line.
    Geometry = 15,
    /// A document that is not the JSON expected here: syntax, missing fields, wrong types.
    Document = 16,
    /// A document of a version that this library does not read.
    Version = 17,
    /// Points that the readings do not tie together.
    Untied = 18,
    /// Work that the caller or its budget stopped before there was an answer.
    Stopped = 19,
    /// A fault of the library itself, never of the input.
    Internal = 99,
}

impl ProblemKind {
    /// The fixed number of this kind.
    pub fn code(self) -> i32 {
        self as i32
    }
}

/// One thing that is wrong with an input.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{field}: got {got}, expected {expected}")]
pub struct Problem {
    /// What kind of problem it is.
    pub kind: ProblemKind,
    /// The field, with the index or id of the item: `stock[2].thickness`.
    pub field: String,
    /// What was given.
    pub got: String,
    /// What the field takes, with its unit.
    pub expected: String,
}

/// All problems found in an input, at least one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Error {
    problems: Vec<Problem>,
}

impl Error {
    /// The problems, in the order in which they were found; never empty.
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// The fixed number of the first problem's kind.
    pub fn code(&self) -> i32 {
        self.problems.first().map_or(0, |problem| problem.kind.code())
    }

    /// The same problems, seen from one level up: `within("legs")` makes `limits` `legs.limits`.
    pub(crate) fn within(mut self, outer: &str) -> Self {
        for problem in &mut self.problems {
            problem.field = format!("{outer}.{}", problem.field);
        }
        self
    }

    /// The same problems under other fields.
    pub(crate) fn renamed(mut self, name: impl Fn(&str) -> String) -> Self {
        for problem in &mut self.problems {
            problem.field = name(&problem.field);
        }
        self
    }

    /// The same problems, each as somebody else sees it.
    pub(crate) fn each(mut self, change: impl Fn(&mut Problem)) -> Self {
        self.problems.iter_mut().for_each(change);
        self
    }

    /// What work ends with that had to stop.
    pub(crate) fn stopped() -> Self {
        let got = "a request to stop, or no time left";
        Self::new(ProblemKind::Stopped, "budget", got, "time for an answer")
    }

    /// Whether nothing is wrong but where points lie.
    pub(crate) fn is_geometry(&self) -> bool {
        self.problems.iter().all(|problem| problem.kind == ProblemKind::Geometry)
    }

    /// The problems of the input, where there are any: that the work had to stop says nothing beside
    /// them.
    pub(crate) fn beside_stops(mut self) -> Self {
        if !self.is_stopped() {
            self.problems.retain(|problem| problem.kind != ProblemKind::Stopped);
        }
        self
    }

    /// Whether nothing is wrong but that the work had to stop.
    pub(crate) fn is_stopped(&self) -> bool {
        self.problems.iter().all(|problem| problem.kind == ProblemKind::Stopped)
    }

    /// An error of one problem; its texts are cut to a length that a message can bear.
    pub fn new(
        kind: ProblemKind,
        field: impl Into<String>,
        got: impl fmt::Display,
        expected: impl Into<String>,
    ) -> Self {
        let mut found = Problems::default();
        found.add(kind, field, got, expected);
        Self { problems: found.0 }
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, problem) in self.problems.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{problem}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Error {}

/// Collects the problems of one input, so that all of them are reported at once.
///
/// ```
/// use truebed::{Length, ProblemKind, Problems};
/// let mut found = Problems::default();
/// let thickness = found.take("0.5 mm".parse::<Length>());
/// found.add(ProblemKind::Value, "count", -1, "a whole number of at least 0");
/// let error = found.into_result().unwrap_err();
/// assert_eq!(error.to_string(), "count: got -1, expected a whole number of at least 0");
/// # assert!(thickness.is_some());
/// ```
#[derive(Debug, Default)]
pub struct Problems(Vec<Problem>);

impl Problems {
    /// The most problems that are listed; a hostile document could hold millions.
    pub const MOST: usize = 50;

    /// Notes a problem; its texts are made safe to show, and cut to a length that a message can bear.
    pub fn add(
        &mut self,
        kind: ProblemKind,
        field: impl Into<String>,
        got: impl fmt::Display,
        expected: impl Into<String>,
    ) {
        if !self.is_full() {
            let (field, got) = (shortened(&field.into(), 80), shortened(&got.to_string(), 80));
            let expected = shortened(&expected.into(), 400);
            self.push(Problem { kind, field, got, expected });
        }
    }

    /// Notes a problem as it is, once, its texts made safe to show.
    pub fn push(&mut self, problem: Problem) {
        if !self.is_full() {
            let [field, got, expected] =
                [problem.field, problem.got, problem.expected].map(|text| shown(&text));
            let problem = Problem { kind: problem.kind, field, got, expected };
            if !self.0.contains(&problem) {
                self.0.push(problem);
            }
        }
    }

    /// Takes the value out of a result, or notes its problems.
    pub fn take<T>(&mut self, result: Result<T, Error>) -> Option<T> {
        result.map_err(|error| error.problems.into_iter().for_each(|it| self.push(it))).ok()
    }

    /// Whether no further problem is listed.
    pub fn is_full(&self) -> bool {
        self.0.len() >= Self::MOST
    }

    /// Nothing, if no problem was found.
    ///
    /// # Errors
    /// The problems that were found.
    pub fn into_result(self) -> Result<(), Error> {
        if self.0.is_empty() { Ok(()) } else { Err(Error { problems: self.0 }) }
    }
}

/// A text at a length that a message can bear.
fn shortened(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    text.chars().take(most).chain("…".chars()).collect()
}

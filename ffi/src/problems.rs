//! What is wrong with numbers that the core cannot be handed.

use truebed_core::{Error, Length, LimitKind, Limits, Problem, ProblemKind};

use crate::status::Failure;

/// The core's collector of problems, which reads the numbers of C.
#[derive(Default)]
pub(crate) struct Problems {
    found: truebed_core::Problems,
    /// The fields that are named in it.
    named: Vec<String>,
    /// Whether a place could not be read.
    places: bool,
}

impl Problems {
    /// Reads millimetres as a length. What is none has a length that no other has, so that the rest can be
    /// checked.
    pub(crate) fn length(&mut self, mm: f64, field: impl FnOnce() -> String) -> Length {
        Length::from_mm(mm).unwrap_or_else(|error| {
            let field = field();
            for problem in error.problems() {
                self.found.push(Problem { field: field.clone(), ..problem.clone() });
            }
            self.named.push(field);
            Length::from_nm(-(self.named.len() as i64))
        })
    }

    /// Reads a coordinate of a place in plan.
    pub(crate) fn coordinate(&mut self, mm: f64, field: impl FnOnce() -> String) -> Length {
        let before = self.named.len();
        let length = self.length(mm, field);
        self.places |= self.named.len() > before;
        length
    }

    /// Notes a value that the field cannot take.
    pub(crate) fn value(
        &mut self,
        field: impl Into<String>,
        got: impl ToString,
        expected: impl Into<String>,
    ) {
        let field = field.into();
        self.named.push(field.clone());
        self.found.add(ProblemKind::Value, field, got.to_string(), expected);
    }

    /// Of places that cannot be read nobody knows what a limit on lines binds.
    pub(crate) fn spare(&self, limits: &mut Limits) {
        if self.places {
            limits.by_preset.extend([LimitKind::Along, LimitKind::Across]);
        }
    }

    pub(crate) fn finish(self) -> Result<(), Failure> {
        self.found.into_result().map_err(Failure::from)
    }

    /// As [`finish`](Self::finish); where a number could not be read, what else is wrong is told with it.
    pub(crate) fn finish_with<T>(
        mut self,
        check: impl FnOnce() -> Result<T, Error>,
    ) -> Result<(), Failure> {
        if !self.named.is_empty()
            && let Err(error) = check()
        {
            for problem in error.problems() {
                if problem.kind != ProblemKind::Stopped && !self.names(&problem.field) {
                    self.found.push(problem.clone());
                }
            }
        }
        self.finish()
    }

    /// Whether the field is named, or a part of it.
    fn names(&self, field: &str) -> bool {
        let is_part = |rest: &str| rest.is_empty() || rest.starts_with(['.', '[']);
        self.named.iter().any(|named| named.strip_prefix(field).is_some_and(is_part))
    }
}

//! What is wrong with numbers that the core cannot be handed.

use truebed_core::{Length, Problem, ProblemKind};

use crate::status::Failure;

/// The core's collector of problems, which reads the numbers of C.
#[derive(Default)]
pub(crate) struct Problems(truebed_core::Problems);

impl Problems {
    /// Reads millimetres as a length.
    pub(crate) fn length(&mut self, mm: f64, field: impl FnOnce() -> String) -> Length {
        Length::from_mm(mm).unwrap_or_else(|error| {
            let field = field();
            for problem in error.problems() {
                self.0.push(Problem { field: field.clone(), ..problem.clone() });
            }
            Length::ZERO
        })
    }

    /// Notes a value that the field cannot take.
    pub(crate) fn value(
        &mut self,
        field: impl Into<String>,
        got: impl ToString,
        expected: impl Into<String>,
    ) {
        self.0.add(ProblemKind::Value, field, got.to_string(), expected);
    }

    pub(crate) fn finish(self) -> Result<(), Failure> {
        self.0.into_result().map_err(Failure::from)
    }
}

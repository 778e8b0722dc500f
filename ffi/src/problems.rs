//! What is wrong with numbers that the core cannot be handed.

use truebed_core::{Length, Problem, ProblemKind};

use crate::status::Failure;

/// Collects the problems of one input, so that all of them are told at once.
#[derive(Default)]
pub(crate) struct Problems(Vec<Problem>);

impl Problems {
    /// How many are listed; a buffer could hold millions.
    pub(crate) const MOST: usize = 50;

    /// Reads millimetres as a length.
    pub(crate) fn length(&mut self, mm: f64, field: impl FnOnce() -> String) -> Length {
        Length::from_mm(mm).unwrap_or_else(|error| {
            let field = field();
            for problem in error.problems() {
                self.add(Problem { field: field.clone(), ..problem.clone() });
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
        self.add(Problem {
            kind: ProblemKind::Value,
            field: field.into(),
            got: got.to_string(),
            expected: expected.into(),
        });
    }

    fn add(&mut self, problem: Problem) {
        if self.0.len() < Self::MOST {
            self.0.push(problem);
        }
    }

    pub(crate) fn finish(self) -> Result<(), Failure> {
        if self.0.is_empty() { Ok(()) } else { Err(self.0.into()) }
    }
}

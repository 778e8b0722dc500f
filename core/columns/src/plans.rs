//! A plan for each row.

use std::num::NonZero;
use std::sync::Arc;

use arrow_array::builder::{Float64Builder, Int64Builder, ListBuilder, StringBuilder};
use arrow_array::{ArrayRef, RecordBatch};
use arrow_schema::{DataType, Schema};
use truebed::{Error, ShimPlan, ShimProblem, Status, plan_each};

use crate::answers::Work;
use crate::problems::{Columns, ProblemSettings, Rows};
use crate::rows::list;

/// A plan for each row.
///
/// In: `x_mm`, `y_mm` and `height_mm`, lists of numbers, one for each support; where the settings have none,
/// `stock_mm` and `stock_count` (lists; a null count is as many as it takes) and `limit_mm`. Out: `status`,
/// `pieces`, `worst_mm`, `stacks` (a list of the thicknesses, mm, under each support, thickest first) and
/// `error`, which is null where the row has a plan.
pub struct Plans {
    settings: ProblemSettings,
    threads: Option<NonZero<usize>>,
    columns: Columns,
}

impl Plans {
    /// Plans from these columns, on at most so many threads; the default is one for each core.
    ///
    /// # Errors
    /// Columns that are missing or of another type.
    pub fn new(
        from: &Schema,
        settings: ProblemSettings,
        threads: Option<NonZero<usize>>,
    ) -> Result<Self, Error> {
        let columns = Columns::new(from, &settings, true)?;
        Ok(Self { settings, threads, columns })
    }
}

impl Work for Plans {
    fn names(&self) -> Vec<(&'static str, DataType)> {
        vec![
            ("status", DataType::Utf8),
            ("pieces", DataType::Int64),
            ("worst_mm", DataType::Float64),
            ("stacks", list(list(DataType::Float64))),
        ]
    }

    fn columns(
        &self,
        batch: &RecordBatch,
        stop: &dyn Fn() -> bool,
    ) -> Result<Vec<ArrayRef>, Error> {
        let rows = Rows::new(&self.settings, &self.columns, batch)?;
        let (count, stop) = (batch.num_rows(), |_| stop());
        let plans = plan_each(self.threads, count, |at| rows.problem(at), Row::new, &stop);
        let mut made = Made::default();
        for plan in plans {
            match plan {
                Ok(row) => made.add(&row),
                Err(error) => made.refuse(&error.to_string()),
            }
        }
        Ok(made.columns())
    }
}

/// What goes out of a plan.
struct Row {
    status: &'static str,
    pieces: usize,
    worst_mm: f64,
    /// The thicknesses, mm, support by support,
    thicknesses: Vec<f64>,
    /// and how many each support has.
    counts: Vec<usize>,
}

impl Row {
    fn new(problem: &ShimProblem, plan: ShimPlan) -> Self {
        let mut thicknesses = Vec::with_capacity(plan.pieces);
        for (stack, setting) in plan.stacks.iter().zip(&plan.settings) {
            thicknesses.extend(stack.iter().map(|&kind| {
                let shim = &problem.stock[kind];
                shim.adjusts.and(*setting).unwrap_or(shim.thickness).mm()
            }));
        }
        Self {
            status: match plan.status {
                Status::Proven => "proven",
                Status::Infeasible => "infeasible",
                // Whatever else there may be one day, it is no proof.
                _ => "budget",
            },
            pieces: plan.pieces,
            worst_mm: plan.worst_mm(),
            thicknesses,
            counts: plan.stacks.iter().map(Vec::len).collect(),
        }
    }
}

/// The columns that go out.
#[derive(Default)]
struct Made {
    status: StringBuilder,
    pieces: Int64Builder,
    worst: Float64Builder,
    stacks: ListBuilder<ListBuilder<Float64Builder>>,
    error: StringBuilder,
}

impl Made {
    fn add(&mut self, row: &Row) {
        self.status.append_value(row.status);
        self.pieces.append_value(row.pieces as i64);
        self.worst.append_value(row.worst_mm);
        let mut rest = &row.thicknesses[..];
        for &count in &row.counts {
            let (stack, others) = rest.split_at(count);
            self.stacks.values().values().append_slice(stack);
            self.stacks.values().append(true);
            rest = others;
        }
        self.stacks.append(true);
        self.error.append_null();
    }

    fn refuse(&mut self, told: &str) {
        self.status.append_null();
        self.pieces.append_null();
        self.worst.append_null();
        self.stacks.append(false);
        self.error.append_value(told);
    }

    fn columns(mut self) -> Vec<ArrayRef> {
        vec![
            Arc::new(self.status.finish()),
            Arc::new(self.pieces.finish()),
            Arc::new(self.worst.finish()),
            Arc::new(self.stacks.finish()),
            Arc::new(self.error.finish()),
        ]
    }
}

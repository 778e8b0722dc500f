//! A plan for each row.

use std::num::NonZero;
use std::sync::Arc;

use arrow_array::builder::{Float64Builder, ListBuilder, StringBuilder, UInt32Builder};
use arrow_array::{ArrayRef, RecordBatch, RecordBatchReader};
use arrow_schema::{ArrowError, DataType, Field, Schema, SchemaRef};
use truebed::{
    Error, Length, Limits, PlanOptions, Shim, ShimPlan, ShimProblem, Status, Support, plan_many_on,
};

use crate::lists::{Lists, numbers};
use crate::rows::{Pieces, Stop, column, id};

/// What all rows have in common.
#[derive(Debug, Clone, Default)]
pub struct PlanSettings {
    /// The stock of every row; `None` where the columns `stock_mm` and `stock_count` have one of each.
    pub stock: Option<Vec<Shim>>,
    /// The limits of every row; `None` where the column `limit_mm` has an overall ± of each.
    pub limits: Option<Limits>,
    /// Order of goals, bounds and budget.
    pub options: PlanOptions,
    /// Threads; all cores where there is no number.
    pub threads: Option<NonZero<usize>>,
}

/// Plans over the rows of a reader.
///
/// In: `x_mm`, `y_mm` and `height_mm`, lists of numbers, one for each support; `id`, which goes out as
/// it came in; where the settings have none, `stock_mm` and `stock_count` (lists; a null count is as
/// many as it takes) and `limit_mm`. Out: `id`, `status`, `pieces`, `worst_mm`, `stacks` (a list of
/// the thicknesses, mm, under each support, thickest first) and `error`, which is null where the row has
/// a plan.
pub struct Plans {
    input: Pieces,
    settings: PlanSettings,
    columns: Columns,
    schema: SchemaRef,
    stop: Stop,
}

/// Where the columns stand in the input.
struct Columns {
    id: Option<usize>,
    x: usize,
    y: usize,
    height: usize,
    stock: Option<[usize; 2]>,
    limit: Option<usize>,
}

impl Plans {
    /// Plans over the rows of a reader.
    ///
    /// # Errors
    /// Columns that are missing.
    pub fn new(
        input: Box<dyn RecordBatchReader + Send>,
        settings: PlanSettings,
        stop: Stop,
    ) -> Result<Self, ArrowError> {
        let from = input.schema();
        let at = |name| column(&from, name);
        let id = id(from.fields());
        let stock = match settings.stock {
            Some(_) => None,
            None => Some([at("stock_mm")?, at("stock_count")?]),
        };
        let limit = match settings.limits {
            Some(_) => None,
            None => Some(at("limit_mm")?),
        };
        let columns = Columns {
            id: id.as_ref().map(|(at, _)| *at),
            x: at("x_mm")?,
            y: at("y_mm")?,
            height: at("height_mm")?,
            stock,
            limit,
        };
        let mut fields: Vec<_> = id.into_iter().map(|(_, field)| field).collect();
        let stack = |item| DataType::List(Arc::new(Field::new_list_field(item, true)));
        for (name, of) in [
            ("status", DataType::Utf8),
            ("pieces", DataType::UInt32),
            ("worst_mm", DataType::Float64),
            ("stacks", stack(stack(DataType::Float64))),
            ("error", DataType::Utf8),
        ] {
            fields.push(Arc::new(Field::new(name, of, true)));
        }
        let schema = Arc::new(Schema::new(fields));
        Ok(Self { input: Pieces::new(input), settings, columns, schema, stop })
    }

    fn plan(&self, batch: &RecordBatch) -> Result<RecordBatch, ArrowError> {
        let rows = Rows::new(&self.settings, &self.columns, batch)?;
        let read: Vec<_> = (0..batch.num_rows()).map(|at| rows.problem(at)).collect();
        // The problems by themselves, and for each row that has none what is wrong with it.
        let (mut problems, mut refused) = (Vec::new(), Vec::new());
        for row in read {
            match row {
                Ok(problem) => {
                    problems.push(problem);
                    refused.push(None);
                }
                Err(told) => refused.push(Some(told)),
            }
        }
        let plans = plan_many_on(self.settings.threads, &problems, &|_| (self.stop)());
        if (self.stop)() {
            return Err(ArrowError::ExternalError("stopped".into()));
        }
        let mut made = Made::default();
        let mut plans = problems.iter().zip(plans);
        for told in refused {
            match told {
                Some(told) => made.refuse(&told),
                None => match plans.next() {
                    Some((problem, Ok(plan))) => made.add(problem, &plan),
                    Some((_, Err(error))) => made.refuse(&error.to_string()),
                    None => {}
                },
            }
        }
        let id = self.columns.id.map(|at| Arc::clone(batch.column(at)));
        RecordBatch::try_new(Arc::clone(&self.schema), made.columns(id))
    }
}

impl Iterator for Plans {
    type Item = Result<RecordBatch, ArrowError>;

    fn next(&mut self) -> Option<Self::Item> {
        let batch = self.input.next()?;
        Some(batch.and_then(|batch| self.plan(&batch)))
    }
}

impl RecordBatchReader for Plans {
    fn schema(&self) -> SchemaRef {
        Arc::clone(&self.schema)
    }
}

/// The rows of a batch as problems.
struct Rows<'a> {
    settings: &'a PlanSettings,
    x: Lists,
    y: Lists,
    height: Lists,
    stock: Option<[Lists; 2]>,
    limit: Option<Vec<Option<f64>>>,
}

impl<'a> Rows<'a> {
    fn new(
        settings: &'a PlanSettings,
        columns: &Columns,
        batch: &RecordBatch,
    ) -> Result<Self, ArrowError> {
        let lists = |name, at: usize| Lists::new(name, batch.column(at));
        let stock = match columns.stock {
            Some([mm, count]) => Some([lists("stock_mm", mm)?, lists("stock_count", count)?]),
            None => None,
        };
        let limit = match columns.limit {
            Some(at) => Some(numbers(batch.column(at)).ok_or_else(|| {
                let got = batch.column(at).data_type();
                ArrowError::SchemaError(format!("limit_mm: got {got}, expected numbers"))
            })?),
            None => None,
        };
        Ok(Self {
            settings,
            x: lists("x_mm", columns.x)?,
            y: lists("y_mm", columns.y)?,
            height: lists("height_mm", columns.height)?,
            stock,
            limit,
        })
    }

    /// The problem of a row, or what is wrong with it, a line for each problem.
    fn problem(&self, at: usize) -> Result<ShimProblem, String> {
        let mut wrong = Vec::new();
        let (x, y, height) = (self.x.row(at)?, self.y.row(at)?, self.height.row(at)?);
        if x.len() != height.len() || y.len() != height.len() {
            let [x, y, height] = [x, y, height].map(<[_]>::len);
            return Err(format!(
                "height_mm: got {height} values, expected as many as x_mm ({x}) and y_mm ({y})"
            ));
        }
        let mut read = |name: &str, at: usize, value: Option<f64>| {
            length(value)
                .map_err(|told| wrong.push(format!("{name}[{at}]: {told}")))
                .unwrap_or_default()
        };
        let supports = (0..height.len())
            .map(|at| Support {
                x: read("x_mm", at, x[at]),
                y: read("y_mm", at, y[at]),
                height: read("height_mm", at, height[at]),
            })
            .collect();
        let stock = self.stock(at, &mut wrong)?;
        let limits = match (&self.settings.limits, &self.limit) {
            (Some(limits), _) => limits.clone(),
            (None, limit) => {
                let limit = limit.as_ref().and_then(|limit| limit[at]);
                let limit = length(limit).map_err(|told| wrong.push(format!("limit_mm: {told}")));
                Limits::overall(limit.unwrap_or_default())
            }
        };
        if !wrong.is_empty() {
            return Err(wrong.join("\n"));
        }
        let mut problem = ShimProblem::new(supports, stock, limits);
        problem.options = self.settings.options.clone();
        Ok(problem)
    }

    fn stock(&self, at: usize, wrong: &mut Vec<String>) -> Result<Vec<Shim>, String> {
        let Some([mm, counts]) = &self.stock else {
            return Ok(self.settings.stock.clone().unwrap_or_default());
        };
        let (mm, counts) = (mm.row(at)?, counts.row(at)?);
        if mm.len() != counts.len() {
            let [mm, counts] = [mm, counts].map(<[_]>::len);
            return Err(format!(
                "stock_count: got {counts} values, expected as many as stock_mm ({mm})"
            ));
        }
        let mut stock = Vec::new();
        for (kind, (&mm, &count)) in mm.iter().zip(counts).enumerate() {
            match length(mm) {
                Ok(mm) => stock.push(Shim::new(mm, count.map(|count| count as u32))),
                Err(told) => wrong.push(format!("stock_mm[{kind}]: {told}")),
            }
            let whole =
                |count: &f64| count.fract() == 0.0 && (0.0..=u32::MAX.into()).contains(count);
            if let Some(count) = count.filter(|count| !whole(count)) {
                let expected = "null or a whole number of pieces from 0 to 4294967295";
                wrong.push(format!("stock_count[{kind}]: got {count}, expected {expected}"));
            }
        }
        Ok(stock)
    }
}

/// A length from a number of millimetres, or what is wrong with it.
fn length(mm: Option<f64>) -> Result<Length, String> {
    let Some(mm) = mm else { return Err("got null, expected a number of mm".to_owned()) };
    Length::from_mm(mm).map_err(|error: Error| {
        let problem = &error.problems()[0];
        format!("got {}, expected {}", problem.got, problem.expected)
    })
}

/// The columns that go out.
#[derive(Default)]
struct Made {
    status: StringBuilder,
    pieces: UInt32Builder,
    worst: Float64Builder,
    stacks: ListBuilder<ListBuilder<Float64Builder>>,
    error: StringBuilder,
}

impl Made {
    fn add(&mut self, problem: &ShimProblem, plan: &ShimPlan) {
        self.status.append_value(match plan.status {
            Status::Proven => "proven",
            Status::Infeasible => "infeasible",
            _ => "budget",
        });
        self.pieces.append_value(plan.pieces as u32);
        self.worst.append_value(plan.worst_mm());
        for (stack, setting) in plan.stacks.iter().zip(&plan.settings) {
            for &kind in stack {
                let shim = &problem.stock[kind];
                let set = shim.adjusts.and(*setting).unwrap_or(shim.thickness);
                self.stacks.values().values().append_value(set.mm());
            }
            self.stacks.values().append(true);
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

    fn columns(mut self, id: Option<ArrayRef>) -> Vec<ArrayRef> {
        let made: [ArrayRef; 5] = [
            Arc::new(self.status.finish()),
            Arc::new(self.pieces.finish()),
            Arc::new(self.worst.finish()),
            Arc::new(self.stacks.finish()),
            Arc::new(self.error.finish()),
        ];
        id.into_iter().chain(made).collect()
    }
}

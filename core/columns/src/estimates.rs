//! An estimate for each row.

use std::sync::Arc;

use arrow_array::builder::{Float64Builder, ListBuilder, StringBuilder};
use arrow_array::{ArrayRef, RecordBatch, RecordBatchReader};
use arrow_schema::{ArrowError, DataType, SchemaRef};
use truebed::{Error, EstimateOptions, Figure, FloorModel, ProblemKind, estimate_until};

use crate::lists::Numbers;
use crate::problems::{Columns, ProblemSettings, Rows, number, numbers};
use crate::rows::{Pieces, Stop, Texts, id, list, schema, stopped, texts};

/// What all rows have in common.
#[derive(Debug, Clone, Default)]
pub struct EstimateSettings {
    /// Stock, limits and options of the plans.
    pub problem: ProblemSettings,
    /// How many jobs are drawn for each row, and from which seed; prices and minutes.
    pub options: EstimateOptions,
    /// The parts of the jobs served that the quantiles are asked for, each from 0 to 1.
    pub quantiles: Vec<f64>,
}

/// Estimates over the rows of a reader: what jobs on a floor that nobody has measured will take.
///
/// In: `x_mm` and `y_mm`, lists of numbers, one for each support; the floor, either as `ff` and `fl`
/// (F-numbers) or as `floor_class` (the name of a class); `id`, `stock_mm`, `stock_count` and `limit_mm` as
/// [`Plans`](crate::Plans) has them. Out: `id`; `served`, the share of the jobs that the stock serves;
/// `served_least` and `served_most`, its interval; `pieces`, `lifts`, `thickest_mm`, `cost` and `minutes`,
/// each a list of the quantiles asked for (null where they were not, NaN where no job is served); and
/// `error`.
pub struct Estimates {
    input: Pieces,
    settings: EstimateSettings,
    id: Option<usize>,
    columns: Columns,
    floor: FloorColumns,
    schema: SchemaRef,
    stop: Stop,
}

/// Where the floor stands.
enum FloorColumns {
    FNumbers(usize, usize),
    Class(usize),
}

const FIGURES: [(&str, Figure); 5] = [
    ("pieces", Figure::Pieces),
    ("lifts", Figure::Lifts),
    ("thickest_mm", Figure::ThickestMm),
    ("cost", Figure::Cost),
    ("minutes", Figure::Minutes),
];

impl Estimates {
    /// Estimates over the rows of a reader.
    ///
    /// # Errors
    /// Columns that are missing.
    pub fn new(
        input: Box<dyn RecordBatchReader + Send>,
        settings: EstimateSettings,
        stop: Stop,
    ) -> Result<Self, ArrowError> {
        let from = input.schema();
        let columns = Columns::new(&from, &settings.problem, false)?;
        let floor = match from.index_of("floor_class") {
            Ok(at) => FloorColumns::Class(at),
            Err(_) => FloorColumns::FNumbers(number(&from, "ff")?, number(&from, "fl")?),
        };
        let [a, b, c, d, e] = FIGURES.map(|(name, _)| (name, list(DataType::Float64)));
        let share = ["served", "served_least", "served_most"].map(|it| (it, DataType::Float64));
        let [served, least, most] = share;
        let schema = schema(&from, [served, least, most, a, b, c, d, e]);
        let id = id(&from);
        Ok(Self { input: Pieces::new(input), settings, id, columns, floor, schema, stop })
    }

    fn estimate(&self, batch: &RecordBatch) -> Result<RecordBatch, ArrowError> {
        let rows = Rows::new(&self.settings.problem, &self.columns, batch)?;
        let floors = Floors::new(&self.floor, batch)?;
        let mut made = Made::default();
        for at in 0..batch.num_rows() {
            let found = rows.problem(at).and_then(|problem| {
                let options = &self.settings.options;
                estimate_until(&floors.model(at)?, &problem, options, &|_| (self.stop)())
            });
            if (self.stop)() {
                return Err(stopped());
            }
            match found {
                Ok(found) => made.add(&found, &self.settings.quantiles),
                Err(error) => made.refuse(&error.to_string()),
            }
        }
        let id = self.id.map(|at| Arc::clone(batch.column(at)));
        RecordBatch::try_new(Arc::clone(&self.schema), made.columns(id))
    }
}

impl Iterator for Estimates {
    type Item = Result<RecordBatch, ArrowError>;

    fn next(&mut self) -> Option<Self::Item> {
        let batch = self.input.next()?;
        Some(batch.and_then(|batch| self.estimate(&batch)))
    }
}

impl RecordBatchReader for Estimates {
    fn schema(&self) -> SchemaRef {
        Arc::clone(&self.schema)
    }
}

/// The floors of a batch.
enum Floors<'a> {
    FNumbers(Numbers, Numbers),
    Class(Texts<'a>),
}

impl<'a> Floors<'a> {
    fn new(columns: &FloorColumns, batch: &'a RecordBatch) -> Result<Self, ArrowError> {
        match *columns {
            FloorColumns::FNumbers(ff, fl) => {
                Ok(Self::FNumbers(numbers(batch, "ff", ff)?, numbers(batch, "fl", fl)?))
            }
            FloorColumns::Class(at) => {
                Ok(Self::Class(texts("floor_class", batch.column(at), "names of floor classes")?))
            }
        }
    }

    fn model(&self, at: usize) -> Result<FloorModel, Error> {
        let missing = |name| Error::new(ProblemKind::Value, name, "null", "the floor of the row");
        match self {
            Self::FNumbers(ff, fl) => {
                let ff = ff.get(at).ok_or_else(|| missing("ff"))?;
                FloorModel::from_f_numbers(ff, fl.get(at).ok_or_else(|| missing("fl"))?)
            }
            Self::Class(names) => {
                let name = names(at).ok_or_else(|| missing("floor_class"))?;
                Ok(FloorModel::of(name.parse()?))
            }
        }
    }
}

/// The columns that go out.
#[derive(Default)]
struct Made {
    share: [Float64Builder; 3],
    figures: [ListBuilder<Float64Builder>; 5],
    error: StringBuilder,
}

impl Made {
    fn add(&mut self, found: &truebed::Estimate, quantiles: &[f64]) {
        let [least, most] = found.interval;
        for (column, share) in self.share.iter_mut().zip([found.served, least, most]) {
            column.append_value(share);
        }
        for (column, (_, figure)) in self.figures.iter_mut().zip(FIGURES) {
            let is_there = !found.figures(figure).is_empty();
            if is_there {
                quantiles
                    .iter()
                    .for_each(|&p| column.values().append_value(found.quantile(figure, p)));
            }
            column.append(is_there);
        }
        self.error.append_null();
    }

    fn refuse(&mut self, told: &str) {
        self.share.iter_mut().for_each(Float64Builder::append_null);
        self.figures.iter_mut().for_each(|column| column.append(false));
        self.error.append_value(told);
    }

    fn columns(mut self, id: Option<ArrayRef>) -> Vec<ArrayRef> {
        let share = self.share.iter_mut().map(|it| Arc::new(it.finish()) as ArrayRef);
        let figures = self.figures.iter_mut().map(|it| Arc::new(it.finish()) as ArrayRef);
        let error: ArrayRef = Arc::new(self.error.finish());
        id.into_iter().chain(share).chain(figures).chain([error]).collect()
    }
}

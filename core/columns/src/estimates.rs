//! An estimate for each row.

use std::sync::Arc;

use arrow_array::builder::{Float64Builder, ListBuilder, StringBuilder};
use arrow_array::{ArrayRef, RecordBatch};
use arrow_schema::{DataType, Schema};
use truebed::{Error, EstimateOptions, Figure, FloorModel, ProblemKind, Problems, estimate_until};

use crate::answers::Work;
use crate::lists::Numbers;
use crate::problems::{Columns, ProblemSettings, Rows, number, numbers};
use crate::rows::{Texts, list, text, texts};

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

impl EstimateSettings {
    fn check(&self) -> Result<(), Error> {
        let mut found = Problems::default();
        found.take(self.options.check());
        if self.options.again.is_some() {
            found.add(ProblemKind::Value, "again", "second passes", "none, as no column has them");
        }
        for (at, p) in self.quantiles.iter().enumerate().filter(|(_, p)| !(0.0..=1.0).contains(*p))
        {
            let field = format!("quantiles[{at}]");
            found.add(ProblemKind::Value, field, p, "a number from 0 to 1");
        }
        found.into_result()
    }
}

/// An estimate for each row: what jobs on a floor that nobody has measured will take.
///
/// In: `x_mm` and `y_mm`, lists of numbers, one for each support; the floor, either as `ff` and `fl`
/// (F-numbers) or as `floor_class` (the name of a class); `stock_mm`, `stock_count` and `limit_mm` as
/// [`Plans`](crate::Plans) has them. Out: `served`, the share of the jobs that the stock serves;
/// `served_least` and `served_most`, its interval; `pieces`, `lifts`, `thickest_mm`, `cost` and `minutes`,
/// each a list of the quantiles asked for (null where they were not, NaN where no job is served); and
/// `error`.
pub struct Estimates {
    settings: EstimateSettings,
    columns: Columns,
    floor: FloorColumns,
}

/// Where the floor stands.
enum FloorColumns {
    FNumbers(usize, usize),
    Class(usize),
}

const CLASSES: &str = "names of floor classes";

const FIGURES: [(&str, Figure); 5] = [
    ("pieces", Figure::Pieces),
    ("lifts", Figure::Lifts),
    ("thickest_mm", Figure::ThickestMm),
    ("cost", Figure::Cost),
    ("minutes", Figure::Minutes),
];

impl Estimates {
    /// Estimates from these columns.
    ///
    /// # Errors
    /// Options and quantiles out of their range; columns that are missing or of another type.
    pub fn new(from: &Schema, settings: EstimateSettings) -> Result<Self, Error> {
        settings.check()?;
        let columns = Columns::new(from, &settings.problem, false)?;
        let floor = match from.index_of("floor_class") {
            Ok(_) => FloorColumns::Class(text(from, "floor_class", CLASSES)?),
            Err(_) => FloorColumns::FNumbers(number(from, "ff")?, number(from, "fl")?),
        };
        Ok(Self { settings, columns, floor })
    }
}

impl Work for Estimates {
    fn names(&self) -> Vec<(&'static str, DataType)> {
        let shares = ["served", "served_least", "served_most"].map(|it| (it, DataType::Float64));
        let figures = FIGURES.map(|(name, _)| (name, list(DataType::Float64)));
        shares.into_iter().chain(figures).collect()
    }

    fn columns(
        &self,
        batch: &RecordBatch,
        stop: &dyn Fn() -> bool,
    ) -> Result<Vec<ArrayRef>, Error> {
        let rows = Rows::new(&self.settings.problem, &self.columns, batch)?;
        let floors = Floors::new(&self.floor, batch)?;
        let mut made = Made::default();
        for at in 0..batch.num_rows() {
            let found = rows.problem(at).and_then(|problem| {
                let options = &self.settings.options;
                estimate_until(&floors.model(at)?, &problem, options, &|_| stop())
            });
            if stop() {
                break;
            }
            match found {
                Ok(found) => made.add(&found, &self.settings.quantiles),
                Err(error) => made.refuse(&error.to_string()),
            }
        }
        Ok(made.columns())
    }
}

/// The floors of a batch.
enum Floors<'a> {
    FNumbers(Numbers, Numbers),
    Class(Texts<'a>),
}

impl<'a> Floors<'a> {
    fn new(columns: &FloorColumns, batch: &'a RecordBatch) -> Result<Self, Error> {
        match *columns {
            FloorColumns::FNumbers(ff, fl) => {
                Ok(Self::FNumbers(numbers(batch, "ff", ff)?, numbers(batch, "fl", fl)?))
            }
            FloorColumns::Class(at) => {
                Ok(Self::Class(texts("floor_class", batch.column(at), CLASSES)?))
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

    fn columns(mut self) -> Vec<ArrayRef> {
        let share = self.share.iter_mut().map(|it| Arc::new(it.finish()) as ArrayRef);
        let figures = self.figures.iter_mut().map(|it| Arc::new(it.finish()) as ArrayRef);
        let error: ArrayRef = Arc::new(self.error.finish());
        share.chain(figures).chain([error]).collect()
    }
}

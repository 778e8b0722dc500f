//! Rows as problems.

use arrow_array::RecordBatch;
use arrow_schema::Schema;
use truebed::{
    Error, Length, Limits, PlanOptions, ProblemKind, Problems, Shim, ShimProblem, Support,
};

use crate::lists::{self, Lists, Numbers, Row};
use crate::rows::{column, of_another_type};

/// What all rows have in common.
#[derive(Debug, Clone, Default)]
pub struct ProblemSettings {
    /// The stock of every row; `None` where the columns `stock_mm` and `stock_count` have one of each.
    pub stock: Option<Vec<Shim>>,
    /// The limits of every row; `None` where the column `limit_mm` has an overall ± of each.
    pub limits: Option<Limits>,
    /// Order of goals, bounds and budget.
    pub options: PlanOptions,
}

/// Where the columns of problems stand in the input.
pub(crate) struct Columns {
    x: usize,
    y: usize,
    /// None where heights are drawn.
    height: Option<usize>,
    stock: Option<[usize; 2]>,
    limit: Option<usize>,
}

impl Columns {
    /// # Errors
    /// Columns that are missing or of another type.
    pub(crate) fn new(
        from: &Schema,
        settings: &ProblemSettings,
        with_heights: bool,
    ) -> Result<Self, Error> {
        let at = |name| {
            let at = column(from, name)?;
            lists::check(name, from.field(at).data_type()).map(|()| at)
        };
        let stock = match settings.stock {
            Some(_) => None,
            None => Some([at("stock_mm")?, at("stock_count")?]),
        };
        let limit = match settings.limits {
            Some(_) => None,
            None => Some(number(from, "limit_mm")?),
        };
        let height = if with_heights { Some(at("height_mm")?) } else { None };
        Ok(Self { x: at("x_mm")?, y: at("y_mm")?, height, stock, limit })
    }
}

/// The rows of a batch as problems.
pub(crate) struct Rows<'a> {
    settings: &'a ProblemSettings,
    x: Lists,
    y: Lists,
    height: Option<Lists>,
    stock: Option<[Lists; 2]>,
    limit: Option<Numbers>,
}

impl<'a> Rows<'a> {
    /// # Errors
    /// Columns of another type.
    pub(crate) fn new(
        settings: &'a ProblemSettings,
        columns: &Columns,
        batch: &RecordBatch,
    ) -> Result<Self, Error> {
        let lists = |name, at: usize| Lists::new(name, batch.column(at));
        let stock = match columns.stock {
            Some([mm, count]) => Some([lists("stock_mm", mm)?, lists("stock_count", count)?]),
            None => None,
        };
        let limit = columns.limit.map(|at| numbers(batch, "limit_mm", at)).transpose()?;
        let height = columns.height.map(|at| lists("height_mm", at)).transpose()?;
        let (x, y) = (lists("x_mm", columns.x)?, lists("y_mm", columns.y)?);
        Ok(Self { settings, x, y, height, stock, limit })
    }

    /// The problem of a row.
    ///
    /// # Errors
    /// All that cannot be read, by the names of the columns.
    pub(crate) fn problem(&self, at: usize) -> Result<ShimProblem, Error> {
        let mut found = Problems::default();
        let (x, y) = (self.x.row(at)?, self.y.row(at)?);
        let height = self.height.as_ref().map(|height| height.row(at)).transpose()?;
        let last = height.unwrap_or(y);
        if x.len() != last.len() || y.len() != last.len() {
            let beside =
                if height.is_some() { format!(" and y_mm ({})", y.len()) } else { String::new() };
            let expected = format!("as many as x_mm ({}){beside}", x.len());
            let got = format!("{} values", last.len());
            return Err(Error::new(ProblemKind::Value, last.name, got, expected));
        }
        let mut supports = Vec::with_capacity(x.len());
        for place in 0..x.len() {
            supports.push(Support {
                x: read(&x, place, &mut found),
                y: read(&y, place, &mut found),
                height: height.map_or(Length::ZERO, |height| read(&height, place, &mut found)),
            });
        }
        let stock = self.stock(at, &mut found)?;
        let limits = match (&self.settings.limits, &self.limit) {
            (Some(limits), _) => limits.clone(),
            (None, limit) => {
                let limit = limit.as_ref().and_then(|limit| limit.get(at));
                Limits::overall(length(limit, &mut found, || "limit_mm".to_owned()))
            }
        };
        found.into_result()?;
        let mut problem = ShimProblem::new(supports, stock, limits);
        problem.options = self.settings.options.clone();
        Ok(problem)
    }

    fn stock(&self, at: usize, found: &mut Problems) -> Result<Vec<Shim>, Error> {
        let Some([mm, counts]) = &self.stock else {
            return Ok(self.settings.stock.clone().unwrap_or_default());
        };
        let (mm, counts) = (mm.row(at)?, counts.row(at)?);
        if mm.len() != counts.len() {
            let expected = format!("as many as stock_mm ({})", mm.len());
            let got = format!("{} values", counts.len());
            return Err(Error::new(ProblemKind::Value, "stock_count", got, expected));
        }
        let mut stock = Vec::with_capacity(mm.len());
        for kind in 0..mm.len() {
            let count = counts.get(kind);
            stock.push(Shim::new(read(&mm, kind, found), count.map(|count| count as u32)));
            let whole =
                |count: &f64| count.fract() == 0.0 && (0.0..=u32::MAX.into()).contains(count);
            if let Some(count) = count.filter(|count| !whole(count)) {
                let expected = "null or a whole number of pieces from 0 to 4294967295";
                found.add(ProblemKind::Value, format!("stock_count[{kind}]"), count, expected);
            }
        }
        Ok(stock)
    }
}

/// Where a column of numbers stands.
///
/// # Errors
/// A column that is missing or of another type.
pub(crate) fn number(from: &Schema, name: &str) -> Result<usize, Error> {
    let at = column(from, name)?;
    match from.field(at).data_type() {
        of if lists::is_number(of) => Ok(at),
        of => Err(of_another_type(name, of, "numbers")),
    }
}

/// A column of numbers.
pub(crate) fn numbers(batch: &RecordBatch, name: &str, at: usize) -> Result<Numbers, Error> {
    let column = batch.column(at);
    Numbers::new(column).ok_or_else(|| of_another_type(name, column.data_type(), "numbers"))
}

/// A length of a list of millimetres.
fn read(row: &Row<'_>, at: usize, found: &mut Problems) -> Length {
    length(row.get(at), found, || format!("{}[{at}]", row.name))
}

/// A length from a number of millimetres.
fn length(mm: Option<f64>, found: &mut Problems, field: impl Fn() -> String) -> Length {
    let Some(mm) = mm else {
        found.add(ProblemKind::Value, field(), "null", "a number of mm");
        return Length::ZERO;
    };
    Length::from_mm(mm).unwrap_or_else(|error| {
        for problem in error.problems() {
            found.add(problem.kind, field(), &problem.got, problem.expected.clone());
        }
        Length::ZERO
    })
}
